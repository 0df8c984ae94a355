/* temperature.c: how well a temperature run, one settled temperature, or what the control displays fits a
 * hypothesis.
 *
 * A run is weighed by its figures, in coordinates in which ovens differ evenly: kelvin for the mean,
 * logarithms for swing, period and preheat. Under a hypothesis they are normally distributed around the
 * simulated ones, with the covariance of what ovens of one family differ by: J J', J the differences that one
 * standard deviation of each trait makes, what the slice of severities spreads: a twelfth of the square of
 * the difference between its ends, what the log itself leaves open: the run's own standard uncertainties,
 *   what the model does not know: a discrepancy, as in Kennedy and O'Hagan, J. Royal Statist. Soc. B 63
 * (2001) 425. That is the fit of the family's traits to the run, within their spread, done in closed form.
 * Before that stands the chance that the run is of that sort at all: it settles into cycles, or it does not.
 *
 * Numbers in capitals are common practice, no source. Bad at: traits far from typical, since J is a straight
 * line. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/ovens_private.h"

typedef enum { SORT_SETTLED, SORT_STILL, SORT_COUNT, SORT_OPEN = SORT_COUNT } Sort;

/* In the coordinates: what the model does not know (doc/method/diagnosis.md), and how much a run of any oven
 * could show (for a slip). */
static const double DISCREPANCY[FIGURE_COUNT] = {2.5, 0.13, 0.16, 0.14, 4, 15, 3, 0.10};
static const double ANYTHING[FIGURE_COUNT] = {150, 2.5, 2.5, 2.5, 80, 300, 150, 2.5};
static const double RUN_SLIP = 0.02, SORT_SLIP = 0.02;
static const double OVERSHOOT_KELVIN = 1;
static const double PHASE_KELVIN = 10; /* of a log that ends somewhere in a cycle of which it has too few */
static const double LEAST_SWING = 4;   /* kelvin: less is pulsed watts or a noisy log, not a control */
static const double BASE_SHARE = 0.6;  /* of the chance of a sort, the typical oven's part */
static const double AS_BEFORE =
    0.93; /* correlation between two runs of one oven, but for the logs' own noise */
static const double SLIP_STAYS = 0.1; /* a run that came out wrong comes out wrong again, the same way */
static const double THERMOMETER_KELVIN = 4; /* of a single reading */
static const double CLIPPED_KELVIN = 2; /* of a probe at a bulb, each time; part of the discrepancy there */
static const double SPOT_SECOND = 5400;
static const double OFFSET_KELVIN = 1, OFFSET_TAKEN = 0.12,
                    OFFSET_SPREAD = 9; /* owners and others set offsets */

/* Less is pulsed watts or a noisy log. */
bool diagnosis__has_cycles(const Behaviour *behaviour, int least)
{
    return behaviour->cycles >= least && (double)behaviour->swing_kelvin >= LEAST_SWING;
}

/* Chance that an oven that behaves like this logs a run of that sort. One that does not cycle stays cold,
 * stands still on its way or runs away: where it ends tells which. Of few slow cycles (a cutout that trips
 * and resets) a log may miss one. */
static double chance_of(const Behaviour *behaviour, Sort sort)
{
    const double settled = !diagnosis__has_cycles(behaviour, 2)         ? 0
                           : behaviour->cycles >= DIAGNOSIS_SURE_CYCLES ? 1
                                                                        : 0.5;
    return sort == SORT_SETTLED ? settled : 1 - settled;
}

static bool has_finding(const Run *run, RunFindingCode code)
{
    for (int i = 0; i < run->finding_count; i++)
        if (run->findings[i].code == code) return true;
    return false;
}

/* A mean that was read by hand need not come with a swing. */
static Sort sort_of_run(const Run *run)
{
    const bool has_cycles = isfinite(run->mean_celsius.value);
    if (has_cycles && !(run->swing_kelvin.value < LEAST_SWING)) return SORT_SETTLED;
    const bool is_still = has_cycles || has_finding(run, RUN_NEVER_CYCLES) ||
                          has_finding(run, RUN_NEVER_REACHES) || has_finding(run, RUN_RUNS_AWAY);
    return is_still ? SORT_STILL : SORT_OPEN;
}

double diagnosis__swing_coordinate(double kelvin) { return math_log(kelvin + DIAGNOSIS_SWING_FLOOR); }

double diagnosis__discrepancy(Figure figure) { return DISCREPANCY[figure]; }

