/* run.h: what a temperature log says of an oven at a set temperature, and what to do about it.
 *
 * Lives here: preheat, overshoot, settled cycles, cycle mean with its uncertainty by the GUM (JCGM 100:2008),
 * swing, period, door openings, faults that show in a log; the offset to set. Not here: text of loggers
 * (format/log_text), sentences (format/words), which part is to blame (diagnosis).
 * Units: celsius, kelvin for differences, second in the log's own time. A figure that a log cannot give is
 * NAN, and a finding says why. A log is the caller's, what is found lives in the caller's arena. */
#ifndef CORE_RUN_H
#define CORE_RUN_H

#include "base/arena.h"
#include "core/meter/meter.h"
#include "core/sensor/sensor.h"
enum { RUN_MOST_CHANNELS = 64, RUN_MOST_FINDINGS = 32, RUN_MOST_RUNS = 16, RUN_MOST_ROWS = 4000000 };
typedef struct {
    const char *name;      /* as the log heads it; "" when it does not */
    const double *celsius; /* one a row: NAN where nothing was noted, INFINITY where the display showed OL */
    bool is_fahrenheit;    /* what the thermometer displayed */
} RunChannel;

typedef struct {
    const double *second; /* one a row, rising, from any start */
    int count;            /* rows */
    RunChannel channels[RUN_MOST_CHANNELS];
    int channel_count;
} RunLog;

typedef struct {
    double set_celsius;
    bool has_probe; /* the thermometer's sensor is known: its class limits count */
    SensorKind probe;
    SensorClass probe_class; /* not looked at for thermistors: 1 % parts (common practice, no source) */
    bool has_meter;          /* the display's accuracy is known, in its own degrees */
    MeterAccuracy meter;
    double resolution_kelvin; /* step of the display; 0: found from the log */
    bool is_hand_read;        /* by a person: a moving display is read to a whole step */
} RunTerms;

typedef struct {
    double value, uncertainty; /* the uncertainty is a standard one; both NAN when not to be had */
} RunFigure;
#define RUN_FINDING_LIST(X)                                                                                  \
    X(NO_VALUES, "no-values")         /* next to nothing in it can be used */                                \
    X(LOG_TOO_SHORT, "log-too-short") /* fewer than two whole cycles after the preheat */                    \
    X(STARTS_HOT, "starts-hot")       /* not from cold: no preheat, no overshoot; amount: celsius there */   \
    X(STARTS_EARLY, "starts-early")   /* the oven was switched on later; second: when */                     \
    X(NEVER_REACHES, "never-reaches") /* amount: kelvin missing at the end of preheat */                     \
    X(NEVER_CYCLES, "never-cycles")   /* amount: celsius where it stays */                                   \
    X(RUNS_AWAY, "runs-away")         /* amount: kelvin above the set temperature */                         \
    X(NOT_SETTLED, "not-settled")     /* the preheat's overshoot has not died away */                        \
    X(DRIFTING, "drifting")           /* amount: kelvin per hour of the cycle means */                       \
    X(SPARSE, "sparse")               /* amount: seconds between two values */                               \
    X(DOOR_OPENED, "door-opened")     /* second: when; amount: kelvin that it fell */                        \
    X(GAPS, "gaps")                   /* second: the longest one's start; amount: its seconds */             \
    X(SPIKES, "spikes")               /* second: the first; amount: how many values were left out */         \
    X(OVER_RANGE, "over-range")       /* second: the first; amount: how many */                              \
    X(SWITCHED_OFF, "switched-off")   /* second: from where on it only cools; left out */                    \
    X(UNEVEN_CYCLES, "uneven-cycles") /* amount: largest over smallest period */                             \
    X(SENSOR_SILENT, "sensor-silent") /* of a second thermometer no whole settled cycle is there */

#define X(code, word) RUN_##code,
typedef enum { RUN_FINDING_LIST(X) RUN_FINDING_COUNT } RunFindingCode;
#undef X
typedef struct {
    RunFindingCode code;
    double second, amount; /* see the list; NAN when there is none */
} RunFinding;

typedef struct {
    double from_second, to_second; /* a cycle: from one rise through its middle to the next */
    double mean_celsius, low_celsius, high_celsius;
} RunSpan;
/* Standard uncertainties of the mean, kelvin. Probe and meter are the thermometer's: alike in every run. */
typedef struct {
    double probe, meter, scatter, sampling, resolution, drift;
    double scatter_freedom; /* degrees of freedom of the scatter between cycles */
} RunBudget;

