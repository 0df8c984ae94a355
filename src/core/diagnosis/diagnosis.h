/* diagnosis.h: what do the entries say now?
 *
 * Lives here: the hypotheses of an appliance with their priors, the likelihood of every kind of entry,
 * Bayes' rule, the standing (suspects, contradictions, explanation), and what a check would show under each
 * hypothesis. Not here: what to do next (plan), what is dangerous (safety), sentences (format/words).
 * Units: SI; probabilities; log likelihoods are natural. Ownership: a model and a standing live in the
 * arenas that they were made in; a standing points into its model and its call.
 *
 *   posterior(h) ~ prior(h) * product over entries of likelihood(entry | h)
 *   likelihood of a reading = (1 - slip) * normal(shown; predicted, spread) + slip / what the meter can show
 *
 * A hypothesis is none, one or two faults, each at one severity. A repair moves the weight of what it cures.
 */
#ifndef CORE_DIAGNOSIS_H
#define CORE_DIAGNOSIS_H

#include "core/behaviour/behaviour.h"
#include "core/call/call.h"
#include "core/circuit/circuit.h"
#include "core/thermal/thermal.h"

typedef struct {
    int variants[CIRCUIT_MOST_FAULTS]; /* numbers in the circuit's variants: each fault's middle severity */
    int low[CIRCUIT_MOST_FAULTS], high[CIRCUIT_MOST_FAULTS]; /* and the ends of its range of severities */
    int count;                                               /* 0: nothing is wrong */
    int group; /* number in the model's groups: the same faults at any severity */
    double prior;
} Hypothesis;

/* The faults of a group of hypotheses: what a technician calls a suspect. Group 0 is 'nothing wrong'. */
typedef struct {
    int faults[CIRCUIT_MOST_FAULTS];
    int count, first_hypothesis, hypothesis_count;
} HypothesisGroup;

/* What a meter would show: anything from low to high, as the severity has it, each end blurred by the meter
 * and the parts' tolerances (standard uncertainty). Infinite: OL. */
typedef struct {
    double low, high, low_spread, high_spread;
} Display;

/* Shares of an element's rated power for which its sheath's temperature is known: 0, 0.1 and so on. */
#define DIAGNOSIS_SHEATH_SHARE 0.1
enum { DIAGNOSIS_SHEATHS = 17 };

typedef struct {
    const Appliance *appliance;
    Circuit circuit;
    CircuitPower power;
    Meter meter;
    Arena *arena;
    const Hypothesis *hypotheses; /* [0] is 'nothing wrong'; groups stand together, single faults first */
    const HypothesisGroup *groups;
    int hypothesis_count, group_count;
    double left_out, least_pair, prior_sum; /* prior weights: of pairs left out, of the heaviest, of faults */
    double slip; /* chance that an entry is a slip: wrong range, wrong mark, misread */
    float (*conditions)[CONDITION_COUNT]; /* [hypotheses], strengths of what is computed, once asked for */
    ThermalModel thermal;
    int usual_function;      /* in which the owner bakes; -1: the oven cannot be simulated */
    BehaviourMemory *memory; /* of what was simulated; the caller's, or the model's own */
    struct Simulated *usual; /* the oven under every hypothesis as the owner bakes, once asked for */
    struct SoundRun *sound;  /* how fast a sound one gets to where runs were taken */
    double sheath_celsius[OVEN_HEATS][DIAGNOSIS_SHEATHS];
    struct MeterOn *check_meters;    /* [checks], connected when first asked for */
    struct CheckDisplays *displayed; /* [checks] */
    struct Family *family; /* sound ovens, each trait moved, in the usual function; once asked for */
} DiagnosisModel;

typedef struct {
    int group;
    double probability;
    double *factors; /* [entries]: how many times likelier the entry made it against all other hypotheses */
} Suspect;
/* An entry that hardly fits what all the others say. */
typedef struct {
    int entry, against; /* `against`: the entry that it clashes with most; -1 when it clashes with all */
    double slip;        /* probability that it was a slip */
} Contradiction;

typedef struct {
    const DiagnosisModel *model;
    const Call *call;
    const double *probability; /* [hypotheses], sums to 1 */
    const double *slip;        /* [entries]: probability that it was one; 0 of what says nothing */
    const Suspect *suspects;   /* every group but 'nothing wrong', most probable first */
    Suspect nothing_wrong;
    const Contradiction *contradictions;
    int suspect_count, contradiction_count;
} Standing;