/* NAN where the simulated run has no such figure. */
double diagnosis__coordinate(const Behaviour *behaviour, Figure figure)
{
    switch (figure) {
    case MEAN: return (double)behaviour->mean_celsius;
    case SWING: return diagnosis__swing_coordinate((double)behaviour->swing_kelvin);
    case PERIOD: return math_log((double)behaviour->period_second);
    case PREHEAT: return math_log((double)behaviour->preheat_second);
    case OVERSHOOT: return (double)behaviour->overshoot_kelvin;
    case SENSOR: return (double)behaviour->sensor_celsius;
    case SENSOR_SWING: return diagnosis__swing_coordinate((double)behaviour->sensor_swing_kelvin);
    default: return (double)behaviour->end_celsius;
    }
}

/* What the log shows, in the same coordinates, and its own uncertainty there. */
static void observe(const Run *run, Sort sort, double shown[FIGURE_COUNT], double spread[FIGURE_COUNT])
{
    const RunFigure *swing = &run->swing_kelvin, *period = &run->period_second,
                    *preheat = &run->preheat_second;
    for (int f = 0; f < FIGURE_COUNT; f++) {
        shown[f] = NAN;
        spread[f] = 0;
    }
    if (sort == SORT_SETTLED) {
        shown[MEAN] = run->mean_celsius.value;
        spread[MEAN] = run->mean_celsius.uncertainty;
        shown[SWING] = diagnosis__swing_coordinate(swing->value);
        spread[SWING] = swing->uncertainty / (swing->value + DIAGNOSIS_SWING_FLOOR);
        shown[PERIOD] = math_log(period->value);
        spread[PERIOD] = period->uncertainty / period->value;
        if (run->has_sensor) {
            shown[SENSOR] = run->sensor_celsius.value;
            spread[SENSOR] = run->sensor_celsius.uncertainty;
            shown[SENSOR_SWING] = diagnosis__swing_coordinate(run->sensor_swing_kelvin.value);
            spread[SENSOR_SWING] = run->sensor_swing_kelvin.uncertainty /
                                   (run->sensor_swing_kelvin.value + DIAGNOSIS_SWING_FLOOR);
        }
    } else if (sort == SORT_STILL || isfinite(run->heat_up_second)) {
        shown[END] = run->end_celsius;
        spread[END] = sort == SORT_OPEN ? PHASE_KELVIN : 0;
    }
    if (isfinite(preheat->value)) {
        shown[PREHEAT] = math_log(preheat->value);
        spread[PREHEAT] = preheat->uncertainty / preheat->value;
    }
    shown[OVERSHOOT] = run->overshoot_kelvin.value;
    spread[OVERSHOOT] = fmax(run->overshoot_kelvin.uncertainty, OVERSHOOT_KELVIN);
    for (int f = 0; f < FIGURE_COUNT; f++)
        if (!isfinite(spread[f])) spread[f] = 0;
}

/* The single fault whose surroundings stand for a hypothesis: itself, or the stronger of a pair. */
static int stand_in(const DiagnosisModel *model, const Simulated *simulated, int h)
{
    const Hypothesis *hypothesis = &model->hypotheses[h];
    if (hypothesis->count < 2) return h;
    int best = 0;
    double most = -1;
    for (int i = 0; i < 2; i++) {
        const int fault = model->circuit.variants[hypothesis->variants[i]].fault;
        const HypothesisGroup *group = &model->groups[1 + fault];
        const int middle = group->first_hypothesis + group->hypothesis_count / 2;
        const double moved =
            fabs((double)(simulated->of[middle].end_celsius - simulated->of[0].end_celsius)) +
            (simulated->of[middle].cycles != simulated->of[0].cycles);
        if (moved <= most) continue;
        most = moved;
        best = middle;
    }
    return best;
}

/* Variance that severities add to a figure: of the slice, or for a pair of all slices of both its faults. */
static double severity_variance(const DiagnosisModel *model, const Simulated *simulated, int h, Figure figure)
{
    const Hypothesis *hypothesis = &model->hypotheses[h];
    double sum = 0;
    for (int i = 0; i < hypothesis->count; i++) {
        int first = h, last = h;
        if (hypothesis->count > 1) {
            const HypothesisGroup *group =
                &model->groups[1 + model->circuit.variants[hypothesis->variants[i]].fault];
            first = group->first_hypothesis;
            last = first + group->hypothesis_count - 1;
        }
        const double low = diagnosis__coordinate(diagnosis__end(simulated, first, false), figure),
                     high = diagnosis__coordinate(diagnosis__end(simulated, last, true), figure);
        if (isfinite(low) && isfinite(high)) sum += (high - low) * (high - low) / 12;
    }
    return sum;
}