typedef struct {
    double set_celsius;
    RunFigure mean_celsius, error_kelvin; /* over whole settled cycles; mean - set */
    double half_width_kelvin;             /* the true mean lies within mean +- this with 95 % */
    RunBudget budget;
    RunFigure swing_kelvin, period_second, preheat_second, overshoot_kelvin;
    RunFigure duty; /* share of the cycle in which the temperature rises: near the elements' duty */
    int cycles;     /* whole, settled and undisturbed: those that the figures come from */
    bool is_settled, has_sensor; /* has_sensor: a second thermometer hung at the oven's sensor or bulb; */
    RunFigure sensor_celsius, sensor_swing_kelvin; /* mean and swing there */
    double from_second, to_second, settled_second; /* the log; where the first of those cycles begins */
    double heat_up_second;                         /* from switching on from cold to the first peak; NAN */
    double end_celsius, end_kelvin_per_second;     /* over its last ten minutes, or its last quarter */
    const RunSpan *cycle_spans, *doors; /* `cycles` of them; door openings, until it has recovered */
    int door_count;
    RunFinding findings[RUN_MOST_FINDINGS];
    int finding_count;
} Run;

/* Analyses one channel. A log that says little is no error. ERROR_WRONG_KIND when the probe has no such
 * class, ERROR_INCONSISTENT when time does not rise, ERROR_OUT_OF_RANGE when most values are out of -100 to
 * 1200 celsius, ERROR_TOO_LARGE beyond RUN_MOST_ROWS, ERROR_MEMORY. */
bool run_analyse(const RunLog *log, int channel, const RunTerms *terms, Arena *arena, Run *run,
                 Error *error) MUST_CHECK;
/* Adds what a second thermometer logged at the sensor or bulb in the cycles that `run` has; errors as
 * above. */
bool run_add_sensor(const RunLog *log, int channel, Arena *arena, Run *run, Error *error) MUST_CHECK;
typedef struct {
    double mean_celsius, swing_kelvin, period_second, preheat_second, overshoot_kelvin, duty;
    double end_celsius, end_kelvin_per_second;
    int cycles;
} RunFigures;

/* The same figures of clean, evenly sampled values (a simulation) without their uncertainties, NAN or 0 where
 * there are none. Allocates nothing; time is proportional to `count` (at least 3). */
void run_figures(const double *second, const double *celsius, int count, double set_celsius,
                 RunFigures *figures);
/* What the oven's control lets a technician set. */
typedef struct {
    double offset_from_kelvin, offset_to_kelvin, offset_step_kelvin, differential_kelvin;
    double offset_now_kelvin; /* as the control stands; 0 when nobody has looked */
    bool is_screw;            /* on a thermostat's shaft instead of a number in a display */
} RunControl;

/* clang-format off */
#define RUN_ACTION_LIST(X) X(NOTHING, "nothing") X(SET_OFFSET, "set-offset") X(TURN_SCREW, "turn-screw")     \
    X(FIND_FAULT, "find-fault") X(REPEAT_RUN, "repeat-run") X(LONGER_LOG, "longer-log")
#define RUN_REASON_LIST(X) X(IS_WITHIN, "within") X(IS_SHIFT, "shift") X(IS_BELOW_STEP, "below-step")        \
    X(IS_UNSURE, "unsure") X(IS_BEYOND_RANGE, "range") X(IS_SWING, "swing") X(IS_SLOPE, "slope")             \
    X(IS_SLOW, "slow") X(IS_NOT_CYCLING, "not-cycling") X(IS_NOT_REACHED, "not-reached")                     \
    X(IS_RUNAWAY, "runaway") X(IS_UNFIT, "unfit")
/* clang-format on */
#define X(code, word) RUN_##code,
typedef enum { RUN_ACTION_LIST(X) RUN_ACTION_COUNT } RunAction;
typedef enum { RUN_REASON_LIST(X) RUN_REASON_COUNT } RunReason;
#undef X
typedef struct {
    RunAction action;
    RunReason reason;
    RunFigure shift_kelvin;     /* oven minus set temperature, at the middle of the set temperatures */
    RunFigure slope;            /* its growth, kelvin per kelvin; NAN with one set temperature */
    double offset_kelvin;       /* to be set, in place of the one that is; NAN unless that is the action */
    RunFigure remaining_kelvin; /* what will then remain of the shift */
} RunAdvice;
/* After `count` runs (1 to RUN_MOST_RUNS), the offset as it stands; within +- `tolerance_kelvin` nothing. */
void run_advise(const Run *runs, int count, const RunControl *control, double tolerance_kelvin,
                RunAdvice *advice);
bool run_has_finding(const Run *run, RunFindingCode code);
const char *run_finding_word(RunFindingCode code);
const char *run_action_word(RunAction action);
const char *run_reason_word(RunReason reason);
#endif
