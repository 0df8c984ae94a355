/* repair.c: what a repair does to the weights of the hypotheses; see weighing_private.h.
 *
 * Lives here: what a new part cures, how far an adjustment was turned and what that cures. Not here: whether
 * a repair is worth it (plan).
 *
 * A control or thermostat is turned by what the last run or spot was off, and no further than it goes. A
 * single reading somewhere in the cycle is a poor measure of the mean, so an adjustment need not have set the
 * oven right: what is left of each severity after it says how much of the weight is cured. What was turned is
 * expected to show in the next run, under every hypothesis: an oven that was right and was turned on the word
 * of a bad reading is off now.
 *
 * Bad at: pairs of a miscalibration and something else that shifts the mean, which are turned as one. */
#include <assert.h>
#include <math.h>

#include "core/diagnosis/weighing_private.h"

/* What is nearer to its set temperature is left alone (15 F, as run advice has it; common practice). */
static const double NEAR_KELVIN = 15 / 1.8;
/* 10 F: nobody turns a screw for less. Common practice, no source. */
static const double LEAST_TURN_KELVIN = 5;
/* A new part is faulty, or was fitted badly. Common practice, no source. */
static const double REPAIR_FAILS = 0.02;
static const double MUCH_OF_IT = 0.2; /* of the variance of what was off */

bool diagnosis__begin_pasts(Weighing *weighing)
{
    const size_t n = (size_t)weighing->model->hypothesis_count;
    if (weighing->pasts) return true;
    weighing->pasts = ARENA_ARRAY(weighing->arena, Past, n);
    for (size_t h = 0; weighing->pasts && h < n; h++) weighing->pasts[h].own = diagnosis__no_residual();
    return weighing->pasts != NULL;
}

/* The likelier of two pasts. */
static const Residual *past_of(const Weighing *weighing, int h)
{
    const Past *past = &weighing->pasts[h];
    return past->share > 0.5 ? &past->inherited : &past->own;
}

/* Before a repair: what is inherited by it is weighed against what was inherited before. */
static void find_heaviest(Weighing *weighing)
{
    for (int h = 0; weighing->pasts && h < weighing->model->hypothesis_count; h++)
        weighing->pasts[h].heaviest = weighing->pasts[h].share * weighing->weights[h];
}

static void turn_all(Weighing *weighing, double kelvin)
{
    for (int h = 0; h < weighing->model->hypothesis_count; h++) {
        weighing->pasts[h].own.turned += (float)kelvin;
        weighing->pasts[h].inherited.turned += (float)kelvin;
    }
}

/* By how much the last run or spot before an entry was off, since the repair before that; NAN without one. */
static double measured_error(const Call *call, int until)
{
    for (int e = until - 1; e >= 0; e--) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_REPAIR) return NAN;
        if (entry->kind == ENTRY_SPOT) return entry->value.value - entry->set_celsius;
        if (entry->kind == ENTRY_RUN && entry->run && isfinite(entry->run->mean_celsius.value))
            return entry->run->mean_celsius.value - entry->set_celsius;
    }
    return NAN;
}

static bool is_shift(const Fault *fault)
{
    return fault->mode->effect == EFFECT_SHIFT && fault->mode->adjust_second > 0;
}

/* By how much a part had been turned before entry `until`, since it was new: each time by what was measured,
 * and no further than it goes. */
static double turned_before(const DiagnosisModel *model, const Call *call, int until, int part)
{
    const DescribedRegulation *regulation = &model->appliance->description->regulation;
    double turned = 0;
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->kind != ENTRY_REPAIR || entry->is_struck) continue;
        if (!call_is_adjusted(entry) && model->appliance->parts[part].replaced_with == entry->part)
            turned = 0;
        const double error = measured_error(call, e);
        if (!call_is_adjusted(entry) || entry->part != part || !isfinite(error)) continue;
        turned = fmin(fmax(turned - error, regulation->offset_from_kelvin), regulation->offset_to_kelvin);
    }
    return turned;
}