/* Covariance of `count` figures under a hypothesis, and (unless NULL) what share of the oven's own variance
 * of each is how far its faults have gone. */
static void covariance_of(const DiagnosisModel *model, const Simulated *simulated, int h,
                          const Figure *figures, const double *spread, int count,
                          double covariance[FIGURE_COUNT][FIGURE_COUNT], float *degree)
{
    const int near = stand_in(model, simulated, h);
    double slope[FIGURE_COUNT][THERMAL_FAMILY_COUNT];
    for (int i = 0; i < count; i++)
        for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
            const double moved = diagnosis__coordinate(diagnosis__trait(simulated, near, t), figures[i]) -
                                 diagnosis__coordinate(&simulated->of[near], figures[i]);
            slope[i][t] = isfinite(moved) ? moved : 0;
        }
    for (int i = 0; i < count; i++) {
        for (int j = 0; j <= i; j++) {
            double sum = 0;
            for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) sum += slope[i][t] * slope[j][t];
            covariance[i][j] = sum;
        }
        const double unknown = DISCREPANCY[figures[i]] * DISCREPANCY[figures[i]],
                     severity = severity_variance(model, simulated, h, figures[i]);
        if (degree) degree[i] = (float)(severity / (covariance[i][i] + (unknown + severity)));
        covariance[i][i] += spread[i] * spread[i] + unknown + severity;
    }
}

/* Density of a normal distribution around 0 at `difference`, by Cholesky's factors; the lower triangle of
 * `covariance` is overwritten. */
static double normal_density(double covariance[FIGURE_COUNT][FIGURE_COUNT], const double *difference,
                             int count)
{
    double solved[FIGURE_COUNT], exponent = 0, density = 1;
    for (int i = 0; i < count; i++) {
        double rest = difference[i];
        for (int j = 0; j < i; j++) {
            double sum = covariance[i][j];
            for (int k = 0; k < j; k++) sum -= covariance[i][k] * covariance[j][k];
            covariance[i][j] = sum / covariance[j][j];
            rest -= covariance[i][j] * solved[j];
        }
        double square = covariance[i][i];
        for (int k = 0; k < i; k++) square -= covariance[i][k] * covariance[i][k];
        assert(square > 0);
        covariance[i][i] = sqrt(square);
        solved[i] = rest / covariance[i][i];
        exponent += solved[i] * solved[i] / 2;
        density /= covariance[i][i] * sqrt(2 * MATH_PI);
    }
    return density * math_exp(-exponent);
}

/* Chance that a run under the hypothesis is of that sort: the typical oven's, and those of its family. */
static double sort_chance(const DiagnosisModel *model, const Simulated *simulated, int h, Sort sort)
{
    const int near = stand_in(model, simulated, h);
    double others = 0;
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++)
        others += chance_of(diagnosis__trait(simulated, near, t), sort);
    const double share =
        BASE_SHARE * chance_of(&simulated->of[h], sort) + (1 - BASE_SHARE) * others / THERMAL_FAMILY_COUNT;
    return (1 - SORT_SLIP) * share + SORT_SLIP / SORT_COUNT;
}

Residual diagnosis__no_residual(void)
{
    Residual none = {.fit = 1};
    for (int f = 0; f < FIGURE_COUNT; f++) none.of[f] = NAN;
    return none;
}

/* Of the run before, where it is known under the hypothesis. */
static Sort sort_before(const Residual *residual)
{
    if (isfinite(residual->of[MEAN])) return SORT_SETTLED;
    return isfinite(residual->of[END]) ? SORT_STILL : SORT_OPEN;
}

/* Chance that the run before says what to expect: it does not if it was a slip under the hypothesis. Else an
 * oven that is twice off by the same would be sound with an odd trait. */
static double as_before(const Residual *residual)
{
    return (double)residual->fit + (1 - (double)residual->fit) * SLIP_STAYS;
}

