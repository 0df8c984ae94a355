/* measure.c: see measure.h. */
#include "measure.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

void demand(bool is_done, const Error *error)
{
    char line[1400];
    if (is_done) return;
    error_line(error, line, sizeof line);
    fprintf(stderr, "%s\n", line);
    exit(1);
}
