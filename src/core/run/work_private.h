/* work_private.h: logs: cleaning, gaps and doors, uncertainty and judgement, as the files of core/run share
 * them. What needs a curve only is in run_private.h. Not for other rooms. */
#ifndef CORE_RUN_WORK_PRIVATE_H
#define CORE_RUN_WORK_PRIVATE_H

#include "core/run/run_private.h"

/* A log after cleaning. `full` has every value that can be used; `coarse` is the same, or means over
 * RUN__BIN_SECOND where values come faster: turning points are looked for there. */
typedef struct {
    RunTrace full, coarse;
    double interval_second, coarse_second; /* between two values, median */
    double noise_kelvin, coarse_noise_kelvin;
    double step_kelvin; /* of the display, as the values show it; 0 when they are finer than can be told */
    int spikes, over_range;
    double first_spike, first_over_range;
    double off_second;  /* where the oven was switched off before the log's end, which is left out; NAN */
    double last_second; /* the log's end */
} RunSeries;

#define RUN__BIN_SECOND 10.0

/* Statistics of a long log look at this many places, spread over it. */
enum { RUN__MOST_LOOKED_AT = 20000 };

bool run__clean(const RunLog *log, int channel, const RunTerms *terms, Arena *arena, RunSeries *series,
                Error *error) MUST_CHECK;

enum { RUN__MOST_DOORS = 64 };

/* Cuts the coarse trace into stretches without gaps and open doors. Both arrays live in the arena. */
typedef struct {
    RunSegment *segments;
    RunSpan *doors; /* mean_celsius: how far it fell, kelvin */
    int segment_count, door_count;
    double gap_second, gap_length; /* the longest; 0 when there is none */
} RunCuts;

bool run__cut(const RunSeries *series, Arena *arena, RunCuts *cuts, Error *error) MUST_CHECK;

/* Half-width of the limits of error of probe and display at a temperature, kelvin; 0 where not known. */
bool run__probe_half_width(const RunTerms *terms, double celsius, double *kelvin, Error *error) MUST_CHECK;
double run__meter_half_width(const RunTerms *terms, bool is_fahrenheit, double step_kelvin, double celsius);

typedef struct {
    double kelvin_per_second, uncertainty, span_second;
} RunDrift;

/* Straight line through the means of the cycles; fewer than three have no slope. */
RunDrift run__drift(const RunCycle *cycles, int count);

/* For at least two settled cycles with these averages. */
bool run__budget(const RunSeries *series, const RunTerms *terms, bool is_fahrenheit, const RunCycle *cycles,
                 int count, const RunFigures *figures, RunBudget *budget, Error *error) MUST_CHECK;
double run__budget_total(const RunBudget *budget); /* combined standard uncertainty */
double run__half_width(const RunBudget *budget);   /* of the interval that holds the true mean with 95 % */

/* Everything that is known of a log while it is analysed. */
typedef struct {
    const RunLog *log;
    const RunTerms *terms;
    bool is_fahrenheit;
    RunSeries series;
    RunCuts cuts;
    RunSearch search;
    RunCycle *cycles;
    int found, unsettled; /* whole cycles; how many of the first are left out */
    RunFigures figures;
} RunWork;

/* Adds a finding. */
void run__find(Run *run, RunFindingCode code, double second, double amount);

/* Adds the findings on reaching, cycling, settling; with cycles, run has its figures by now. */
void run__judge(const RunWork *work, bool has_cycles, const RunPreheat *preheat, Run *run);

#endif
