/* predict_oven.c: what a temperature run, one settled temperature, the control's display and a question to
 * the owner would say under each hypothesis, as a handful of outcomes.
 *
 * A run's outcomes are what a technician would say of it: it settles on the set temperature, or low, or high;
 * it does, but is slow or swings wide; it does not cycle at all. Chances come from the simulation that a
 * complaint needs anyway, blurred by what the model does not know, by how ovens of one type differ, and by
 * the severities that a hypothesis stands for. A diagnosis weighs a run by its figures and in the hypothesis'
 * own family; here the family of a sound oven stands for all, and the neighbouring slices of severity for the
 * ends of one: three thousand hypotheses are predicted without one more simulation each.
 *
 * Invariant: the chances of all outcomes under one hypothesis sum to 1.
 *
 * Numbers in capitals are common practice, no source. Bad at: what happens together. An oven that is slow and
 * swings counts as slow. */
#include <assert.h>
#include <math.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis_private.h"

static const double FAR_KELVIN = 40;  /* off the set temperature */
static const double MISSED = 0.02;    /* of runs and spots: badly placed thermometer, door opened */
static const double SORT_BLUR = 0.02; /* settles where the simulation does not, or the other way */
static const double OFFSET_STEP = 3;  /* kelvin: less than a control's step of 5 F is none */
static const double BEYOND_KELVIN = 20, MUCH = 1.4; /* stand for all beyond an edge: so far, so many times */
static const double COLD_CELSIUS = 25, AWAY_CELSIUS = 400; /* where ovens end that stay cold, run away */
enum { RUN_OUTCOMES = 10, SPOT_EDGES = 5 };

/* Where a hypothesis' run lies in one figure, and how far it may be off. */
typedef struct {
    double middle, spread;
} Blurred;

static double normal_below(Blurred blurred, double edge)
{
    return diagnosis__normal((edge - blurred.middle) / blurred.spread);
}

static double family_variance(const DiagnosisModel *model, const Simulated *usual, Figure figure)
{
    double sum = 0;
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
        const double moved = diagnosis__coordinate(&model->family->traits[t], figure) -
                             diagnosis__coordinate(&usual->of[0], figure);
        if (isfinite(moved)) sum += moved * moved;
    }
    return sum;
}

/* Flat over a width, variance width^2 / 12 (GUM 4.3.7). The middles of a fault's slices lie a slice apart:
 * a single hypothesis is as wide as its neighbours are away, a pair as all slices of the fault together. */
static double slice_variance(const DiagnosisModel *model, const Simulated *usual, int h, Figure figure)
{
    double sum = 0;
    for (int i = 0; i < model->hypotheses[h].count; i++) {
        const int fault = model->circuit.variants[model->hypotheses[h].variants[i]].fault;
        const HypothesisGroup *group = &model->groups[1 + fault];
        const int first = group->first_hypothesis, last = first + group->hypothesis_count - 1;
        const bool is_single = model->hypotheses[h].count == 1;
        const int low = is_single && h > first ? h - 1 : first, high = is_single && h < last ? h + 1 : last;
        if (low == high) continue;
        const double apart = (diagnosis__coordinate(&usual->of[high], figure) -
                              diagnosis__coordinate(&usual->of[low], figure)) /
                             (high - low);
        const double width = is_single ? apart : apart * group->hypothesis_count;
        if (isfinite(width)) sum += width * width / 12;
    }
    return sum;
}

static Blurred blur(const DiagnosisModel *model, const Simulated *usual, int h, Figure figure)
{
    const double unknown = diagnosis__discrepancy(figure);
    return (Blurred){diagnosis__coordinate(&usual->of[h], figure),
                     sqrt(unknown * unknown + family_variance(model, usual, figure) +
                          slice_variance(model, usual, h, figure))};
}

