/* diagnosis_private.h: what the files of this room share. */
#ifndef CORE_DIAGNOSIS_PRIVATE_H
#define CORE_DIAGNOSIS_PRIVATE_H

#include "core/diagnosis/diagnosis.h"

/* From where on one owner in two, and a technician, calls an oven slow (times the sound oven's preheat), its
 * swing wide, and cold: there nothing bakes. Common practice, no source. */
#define DIAGNOSIS_SLOW         1.45
#define DIAGNOSIS_WIDE_KELVIN  62.0
#define DIAGNOSIS_COLD_CELSIUS 70.0
#define DIAGNOSIS_SWING_FLOOR  3.0  /* kelvin, so that a small swing has a logarithm */
enum { DIAGNOSIS_SURE_CYCLES = 3 }; /* an oven that shows so many has settled */
/* Of a look: seen wrongly, or written down for another part. Common practice, no source. */
#define DIAGNOSIS_LOOK_SLIP 0.03

/* The likelihood of an entry under a hypothesis, and the part of it that a slip accounts for. */
typedef struct {
    double all, slip;
} Likelihood;

/* The figures of a run, in coordinates in which ovens differ evenly: kelvin for mean, overshoot and end,
 * logarithms for the others; NAN where a simulated run has no such figure. */
typedef enum { MEAN, SWING, PERIOD, PREHEAT, OVERSHOOT, END, SENSOR, SENSOR_SWING, FIGURE_COUNT } Figure;

/* How far the last run was off what a hypothesis expects, in the coordinates of its figures; NAN where
 * nothing is known. */
typedef struct {
    float of[FIGURE_COUNT];
    float degree[FIGURE_COUNT]; /* share of its variance that is how far the fault has gone */
    float fit;                  /* chance that it was no slip */
    float turned; /* kelvin by which the control was turned since, beyond what the hypothesis says of it */
    /* By how much single readings since were off what the hypothesis expects of the mean, in their mean, and
     * what they weigh: the reciprocal of its variance, as a witness of the oven's own error; 0: none. */
    float spot_kelvin, spot_weight;
} Residual;

Residual diagnosis__no_residual(void); /* before the first run */

/* Of a shown figure (infinite: OL) where the meter would show `display`. */
Likelihood diagnosis__reading(const DiagnosisModel *model, const Connection *connection, double shown,
                              const Display *display);
/* Of the words of a complaint, entry `number` of the call. The conditions must have been found. `seen`: what
 * a run has shown of that oven since; NULL without one. */
Likelihood diagnosis__complaint(const DiagnosisModel *model, const Call *call, int number, int h,
                                const Residual *seen);
/* What the owner has said of a word of his own accord before entry `number`: nothing yet, left it out of a
 * first complaint, said it. And the likelihood of his answer, once asked. */
typedef enum { HEARD_NOTHING, HEARD_LEFT_OUT, HEARD_SAID } Heard;
Heard diagnosis__heard(const Call *call, int number, int word);
Likelihood diagnosis__answer(const DiagnosisModel *model, int word, bool is_yes, int h, Heard heard,
                             const Residual *seen);
bool diagnosis__has_word(const Entry *entry, int word);

/* ---- watch.c: a part that is on, from where one stands */

/* How it comes on and goes off: as told; with a contact that chatters; with one that does not let go in time.
 */
typedef enum { MANNER_STEADY, MANNER_UNSTEADY, MANNER_RUNS_ON } Manner;
typedef struct {
    double share; /* of its rating, the largest of its branches */
    Manner manner;
} Watched;
/* In the function that a look is made in: as said, or (-1) the first in which the part has power. `check`:
 * the connected one that watches that; -1 without. */
Watched diagnosis__watched(DiagnosisModel *model, int check, int part, int function,
                           const Hypothesis *hypothesis);
/* Of a word of power. */
double diagnosis__watch_chance(const DiagnosisModel *model, int part, int word, Watched watched,
                               const Hypothesis *hypothesis);
/* Of seeing any word on a part; `watched` is for words of power. */
Likelihood diagnosis__look(const DiagnosisModel *model, int part, int word, Watched watched,
                           const Hypothesis *hypothesis);

/* One figure that the model's meter shows (infinite: OL), and its standard uncertainty. */
typedef struct {
    double value, spread;
} Shown;
/* A meter that was put on, and what it shows with one fault or none, as far as that was asked for. */
typedef struct MeterOn {
    CircuitMeter meter;
    Shown *known; /* [variants + 1], the last: with none; value and spread 0: not asked for yet */
} MeterOn;
/* `known` lives in `arena`. */
bool diagnosis__put_on(DiagnosisModel *model, const Connection *connection, Arena *arena, MeterOn *on,
                       Error *error) MUST_CHECK;