static bool has_range(const DescribedRegulation *regulation)
{
    return regulation->offset_to_kelvin > regulation->offset_from_kelvin;
}

/* What is turned is what was measured; without a measurement, what the hypothesis says is left. Turned as far
 * as it goes, it may leave so little that nobody would turn it for that. */
bool diagnosis_is_within_reach(const DiagnosisModel *model, const Call *call, int until,
                               const Hypothesis *hypothesis, int i)
{
    const DescribedRegulation *regulation = &model->appliance->description->regulation;
    const Fault *fault = diagnosis__fault(model, hypothesis, i);
    if (fault->mode->effect != EFFECT_SHIFT || !has_range(regulation)) return true;
    const double measured = measured_error(call, until),
                 turned = turned_before(model, call, until, fault->part);
    const double wanted = isfinite(measured)
                              ? turned - measured
                              : -fault->severity[model->circuit.variants[hypothesis->variants[i]].severity];
    return wanted >= regulation->offset_from_kelvin - LEAST_TURN_KELVIN &&
           wanted <= regulation->offset_to_kelvin + LEAST_TURN_KELVIN;
}

/* A relay that is replaced with its control is cured by a new control; adjusting a part makes none of it new.
 */
static bool is_cured(const Weighing *weighing, const Hypothesis *hypothesis, int i, const Entry *repair)
{
    const DiagnosisModel *model = weighing->model;
    const Fault *fault = diagnosis__fault(model, hypothesis, i);
    if (call_is_adjusted(repair))
        return fault->part == repair->part && fault->mode->adjust_second > 0 &&
               diagnosis_is_within_reach(model, weighing->call, (int)(repair - weighing->call->entries),
                                         hypothesis, i);
    return fault->part == repair->part || model->appliance->parts[fault->part].replaced_with == repair->part;
}

/* What a fault was more or less than the middle of its degrees has gone with it, and is no trait of the oven
 * that is left: where that may be much of what was off, nothing is known of that figure. */
static void leave_degree(Residual *residual)
{
    for (int f = 0; f < FIGURE_COUNT; f++) {
        if ((double)residual->degree[f] > MUCH_OF_IT) {
            residual->of[f] = NAN;
            if (f == MEAN) residual->spot_weight = 0;
        }
        residual->degree[f] = 0;
    }
}

/* What a hypothesis leaves behind is the same oven, and its past with it: that of the heaviest of those who
 * leave it to one heir. Its control was turned by `turned` beyond what the heir says of it; NAN: a fault is
 * gone, and nothing was turned for it. */
static void inherit(Weighing *weighing, int from, int to, double weight, double turned)
{
    const double before = weighing->weights[to], after = before + weight;
    assert(from != to && weight >= 0);
    weighing->weights[to] = after;
    if (!weighing->pasts || weight <= 0) return;
    Past *past = &weighing->pasts[to];
    past->share = (past->share * before + weight) / after;
    if (weight <= past->heaviest) return;
    past->inherited = *past_of(weighing, from);
    if (isfinite(turned))
        past->inherited.turned = (float)turned;
    else
        leave_degree(&past->inherited);
    past->heaviest = weight;
}

/* Moves weight to the fault that is left of a pair, shared among its slices, or to 'nothing wrong'. Groups of
 * single faults stand behind 'nothing wrong' in the order of the faults (model.c). */
static void move_weight(Weighing *weighing, int from, int fault, double weight, double turned)
{
    const HypothesisGroup *group = &weighing->model->groups[1 + fault];
    assert(fault < 0 || group->faults[0] == fault);
    weighing->weights[from] -= weight;
    if (fault < 0) inherit(weighing, from, 0, weight, turned);
    for (int s = 0; fault >= 0 && s < group->hypothesis_count; s++)
        inherit(weighing, from, group->first_hypothesis + s, weight / group->hypothesis_count, turned);
}