/* One oven is of one sort. */
static double sort_chance_after(const DiagnosisModel *model, const Simulated *simulated, int h, Sort sort,
                                const Residual *residual)
{
    const double share = sort_chance(model, simulated, h, sort);
    const Sort before = sort_before(residual);
    const double again = before == SORT_OPEN ? 0 : AS_BEFORE * as_before(residual);
    return again * (sort == before) + (1 - again) * share;
}

/* Simulated as long as the log is, rounded up to ten minutes: a short one has not seen the walls get warm.
 * One that shows cycles is held against cycles, and a simulation that ends a minute too early has none. */
const Simulated *diagnosis__simulate_entry(DiagnosisModel *model, const Entry *entry, const double *weights,
                                           Arena *arena, Error *error)
{
    double second = SPOT_SECOND;
    const int function = entry->function < 0 ? model->usual_function : entry->function;
    if (model->thermal.functions[function].heating_count == 0) {
        error_set(error, ERROR_INCONSISTENT, model->appliance->functions[function].name,
                  "a function that heats the oven, for a temperature that was taken in it");
        error_at(error, "", entry->line, 0);
        return NULL;
    }
    if (entry->kind == ENTRY_RUN && entry->run) second = entry->run->to_second - entry->run->from_second;
    if (!(second > 0)) second = BEHAVIOUR_MOST_SECOND;
    if (entry->kind == ENTRY_RUN && entry->run && isfinite(entry->run->mean_celsius.value))
        second = fmax(second, SPOT_SECOND);
    second = 600 * floor((second + 599) / 600);
    second = fmin(fmax(second, BEHAVIOUR_LEAST_SECOND), BEHAVIOUR_MOST_SECOND);
    return diagnosis__simulated(model, function, entry->set_celsius, second, weights, arena, error);
}

/* What a figure has of its run alone: the log's own noise, and how a probe was clipped on for it. */
static double variance_of_run(Figure figure, double spread)
{
    return spread * spread + (figure == SENSOR ? CLIPPED_KELVIN * CLIPPED_KELVIN : 0);
}

/* One oven in two runs is off in the same way: what the first was off is expected of the second, and of the
 * covariance only what differs from run to run is left (a normal distribution given a correlated one). */
static void expect_the_same(const Residual *residual, const Figure *figures, const double *spread, int count,
                            double *difference, double covariance[FIGURE_COUNT][FIGURE_COUNT])
{
    const double left = sqrt(1 - AS_BEFORE * AS_BEFORE);
    for (int i = 0; i < count; i++) {
        const float before = residual->of[figures[i]];
        if (!isfinite(before)) continue;
        difference[i] -= AS_BEFORE * (double)before;
        for (int j = 0; j < count; j++) {
            if (j != i) covariance[i][j] *= left;
            if (j != i) covariance[j][i] *= left;
        }
        const double own = variance_of_run(figures[i], spread[i]);
        covariance[i][i] = (covariance[i][i] - own) * left * left + own;
    }
}

/* Single readings before are witnesses of the oven's own error, too: `shift` of it is expected already. What
 * they leave of mean, and of what goes with it, is a normal distribution given an observation with noise. */
static void expect_as_read(const Residual *residual, double shift, const Figure *figures,
                           const double *spread, int count, double *difference,
                           double covariance[FIGURE_COUNT][FIGURE_COUNT])
{
    double with_mean[FIGURE_COUNT], all;
    int mean = 0;
    while (mean < count && figures[mean] != MEAN) mean++;
    if (mean == count || residual->spot_weight <= 0) return;
    for (int i = 0; i < count; i++) with_mean[i] = covariance[i > mean ? i : mean][i > mean ? mean : i];
    with_mean[mean] -= spread[mean] * spread[mean];
    all = with_mean[mean] + 1 / (double)residual->spot_weight;
    assert(with_mean[mean] >= 0 && isfinite(all));
    for (int i = 0; i < count; i++) {
        difference[i] -= with_mean[i] / all * ((double)residual->spot_kelvin - shift);
        for (int j = 0; j <= i; j++) covariance[i][j] -= with_mean[i] * with_mean[j] / all;
    }
}