/* An oven that cycles below the set temperature never gets there, and is not slow for that. */
static double chance_slow(const DiagnosisModel *model, const Simulated *usual, int h)
{
    Blurred preheat = blur(model, usual, h, PREHEAT);
    const double sound = diagnosis__coordinate(&usual->of[0], PREHEAT);
    if (!isfinite(sound)) return 0;
    if (!isfinite(preheat.middle)) preheat.middle = sound;
    return 1 - normal_below(preheat, sound + math_log(DIAGNOSIS_SLOW));
}

static double chance_wide(const DiagnosisModel *model, const Simulated *usual, int h)
{
    const Blurred swing = blur(model, usual, h, SWING);
    if (!isfinite(swing.middle)) return 0;
    return 1 - normal_below(swing, diagnosis__swing_coordinate(DIAGNOSIS_WIDE_KELVIN));
}

/* Where an outcome's run settles or ends: in its middle; where that has no end, where such ovens are. */
static double typical_celsius(const Outcome *outcome)
{
    if (outcome->kind == OUTCOME_STAYS_COLD) return COLD_CELSIUS;
    if (outcome->kind == OUTCOME_RUNS_AWAY) return AWAY_CELSIUS;
    if (isinf(outcome->low)) return outcome->high - BEYOND_KELVIN;
    return isinf(outcome->high) ? outcome->low + BEYOND_KELVIN : (outcome->low + outcome->high) / 2;
}

/* Only figures that the outcome speaks of: who says 'low' has said nothing of the swing. */
static void set_typical(const Behaviour *sound, Outcome *outcome)
{
    RunFigures *figures = &outcome->figures;
    *figures = (RunFigures){.mean_celsius = NAN,
                            .swing_kelvin = NAN,
                            .period_second = NAN,
                            .preheat_second = NAN,
                            .overshoot_kelvin = NAN,
                            .duty = NAN,
                            .end_celsius = typical_celsius(outcome)};
    if (outcome->kind > OUTCOME_SWINGS) return;
    figures->cycles = 4;
    figures->mean_celsius = figures->end_celsius;
    if (outcome->is_right) figures->swing_kelvin = (double)sound->swing_kelvin;
    if (outcome->is_right) figures->preheat_second = (double)sound->preheat_second;
    if (outcome->kind == OUTCOME_SWINGS) figures->swing_kelvin = MUCH * DIAGNOSIS_WIDE_KELVIN;
    if (outcome->kind == OUTCOME_SLOW)
        figures->preheat_second = MUCH * DIAGNOSIS_SLOW * (double)sound->preheat_second;
}

/* The ten outcomes in their order. */
static void set_run_outcomes(const Simulated *usual, Outcome *outcomes)
{
    const double set = THERMAL_MADE_FOR_CELSIUS, low = set - DIAGNOSIS_RIGHT_KELVIN,
                 high = set + DIAGNOSIS_RIGHT_KELVIN;
    const double ends[RUN_OUTCOMES][2] = {{low, high},
                                          {low, high},
                                          {low, high},
                                          {set - FAR_KELVIN, low},
                                          {-INFINITY, set - FAR_KELVIN},
                                          {high, set + FAR_KELVIN},
                                          {set + FAR_KELVIN, INFINITY},
                                          {-INFINITY, DIAGNOSIS_COLD_CELSIUS},
                                          {DIAGNOSIS_COLD_CELSIUS, high},
                                          {high, INFINITY}};
    static const OutcomeKind kinds[RUN_OUTCOMES] = {
        OUTCOME_SETTLES, OUTCOME_SLOW,    OUTCOME_SWINGS,     OUTCOME_SETTLES,     OUTCOME_SETTLES,
        OUTCOME_SETTLES, OUTCOME_SETTLES, OUTCOME_STAYS_COLD, OUTCOME_STOPS_SHORT, OUTCOME_RUNS_AWAY};
    for (int o = 0; o < RUN_OUTCOMES; o++) {
        outcomes[o] = (Outcome){.kind = kinds[o], .low = ends[o][0], .high = ends[o][1], .is_right = o == 0};
        set_typical(&usual->of[0], &outcomes[o]);
    }
}