/* What it would show under a hypothesis; it remembers. */
Display diagnosis__display(const DiagnosisModel *model, const MeterOn *on, const Hypothesis *hypothesis);
/* What a check would show under the hypotheses that were asked for. */
typedef struct CheckDisplays {
    Display *of; /* [count], in the order in which they were asked for */
    int count, room;
    int *place; /* [hypotheses]: from 1; 0: not found yet. NULL: the check is not connected */
} CheckDisplays;
/* Connects a check and makes room for the displays of which[count], or of all (NULL). */
bool diagnosis__connect(DiagnosisModel *model, int check, const int *which, int count,
                        Error *error) MUST_CHECK;
/* diagnosis__display of a check, remembered, and what is watched; of a hypothesis that there is room for. The
 * first holds until the check is connected for others. */
const Display *diagnosis__check_display(DiagnosisModel *model, int check, int hypothesis);
Watched diagnosis__check_watched(DiagnosisModel *model, int check, int hypothesis);
/* Density at a shown figure (the chance, for OL), and chance of showing less than x. */
double diagnosis__density(const Display *display, ReadingKind kind, double shown);
double diagnosis__chance_below(const Display *display, double x);
double diagnosis__least_spread(ReadingKind kind); /* below this nobody reads the same figure twice */

/* What the oven does under every hypothesis in one function at one set temperature. */
typedef struct Simulated {
    int function;
    BehaviourTerms terms;
    const Behaviour *of;     /* [hypotheses] */
    const Behaviour *around; /* of single faults: ends of the slice and traits, see diagnosis__end, __trait */
} Simulated;

/* How long a sound oven takes to get to a set temperature at which somebody took a run; NAN: it does not. */
typedef struct SoundRun {
    int function;
    double set_celsius, preheat_second;
    struct SoundRun *next;
} SoundRun;

/* In those coordinates. */
double diagnosis__coordinate(const Behaviour *behaviour, Figure figure);
double diagnosis__swing_coordinate(double kelvin);
double diagnosis__discrepancy(Figure figure); /* what the model does not know, one standard deviation */
bool diagnosis__has_cycles(const Behaviour *behaviour, int least);
double diagnosis__spot_variance(const Behaviour *behaviour); /* of one reading, somewhere in the cycle */

/* nearby.c: a run of `second`, to be weighed upon weights[hypotheses]; in `arena`. NULL: memory is out. */
const Simulated *diagnosis__simulated(DiagnosisModel *model, int function, double set_celsius, double second,
                                      const double *weights, Arena *arena, Error *error);
/* NULL: no run there was weighed yet. */
const SoundRun *diagnosis__find_sound(const DiagnosisModel *model, int function, double set_celsius);
int diagnosis__single_count(const DiagnosisModel *model); /* hypotheses of one fault or none */
const Behaviour *diagnosis__end(const Simulated *simulated, int single, bool is_high);
const Behaviour *diagnosis__trait(const Simulated *simulated, int single, int trait);

/* ---- glance.c: all that is seen from one place, at once */

enum { GLANCE_MOST_PARTS = 128 };

/* What a glance takes in: the parts seen from there that nobody had looked at one by one. */
typedef struct {
    int parts[GLANCE_MOST_PARTS], count;
    int close[GLANCE_MOST_PARTS];    /* word of a close look at it afterwards; -1: there is none */
    double sound[GLANCE_MOST_PARTS]; /* chance that nothing is noticed on it when it is good */
    double all_sound;                /* their product */
} Glance;

/* As entry `number` of the call; NULL: of a call without any. */
void diagnosis__begin_glance(const DiagnosisModel *model, const Call *call, int number, int place,
                             Glance *glance);
Likelihood diagnosis__glance(const DiagnosisModel *model, const Glance *glance, const Entry *entry,
                             const Hypothesis *hypothesis);
void diagnosis__predict_glance(const DiagnosisModel *model, const Call *call, int check, const int *which,
                               int count, Prediction *prediction);

/* Chance of what a glance says of one part, whose close look would see `close`. */
double diagnosis__glance_at(const DiagnosisModel *model, const Entry *entry, int part, int close,
                            const Hypothesis *hypothesis);

/* ---- seen.c: looking and reading again */

/* The last look or reading of a sort, and how often in a row that was said; NULL and 0: there is none. */
typedef struct {
    const Entry *entry;
    int times;
} SeenBefore;
/* The look at a part in that way before entry `until`, and the first close one from entry `from` on (NULL),
 * while it is the same part. */