/* Density of the differences after what was measured before; `degree` as above. */
static double density_after(const DiagnosisModel *model, const Simulated *simulated, int h,
                            const Residual *residual, const Figure *figures, const double *spread, int count,
                            double *difference, float *degree)
{
    const double again = as_before(residual),
                 shift = isfinite(residual->of[MEAN]) ? AS_BEFORE * (double)residual->of[MEAN] : 0;
    double covariance[FIGURE_COUNT][FIGURE_COUNT] = {{0}}, spent[FIGURE_COUNT][FIGURE_COUNT], alone = 0;
    covariance_of(model, simulated, h, figures, spread, count, covariance, degree);
    if (again < 1) {
        double off[FIGURE_COUNT];
        memcpy(spent, covariance, sizeof spent);
        memcpy(off, difference, (size_t)count * sizeof *off);
        expect_as_read(residual, 0, figures, spread, count, off, spent);
        alone = (1 - again) * normal_density(spent, off, count);
    }
    /* a wide slice of severities is as narrow as any once it is known where in it the oven lies */
    bool is_seen = true;
    for (int i = 0; i < count; i++) is_seen &= isfinite(residual->of[figures[i]]);
    if (is_seen) covariance_of(model, simulated, 0, figures, spread, count, covariance, NULL);
    expect_the_same(residual, figures, spread, count, difference, covariance);
    expect_as_read(residual, shift, figures, spread, count, difference, covariance);
    return alone + again * normal_density(covariance, difference, count);
}

/* One that cycles on its cutout, or on nothing, cycles as before when its control is turned: what moves the
 * setting does not move its mean. */
static bool obeys_control(const DiagnosisModel *model, const Simulated *simulated, int h)
{
    const int near = stand_in(model, simulated, h);
    const double moved = (double)(diagnosis__trait(simulated, near, THERMAL_SETTING)->mean_celsius -
                                  simulated->of[near].mean_celsius);
    return !(fabs(moved) < model->thermal.setting_kelvin / 2);
}

/* What the oven does once its control was turned: other than before by what that changes in a sound oven. One
 * that does not cycle does not get as far as its control. */
static Behaviour behaviour_as_turned(const Simulated *simulated, int h, const Turned *turned)
{
    const Behaviour *behaviour = &simulated->of[h];
    if (turned->now == turned->before || behaviour->cycles <= 0) return *behaviour;
    if (turned->before == h) return simulated->of[turned->now];
    return diagnosis__liken(behaviour, &simulated->of[turned->before], &simulated->of[turned->now]);
}

Likelihood diagnosis__run(const DiagnosisModel *model, const Run *run, const Simulated *simulated, int h,
                          Residual *residual)
{
    const double by = obeys_control(model, simulated, h) ? (double)residual->turned : 0;
    const Turned turned = diagnosis__as_turned(model, h, by);
    const int like = turned.before == h ? turned.now : h;
    const Behaviour behaviour = behaviour_as_turned(simulated, h, &turned);
    double shown[FIGURE_COUNT], spread[FIGURE_COUNT], difference[FIGURE_COUNT], used[FIGURE_COUNT];
    double anything = 1, beyond = 1;
    Figure figures[FIGURE_COUNT];
    Residual now = {.turned = residual->turned};
    int count = 0;
    const Sort sort = sort_of_run(run);
    observe(run, sort, shown, spread);
    for (int f = 0; f < FIGURE_COUNT; f++) {
        now.of[f] = NAN;
        if (!isfinite(shown[f])) continue;
        const double expected = diagnosis__coordinate(&behaviour, (Figure)f) +
                                (f == MEAN || f == OVERSHOOT || f == SENSOR ? turned.rest_kelvin : 0);
        anything /= ANYTHING[f];
        if (!isfinite(expected)) {
            beyond /= ANYTHING[f];
            continue;
        }
        figures[count] = (Figure)f;
        used[count] = spread[f];
        difference[count++] = shown[f] - expected;
        now.of[f] = (float)(shown[f] - expected);
    }
    float degree[FIGURE_COUNT];
    const double density =
        density_after(model, simulated, like, residual, figures, used, count, difference, degree);
    for (int i = 0; i < count; i++) now.degree[figures[i]] = degree[i];
    const double of_sort = sort == SORT_OPEN ? 1 : sort_chance_after(model, simulated, like, sort, residual);
    const double slip = RUN_SLIP * anything / SORT_COUNT;
    const double fits = (1 - RUN_SLIP) * of_sort * beyond * density;
    now.fit = (float)(fits / (fits + slip));
    *residual = now;
    return (Likelihood){fits + slip, slip};
}

/* One reading somewhere in the cycle: a sine's variance is an eighth of the square of its swing. */
double diagnosis__spot_variance(const Behaviour *behaviour)
{
    const double swing = behaviour->cycles > 0 ? (double)behaviour->swing_kelvin : 0;
    return THERMOMETER_KELVIN * THERMOMETER_KELVIN + swing * swing / 8;
}