static void fill_run(const DiagnosisModel *model, const Simulated *usual, int h, double *chance)
{
    const double set = THERMAL_MADE_FOR_CELSIUS;
    const Blurred end = blur(model, usual, h, END);
    Blurred mean = blur(model, usual, h, MEAN);
    if (!isfinite(mean.middle)) mean.middle = end.middle;
    const double settles = diagnosis__has_cycles(&usual->of[h], 1) ? 1 - SORT_BLUR / 2 : SORT_BLUR / 2;
    const double far_low = normal_below(mean, set - FAR_KELVIN),
                 low = normal_below(mean, set - DIAGNOSIS_RIGHT_KELVIN),
                 high = normal_below(mean, set + DIAGNOSIS_RIGHT_KELVIN),
                 far_high = normal_below(mean, set + FAR_KELVIN);
    const double slow = chance_slow(model, usual, h), wide = chance_wide(model, usual, h);
    const double cold = normal_below(end, DIAGNOSIS_COLD_CELSIUS),
                 stops = normal_below(end, set + DIAGNOSIS_RIGHT_KELVIN);
    const double fits[RUN_OUTCOMES] = {settles * (high - low) * (1 - slow) * (1 - wide),
                                       settles * (high - low) * slow,
                                       settles * (high - low) * (1 - slow) * wide,
                                       settles * (low - far_low),
                                       settles * far_low,
                                       settles * (far_high - high),
                                       settles * (1 - far_high),
                                       (1 - settles) * cold,
                                       (1 - settles) * (stops - cold),
                                       (1 - settles) * (1 - stops)};
    for (int o = 0; o < RUN_OUTCOMES; o++) chance[o] = (1 - MISSED) * fits[o] + MISSED / RUN_OUTCOMES;
}

/* One reading somewhere in the cycle, as diagnosis__spot has it. */
static void fill_spot(const DiagnosisModel *model, const Simulated *usual, int h, const double *edges,
                      double *chance)
{
    const Behaviour *behaviour = &usual->of[h];
    Blurred shown = blur(model, usual, h, behaviour->cycles > 0 ? MEAN : END);
    shown.spread = sqrt(shown.spread * shown.spread + diagnosis__spot_variance(behaviour));
    double below = 0;
    for (int o = 0; o <= SPOT_EDGES; o++) {
        const double to_here = o < SPOT_EDGES ? normal_below(shown, edges[o]) : 1;
        chance[o] = (1 - MISSED) * (to_here - below) + MISSED / (SPOT_EDGES + 1);
        below = to_here;
    }
}

/* Without an oven to simulate there is one outcome, which tells nothing. */
static void predict_nothing(int count, OutcomeKind kind, Prediction *prediction)
{
    prediction->outcome_count = 1;
    prediction->outcomes[0] = (Outcome){.kind = kind, .low = -INFINITY, .high = INFINITY};
    for (int row = 0; row < count; row++) prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES] = 1;
}

static void predict_run(const DiagnosisModel *model, const Simulated *usual, const int *which, int count,
                        Prediction *prediction)
{
    prediction->outcome_count = RUN_OUTCOMES;
    set_run_outcomes(usual, prediction->outcomes);
    for (int row = 0; row < count; row++)
        fill_run(model, usual, which[row], &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES]);
}

static void predict_spot(const DiagnosisModel *model, const Simulated *usual, const int *which, int count,
                         Prediction *prediction)
{
    const double set = THERMAL_MADE_FOR_CELSIUS;
    const double edges[SPOT_EDGES] = {DIAGNOSIS_COLD_CELSIUS, set - FAR_KELVIN, set - DIAGNOSIS_RIGHT_KELVIN,
                                      set + DIAGNOSIS_RIGHT_KELVIN, set + FAR_KELVIN};
    prediction->outcome_count = SPOT_EDGES + 1;
    for (int o = 0; o <= SPOT_EDGES; o++)
        prediction->outcomes[o] = (Outcome){.kind = OUTCOME_CELSIUS,
                                            .low = o > 0 ? edges[o - 1] : -INFINITY,
                                            .high = o < SPOT_EDGES ? edges[o] : INFINITY};
    for (int row = 0; row < count; row++)
        fill_spot(model, usual, which[row], edges, &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES]);
}

