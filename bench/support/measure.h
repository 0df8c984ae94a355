/* measure.h: what every benchmark needs: the processor's clock, and an end where nothing can be measured. */
#ifndef BENCH_MEASURE_H
#define BENCH_MEASURE_H

#include "base/error.h"

double now(void); /* seconds of processor time that this process has used */

/* Ends the program with the error's sentence unless what was asked for is done. */
void demand(bool is_done, const Error *error);

#endif