/* What reading and weight so far, and one more, come to together. */
static void take_up_reading(Residual *residual, double kelvin, double weight)
{
    const double before = (double)residual->spot_weight, all = before + weight;
    assert(weight >= 0 && isfinite(kelvin));
    if (all <= 0) return;
    residual->spot_kelvin = (float)((before * (double)residual->spot_kelvin + weight * kelvin) / all);
    residual->spot_weight = (float)all;
}

Likelihood diagnosis__spot(const DiagnosisModel *model, double celsius, const Simulated *simulated, int h,
                           Residual *residual)
{
    const Behaviour *behaviour = &simulated->of[h];
    const Figure figure = behaviour->cycles > 0 ? MEAN : END;
    const double variance = diagnosis__spot_variance(behaviour), spread = sqrt(variance),
                 off = celsius - diagnosis__coordinate(behaviour, figure) -
                       (figure == MEAN && obeys_control(model, simulated, h) ? (double)residual->turned : 0),
                 slip = RUN_SLIP / ANYTHING[END];
    double difference = off;
    float degree;
    const double density =
        density_after(model, simulated, h, residual, &figure, &spread, 1, &difference, &degree);
    const double fits = (1 - RUN_SLIP) * density;
    if (figure == MEAN) {
        take_up_reading(residual, off, fits / (fits + slip) / variance);
        residual->degree[MEAN] = degree;
    }
    return (Likelihood){fits + slip, slip};
}

/* What the control would display as its offset: the severity of a fault that is one, or none, or what
 * somebody set for reasons of his own. */
typedef struct {
    double middle, spread;
    bool is_set; /* by a fault: nobody else has set it */
} Offset;

static Offset offset_of(const DiagnosisModel *model, const Hypothesis *hypothesis)
{
    Offset offset = {.middle = 0};
    double width = 0;
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (!fault->mode->setting) continue;
        const double low = fault->severity[model->circuit.variants[hypothesis->low[i]].severity],
                     high = fault->severity[model->circuit.variants[hypothesis->high[i]].severity];
        offset.middle += (low + high) / 2;
        width += high - low;
        offset.is_set = true;
    }
    offset.spread = sqrt(OFFSET_KELVIN * OFFSET_KELVIN + width * width / 12);
    return offset;
}

static double offset_density(const DiagnosisModel *model, double kelvin, const Hypothesis *hypothesis)
{
    const Offset offset = offset_of(model, hypothesis);
    const double z = (kelvin - offset.middle) / offset.spread, wide = kelvin / OFFSET_SPREAD;
    const double at = math_exp(-z * z / 2) / (offset.spread * sqrt(2 * MATH_PI));
    if (offset.is_set) return at;
    return (1 - OFFSET_TAKEN) * at +
           OFFSET_TAKEN * math_exp(-wide * wide / 2) / (OFFSET_SPREAD * sqrt(2 * MATH_PI));
}

double diagnosis__offset_below(const DiagnosisModel *model, double kelvin, const Hypothesis *hypothesis)
{
    const Offset offset = offset_of(model, hypothesis);
    const double below = diagnosis__normal((kelvin - offset.middle) / offset.spread);
    if (offset.is_set) return below;
    return (1 - OFFSET_TAKEN) * below + OFFSET_TAKEN * diagnosis__normal(kelvin / OFFSET_SPREAD);
}

/* Half of all slips would show a code. */
Likelihood diagnosis__code(const DiagnosisModel *model, bool is_shown, int h)
{
    const int code = kind_find_look(model->appliance->catalogue, "error-code");
    const double shows =
        code < 0 ? 0.5
                 : diagnosis__sign_chance(model, model->appliance->control, code, &model->hypotheses[h]);
    const double slip = model->slip / 2;
    return (Likelihood){(1 - model->slip) * (is_shown ? shows : 1 - shows) + slip, slip};
}

Likelihood diagnosis__setting(const DiagnosisModel *model, const Entry *entry, int h)
{
    if (entry->shows) return diagnosis__code(model, !text_equal(entry->shows, "none"), h);
    const double slip = model->slip / ANYTHING[MEAN];
    return (Likelihood){
        (1 - model->slip) * offset_density(model, entry->value.value, &model->hypotheses[h]) + slip, slip};
}