/* Hypotheses, circuit and oven of an appliance, for any number of calls on it. `memory` is what was simulated
 * before, to be used and added to; NULL: a fresh one in the arena. */
bool diagnosis_begin(const Appliance *appliance, double ambient_celsius, const Meter *meter,
                     BehaviourMemory *memory, Arena *arena, DiagnosisModel *model, Error *error) MUST_CHECK;

/* The heart: what the call's entries say. Entries must have passed call_check_entry. Memory, and a clamp
 * around nothing, are the only failures. */
bool diagnose(DiagnosisModel *model, const Call *call, Arena *arena, Standing *standing,
              Error *error) MUST_CHECK;

/* Does this entry bear on the standing? A run does once it has figures, if the oven can be simulated. */
bool diagnosis_weighs(const DiagnosisModel *model, const Entry *entry);
/* Bayes' rule in log space: weights[n] become weights * exp(log_likelihood), scaled to sum to 1.
 * Returns the logarithm of the scale: ln P(entry | all before). Weights of 0 stay 0; with nothing but
 * impossible hypotheses (all -infinity) they are left as they are. */
double diagnosis_update(double *weights, const double *log_likelihood, int n);

/* clang-format off */
typedef enum { /* what an outcome of a check is */
    OUTCOME_DISPLAY,                 /* a meter shows low to high; both infinite: OL */
    OUTCOME_LOOK, OUTCOME_GLANCE,    /* a word is seen; on `part` alone, -1: on none */
    OUTCOME_CELSIUS, OUTCOME_OFFSET, /* a thermometer, a control shows low to high */
    OUTCOME_NO, OUTCOME_YES,         /* answers the owner; a fault code is displayed */
    OUTCOME_SETTLES, OUTCOME_SLOW, OUTCOME_SWINGS, /* run: its mean is low to high; but slow; but swings wide */
    OUTCOME_STAYS_COLD, OUTCOME_STOPS_SHORT, OUTCOME_RUNS_AWAY /* run: no cycles, ends at low to high */
} OutcomeKind;
/* clang-format on */
typedef struct {
    OutcomeKind kind;
    double low, high;   /* ohm, volt, ampere, celsius or, of an offset, kelvin; ends may be infinite */
    int word, part;     /* of a look; of a glance */
    bool is_right;      /* run: settles on the set temperature, neither slow nor swinging */
    RunFigures figures; /* run: of one in the middle of this outcome */
} Outcome;

enum { DIAGNOSIS_MOST_OUTCOMES = 16 };
typedef struct {
    int outcome_count;
    Outcome outcomes[DIAGNOSIS_MOST_OUTCOMES];
    double *chance; /* [hypotheses asked for][DIAGNOSIS_MOST_OUTCOMES] */
} Prediction;
/* Outcomes of a check and their chances under each of `count` hypotheses (numbers in `which`), after what
 * the call says (NULL: nothing yet), which only questions to the owner and looks ask for. */
bool diagnosis_predict(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                       Arena *arena, Prediction *prediction, Error *error) MUST_CHECK;

/* Is the entry this check, already made? A word that was said need not be asked for; a run is a spot, too. */
bool diagnosis_is_check(const DiagnosisModel *model, const Entry *entry, int check);
/* Can fault i of a hypothesis be adjusted away after the first `until` entries, as far as the control's
 * offset or screw goes? True of all that is no shift of temperature. */
bool diagnosis_is_within_reach(const DiagnosisModel *model, const Call *call, int until,
                               const Hypothesis *hypothesis, int i);
#define DIAGNOSIS_RIGHT_KELVIN 14.0 /* 25 F off the set temperature; common practice, no source */
/* Does a run show an oven within its specification, as Outcome.is_right has it? */
bool diagnosis_is_right(const DiagnosisModel *model, const Entry *entry);
/* The entry that a check with this outcome, in its middle, would be. `run` takes the figures of a run, to
 * which the entry points; NULL for other checks. */
Entry diagnosis_entry(const DiagnosisModel *model, int check, const Outcome *outcome, Run *run);

#endif