/* Set low, none, set high. */
static void predict_offset(const DiagnosisModel *model, const int *which, int count, Prediction *prediction)
{
    prediction->outcome_count = 3;
    prediction->outcomes[0] = (Outcome){.kind = OUTCOME_OFFSET, .low = -INFINITY, .high = -OFFSET_STEP};
    prediction->outcomes[1] = (Outcome){.kind = OUTCOME_OFFSET, .low = -OFFSET_STEP, .high = OFFSET_STEP};
    prediction->outcomes[2] = (Outcome){.kind = OUTCOME_OFFSET, .low = OFFSET_STEP, .high = INFINITY};
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES];
        const Hypothesis *hypothesis = &model->hypotheses[which[row]];
        const double low = diagnosis__offset_below(model, -OFFSET_STEP, hypothesis),
                     high = diagnosis__offset_below(model, OFFSET_STEP, hypothesis);
        const double fits[3] = {low, high - low, 1 - high};
        for (int o = 0; o < 3; o++) chance[o] = (1 - model->slip) * fits[o] + model->slip / 3;
    }
}

/* No and yes, from the likelihoods of the two entries, which sum to 1 as they are. */
static void predict_answer(const DiagnosisModel *model, const Call *call, int check, const int *which,
                           int count, Prediction *prediction)
{
    const Check *asked = &model->appliance->checks[check];
    const Heard heard = call ? diagnosis__heard(call, call->entry_count, asked->word) : HEARD_NOTHING;
    prediction->outcome_count = 2;
    prediction->outcomes[0] = (Outcome){.kind = OUTCOME_NO};
    prediction->outcomes[1] = (Outcome){.kind = OUTCOME_YES};
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES];
        chance[1] = asked->kind == CHECK_ASK
                        ? diagnosis__answer(model, asked->word, true, which[row], heard, NULL).all
                        : diagnosis__code(model, true, which[row]).all;
        chance[0] = 1 - chance[1];
    }
}

bool diagnosis__predict_oven(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                             Prediction *prediction, Error *error)
{
    const CheckKind kind = model->appliance->checks[check].kind;
    if (!diagnosis__find_conditions(model, error)) return false;
    if (kind == CHECK_OFFSET) {
        predict_offset(model, which, count, prediction);
    } else if (kind == CHECK_CODE || kind == CHECK_ASK) {
        predict_answer(model, call, check, which, count, prediction);
    } else if (model->usual_function < 0) {
        predict_nothing(count, kind == CHECK_RUN ? OUTCOME_SETTLES : OUTCOME_CELSIUS, prediction);
    } else {
        const Simulated *usual = diagnosis__usual(model, error);
        if (!usual || !diagnosis__find_family(model, error)) return false;
        (kind == CHECK_RUN ? predict_run : predict_spot)(model, usual, which, count, prediction);
    }
    return true;
}

/* How long a good one takes is known once a run there was weighed; before that none is called slow. */
bool diagnosis_is_right(const DiagnosisModel *model, const Entry *entry)
{
    const Run *run = entry->run;
    if (!run || !isfinite(run->mean_celsius.value) ||
        fabs(run->mean_celsius.value - entry->set_celsius) > DIAGNOSIS_RIGHT_KELVIN ||
        run->swing_kelvin.value > DIAGNOSIS_WIDE_KELVIN)
        return false;
    const int function = entry->function < 0 ? model->usual_function : entry->function;
    const SoundRun *sound = diagnosis__find_sound(model, function, entry->set_celsius);
    return !sound || !(run->preheat_second.value > DIAGNOSIS_SLOW * sound->preheat_second);
}
