/* plot_private.h: what the files of format/plot share. Not for other rooms. */
#ifndef FORMAT_PLOT_PRIVATE_H
#define FORMAT_PLOT_PRIVATE_H

#include "format/plot/plot.h"

/* What the picture shows: time from the log's start on, temperature with room above and below. */
typedef struct {
    double from_second, to_second, low_celsius, high_celsius;
} PlotFrame;

/* False when there is nothing to show. */
bool plot__frame(const Plot *plot, PlotFrame *frame);

/* A round step, 1, 2, 2.5 or 5 times a power of ten, that gives at most `most` marks. */
double plot__step(double range, int most);

/* The same for minutes: 1, 2, 5, 10, 15, 20, 30, 60 and so on. */
double plot__minute_step(double minutes, int most);

/* Lowest and highest value of the rows from *row on that lie before a time; false when there is none. */
bool plot__extremes(const Plot *plot, int *row, double before_second, double *low, double *high);

/* The last of the cycles that follow `first` without a break. */
int plot__last_in_row(const Run *run, int first);

static inline double plot__fahrenheit(double celsius) { return celsius * 1.8 + 32; }
static inline double plot__celsius(double fahrenheit) { return (fahrenheit - 32) / 1.8; }

#endif