SeenBefore diagnosis__looked_before(const DiagnosisModel *model, const Call *call, int until, int part,
                                    LookWay way);
const Entry *diagnosis__looked_after(const DiagnosisModel *model, const Call *call, int from, int part);
LookWay diagnosis__way_of(CheckKind kind); /* of a look */
/* The look over a place before entry `until`, while `part`, or (-1) the one that it names, is the same. */
SeenBefore diagnosis__glanced_before(const DiagnosisModel *model, const Call *call, int until, int place,
                                     int part);
/* The reading before entry `until` that this connected check is, while nothing was mended that moves it. */
SeenBefore diagnosis__read_before(DiagnosisModel *model, const Call *call, int until, int check);
Display diagnosis__same_display(const DiagnosisModel *model, ReadingKind kind, double shown);
double diagnosis__shown(const Entry *reading); /* infinite: OL */
/* Chance of a slip; chance or density of what was seen before, and of what is seen now, where both are of the
 * same thing and neither is a slip. */
typedef struct {
    double slip, before, now;
} Again;
/* Upon what was seen before, `times`; `before` and `now` each alone as it would be weighed. */
Likelihood diagnosis__seen_again(Likelihood before, int times, Likelihood now, Again again);

/* Of a run or a spot; NULL with an error when memory is out or its function does not heat. */
const Simulated *diagnosis__simulate_entry(DiagnosisModel *model, const Entry *entry, const double *weights,
                                           Arena *arena, Error *error);

/* A control that was turned by some kelvin: the hypotheses of it alone that it was like before and is like
 * now, and what of the turn is left between the two. */
typedef struct {
    int before, now;
    double rest_kelvin;
} Turned;
Turned diagnosis__as_turned(const DiagnosisModel *model, int h, double turned_kelvin);
/* `residual` is of what was measured before, or of nothing, and takes this up. */
Likelihood diagnosis__run(const DiagnosisModel *model, const Run *run, const Simulated *simulated, int h,
                          Residual *residual);
Likelihood diagnosis__spot(const DiagnosisModel *model, double celsius, const Simulated *simulated, int h,
                           Residual *residual);
Likelihood diagnosis__setting(const DiagnosisModel *model, const Entry *entry, int h);
Likelihood diagnosis__code(const DiagnosisModel *model, bool is_shown, int h);
/* Chance that the control displays an offset below that. */
double diagnosis__offset_below(const DiagnosisModel *model, double kelvin, const Hypothesis *hypothesis);

/* usual.c: how the owner bakes, under every hypothesis. NULL when memory is out. */
const Simulated *diagnosis__usual(DiagnosisModel *model, Error *error);
/* How a sound oven does with each trait of its family moved by one standard deviation: model->family. */
typedef struct Family {
    Behaviour traits[THERMAL_FAMILY_COUNT];
    /* What its ovens differ by, one standard deviation; once the conditions are found: an owner speaks of his
     * own oven. */
    double settled_kelvin, swing_kelvin, preheat_ratio, balance;
} Family;
bool diagnosis__find_family(DiagnosisModel *model, Error *error) MUST_CHECK;

/* Predictions of readings, and of checks of the whole oven; the chances have room. */
bool diagnosis__predict_reading(DiagnosisModel *model, const Call *call, int check, const int *which,
                                int count, Arena *arena, Prediction *prediction, Error *error) MUST_CHECK;
bool diagnosis__predict_oven(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                             Prediction *prediction, Error *error) MUST_CHECK;

/* Temperature of an element's sheath at a share of its rated power, watched for three minutes. */
void diagnosis__watch_sheaths(DiagnosisModel *model);
double diagnosis__sheath(const DiagnosisModel *model, int heat, double share);

/* Chance of a sign of trouble on a part under a hypothesis. */
double diagnosis__sign_chance(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis);

/* The computed conditions of all hypotheses, found when first asked for. */
bool diagnosis__find_conditions(DiagnosisModel *model, Error *error) MUST_CHECK;
/* Their strengths[CONDITION_COUNT] under a hypothesis, of an oven of which a run was seen: changed where that
 * says more. */
void diagnosis__notice_seen(const DiagnosisModel *model, int h, const Residual *seen, float *strengths);

const Fault *diagnosis__fault(const DiagnosisModel *model, const Hypothesis *hypothesis, int i);
/* Weight of the pair of both faults as a share of the first one's alone, if it was left out; else 0. */
double diagnosis__left_out_beside(const DiagnosisModel *model, int fault, int second);

MeterMode diagnosis__mode(ReadingKind kind);

/* Chance of a standard normal below z; what is next to certain is certain, which costs nothing. */
double diagnosis__normal(double z);

#endif