/* Of a hypothesis: the fault that the repair leaves, -1 for none of it, and whether it cures any. */
static bool cures(const Weighing *weighing, const Hypothesis *hypothesis, const Entry *done, int *left)
{
    bool is_any = false;
    *left = -1;
    for (int i = 0; i < hypothesis->count; i++) {
        if (is_cured(weighing, hypothesis, i, done))
            is_any = true;
        else
            *left = weighing->model->circuit.variants[hypothesis->variants[i]].fault;
    }
    return is_any;
}

/* --- a control or thermostat that is turned by degrees --- */

static bool can_turn(const Appliance *appliance, int part)
{
    const Part *turned = &appliance->parts[part];
    bool is_any = false;
    for (int f = turned->first_fault; f < turned->first_fault + turned->fault_count; f++)
        is_any |= is_shift(&appliance->faults[f]);
    return is_any;
}

/* Share of what is left between two ends that is near to right, and the middle of that share. */
static double share_near(double low, double high, double *middle)
{
    if (low > high) return share_near(high, low, middle);
    const double from = fmax(low, -NEAR_KELVIN), until = fmin(high, NEAR_KELVIN);
    *middle = (from + until) / 2;
    if (high - low < 1e-9) return fabs(low) <= NEAR_KELVIN;
    return fmax(until - from, 0) / (high - low);
}

static double middle_of(const DiagnosisModel *model, const Hypothesis *hypothesis, int i)
{
    const int severity = model->circuit.variants[hypothesis->variants[i]].severity;
    return diagnosis__fault(model, hypothesis, i)->severity[severity];
}

/* By how much the mean is off once a part is turned in entry `number`, as a run has it that was taken since
 * the part was new; NAN without one. */
static double seen_off(const DiagnosisModel *model, const Call *call, int number, int part)
{
    for (int e = number - 1; e >= 0; e--) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_REPAIR && !call_is_adjusted(entry) &&
            model->appliance->parts[part].replaced_with == entry->part)
            break;
        if (entry->kind == ENTRY_RUN && entry->run && isfinite(entry->run->mean_celsius.value))
            return entry->run->mean_celsius.value - entry->set_celsius +
                   turned_before(model, call, number + 1, part) - turned_before(model, call, e, part);
    }
    return NAN;
}

/* Number of the shift that turning the part cures among the faults of a hypothesis; -1. */
static int find_shift(const DiagnosisModel *model, const Hypothesis *hypothesis, int part)
{
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (fault->part == part && is_shift(fault)) return i;
    }
    return -1;
}

/* The hypothesis of a control or thermostat that is out by about so much and has nothing else, 0 for none;
 * *off becomes what is left between the two. */
static int find_nearest_shift(const DiagnosisModel *model, double *off)
{
    const double wanted = *off;
    int nearest = 0;
    for (int f = 0; f < model->appliance->fault_count; f++) {
        const HypothesisGroup *group = &model->groups[1 + f];
        if (!is_shift(&model->appliance->faults[f])) continue;
        for (int s = group->first_hypothesis; s < group->first_hypothesis + group->hypothesis_count; s++) {
            const double rest = wanted - middle_of(model, &model->hypotheses[s], 0);
            if (fabs(rest) >= fabs(*off)) continue;
            nearest = s;
            *off = rest;
        }
    }
    return nearest;
}

/* A thermostat that is out by 40 K and was turned by 30 cycles and heats up like one that is out by 10,
 * whatever else is wrong with the oven. */
Turned diagnosis__as_turned(const DiagnosisModel *model, int h, double turned_kelvin)
{
    const Hypothesis *hypothesis = &model->hypotheses[h];
    if (turned_kelvin == 0) return (Turned){h, h, 0};
    Turned turned = {.rest_kelvin = turned_kelvin};
    for (int i = 0; i < hypothesis->count; i++) {
        if (!is_shift(diagnosis__fault(model, hypothesis, i))) continue;
        double off = middle_of(model, hypothesis, i);
        turned.rest_kelvin += off;
        turned.before = hypothesis->count == 1 ? h : find_nearest_shift(model, &off);
    }
    turned.now = find_nearest_shift(model, &turned.rest_kelvin);
    return turned;
}

/* A part that is turned, and the hypotheses in which it is out of calibration. */
typedef struct {
    int part, *shifted, count;
    double by;  /* kelvin, this time */
    double off; /* kelvin, from then on, as a run has it; NAN: nobody has seen it */
} Turn;

/* The hypothesis that has a miscalibration by about `off` besides all that this one has; -1: there is none,
 * since not every pair is thought of. */
static int find_spoilt(const DiagnosisModel *model, const Hypothesis *before, const Turn *turn, double off)
{
    int nearest = -1;
    double distance = INFINITY;
    for (int i = 0; i < turn->count; i++) {
        const int h = turn->shifted[i];
        const Hypothesis *hypothesis = &model->hypotheses[h];
        const int shift = find_shift(model, hypothesis, turn->part);
        if (hypothesis->count != before->count + 1) continue;
        if (before->count &&
            diagnosis__fault(model, hypothesis, 1 - shift) != diagnosis__fault(model, before, 0))
            continue;
        const double middle = middle_of(model, hypothesis, shift);
        if (middle * off < 0 || fabs(middle - off) >= distance) continue;
        nearest = h;
        distance = fabs(middle - off);
    }
    return nearest;
}

/* An oven whose control was right, and was turned on the word of a bad reading, is out of calibration now,
 * whatever else is wrong with it. */
static void spoil(Weighing *weighing, int h, const Turn *turn)
{
    const DiagnosisModel *model = weighing->model;
    const Hypothesis *hypothesis = &model->hypotheses[h];
    const double turned = (double)past_of(weighing, h)->turned,
                 off = isfinite(turn->off) ? turn->off : turned;
    if (hypothesis->count >= CIRCUIT_MOST_FAULTS || fabs(off) <= NEAR_KELVIN ||
        find_shift(model, hypothesis, turn->part) >= 0)
        return;
    const int spoilt = find_spoilt(model, hypothesis, turn, off);
    if (spoilt < 0) return;
    const int shift = find_shift(model, &model->hypotheses[spoilt], turn->part);
    const double weight = weighing->weights[h] * (1 - REPAIR_FAILS);
    weighing->weights[h] -= weight;
    inherit(weighing, h, spoilt, weight, turned - middle_of(model, &model->hypotheses[spoilt], shift));
}

/* What turning cures of one hypothesis. Of what is wholly cured, that is left which the turning failed to
 * reach; of what is not, the control stands turned. */
static void settle(Weighing *weighing, int h, const Turn *turn)
{
    const DiagnosisModel *model = weighing->model;
    const Hypothesis *hypothesis = &model->hypotheses[h];
    const double turned = (double)past_of(weighing, h)->turned;
    double cured = 0, off = turned;
    int left = -1;
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (fault->part != turn->part || fault->mode->adjust_second <= 0) {
            left = model->circuit.variants[hypothesis->variants[i]].fault;
        } else if (!is_shift(fault)) {
            cured = 1; /* a clip that is put back on the same occasion */
        } else {
            const double low = fault->severity[model->circuit.variants[hypothesis->low[i]].severity],
                         high = fault->severity[model->circuit.variants[hypothesis->high[i]].severity];
            cured = share_near(low + turned, high + turned, &off);
            if (!isfinite(turn->off)) continue;
            off = middle_of(model, hypothesis, i) + turned;
            cured = fabs(turn->off) <= NEAR_KELVIN;
        }
    }
    if (cured <= 0) return;
    move_weight(weighing, h, left, weighing->weights[h] * cured * (1 - REPAIR_FAILS), off);
    if (cured < 1) return;
    weighing->pasts[h].own.turned -= (float)turn->by;
    weighing->pasts[h].inherited.turned -= (float)turn->by;
}

/* What is right is spoilt before others are cured, and pairs are cured before what is left of them: nothing
 * is turned twice. */
static bool turn_part(Weighing *weighing, const Entry *done)
{
    const DiagnosisModel *model = weighing->model;
    const int number = (int)(done - weighing->call->entries), n = model->hypothesis_count;
    Turn turn = {.part = done->part,
                 .shifted = ARENA_ARRAY(weighing->arena, int, (size_t)n),
                 .by = turned_before(model, weighing->call, number + 1, done->part) -
                       turned_before(model, weighing->call, number, done->part),
                 .off = seen_off(model, weighing->call, number, done->part)};
    if (!turn.shifted || !diagnosis__begin_pasts(weighing)) return false;
    turn_all(weighing, turn.by);
    for (int h = 0; h < n; h++)
        if (find_shift(model, &model->hypotheses[h], turn.part) >= 0) turn.shifted[turn.count++] = h;
    for (int h = 0; h < n; h++) spoil(weighing, h, &turn);
    for (int h = n - 1; h > 0; h--) settle(weighing, h, &turn);
    return true;
}

/* A new part has not been turned, nor put out of calibration by turning the old one: there is one that tells
 * the oven its temperature. */
static void forget_turns(Weighing *weighing, const Entry *done)
{
    const Appliance *appliance = weighing->model->appliance;
    bool is_new = false;
    for (int p = 0; p < appliance->part_count; p++)
        is_new |= appliance->parts[p].replaced_with == done->part && can_turn(appliance, p);
    for (int h = 0; is_new && h < weighing->model->hypothesis_count; h++)
        weighing->pasts[h].own.turned = weighing->pasts[h].inherited.turned = 0;
}

/* What is mended alone may have had a second fault beside it which was too rare to be thought of: now it is
 * one of few. What was seen before says nothing of it, since nobody asked. */
static void think_of_second(Weighing *weighing, const Hypothesis *mended, double weight, const Entry *done)
{
    const DiagnosisModel *model = weighing->model;
    const Appliance *appliance = model->appliance;
    const int fault = model->circuit.variants[mended->variants[0]].fault;
    for (int f = 0; f < appliance->fault_count; f++) {
        const double share = diagnosis__left_out_beside(model, fault, f);
        const bool is_new = appliance->parts[appliance->faults[f].part].replaced_with == done->part;
        if (share > 0 && !is_new) move_weight(weighing, 0, f, weight * share, 0);
    }
}

/* Where a second thermometer was clipped to is another bulb now: what that was off before is not expected
 * again.
 */
static void forget_sensor(Weighing *weighing, const Entry *done)
{
    const Appliance *appliance = weighing->model->appliance;
    const int sensing = appliance_find_part(appliance, appliance->description->regulation.senses);
    if (call_is_adjusted(done) || sensing < 0 || appliance->parts[sensing].replaced_with != done->part)
        return;
    for (int h = 0; weighing->pasts && h < weighing->model->hypothesis_count; h++) {
        Past *past = &weighing->pasts[h];
        past->own.of[SENSOR] = past->own.of[SENSOR_SWING] = NAN;
        past->inherited.of[SENSOR] = past->inherited.of[SENSOR_SWING] = NAN;
    }
}

bool diagnosis__repair(Weighing *weighing, const Entry *done)
{
    const DiagnosisModel *model = weighing->model;
    find_heaviest(weighing);
    forget_sensor(weighing, done);
    if (call_is_adjusted(done) && can_turn(model->appliance, done->part) &&
        has_range(&model->appliance->description->regulation) &&
        isfinite(measured_error(weighing->call, (int)(done - weighing->call->entries))))
        return turn_part(weighing, done);
    if (!call_is_adjusted(done) && weighing->pasts) forget_turns(weighing, done);
    for (int h = model->hypothesis_count - 1; h > 0; h--) { /* pairs first: what is left of them is single */
        int left;
        if (!cures(weighing, &model->hypotheses[h], done, &left)) continue;
        const double weight = weighing->weights[h] * (1 - REPAIR_FAILS);
        move_weight(weighing, h, left, weight, NAN);
        if (model->hypotheses[h].count == 1) think_of_second(weighing, &model->hypotheses[h], weight, done);
    }
    return true;
}
