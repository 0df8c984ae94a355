/* seen.c: what was seen or read before, when somebody looks or reads again.
 *
 * A mark stays where it is: who looks at a part twice sees the same twice, whatever is wrong with it. So does
 * who reads twice between the same marks: the parts have the resistance that they have, the meter is off by
 * what it is off. A second look or reading is therefore no second witness; it tells whether the first was a
 * slip.
 *
 *   likelihood(again | before) = (1 - s) * (the same, or a slip now) + s * likelihood(again alone)
 *
 * where s is the chance, under the hypothesis, that the one before was a slip; of several before that said
 * the same, that all of them were. That holds for close looks at a part, paper in the door and looks over one
 * place, until the part is mended; for readings until something is mended that would have moved them. What a
 * look over a place tells of a part that was also looked at closely is in glance.c. Not here: what is seen of
 * a part that is on (watch.c), which goes off and on between two looks.
 *
 * Numbers in capitals are common practice, no source.
 *
 * Bad at: three looks of which the second was the slip. Each is held against the last that said the same.
 * And at contacts that close well once and badly the next time: there the second reading is a witness. */
#include <assert.h>
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"

static const double DRIFT_RATIO = 0.01; /* of a reading: mains that rise and fall, parts that cool */
static const double SAME_SPREADS = 3;   /* two readings within this are one */
static const double UNTOLD_SHARE = 0.1; /* of a spread: what nobody can tell apart */

/* Does the door gap for a fault of this part, or of what is replaced with it? */
static bool can_gap(const Appliance *appliance, int part)
{
    for (int f = 0; f < appliance->fault_count; f++) {
        const Fault *fault = &appliance->faults[f];
        if ((fault->part == part || appliance->parts[fault->part].replaced_with == part) &&
            fault->mode->condition[CONDITION_DOOR_GAPS] > 0)
            return true;
    }
    return false;
}

/* A mark went with the part, or was put right. A door that gaps does so for its hinges, its gasket or its
 * lock, whichever of them was mended. */
static bool is_renewed(const DiagnosisModel *model, const Entry *entry, int part, LookWay way)
{
    if (entry->kind != ENTRY_REPAIR || part < 0) return false;
    if (way == LOOK_STRIP && can_gap(model->appliance, entry->part)) return true;
    return entry->part == part ||
           (!call_is_adjusted(entry) && model->appliance->parts[part].replaced_with == entry->part);
}

static bool is_look(const DiagnosisModel *model, const Entry *entry, int part, LookWay way)
{
    return entry->kind == ENTRY_LOOK && entry->part == part && !entry->is_glance &&
           model->appliance->catalogue->looks[entry->words[0]].way == way;
}

static void take_up(const Entry *entry, SeenBefore *seen)
{
    const bool is_same =
        seen->entry && seen->entry->part == entry->part && seen->entry->words[0] == entry->words[0];
    *seen = (SeenBefore){entry, is_same ? seen->times + 1 : 1};
}

SeenBefore diagnosis__looked_before(const DiagnosisModel *model, const Call *call, int until, int part,
                                    LookWay way)
{
    SeenBefore seen = {NULL, 0};
    assert(until >= 0 && until <= call->entry_count);
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (is_renewed(model, entry, part, way)) seen = (SeenBefore){NULL, 0};
        if (is_look(model, entry, part, way)) take_up(entry, &seen);
    }
    return seen;
}

const Entry *diagnosis__looked_after(const DiagnosisModel *model, const Call *call, int from, int part)
{
    assert(from >= 0);
    for (int e = from; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (is_renewed(model, entry, part, LOOK_CLOSE)) return NULL;
        if (is_look(model, entry, part, LOOK_CLOSE)) return entry;
    }
    return NULL;
}

SeenBefore diagnosis__glanced_before(const DiagnosisModel *model, const Call *call, int until, int place,
                                     int part)
{
    SeenBefore seen = {NULL, 0};
    assert(until >= 0 && until <= call->entry_count);
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (seen.entry && is_renewed(model, entry, part >= 0 ? part : seen.entry->part, LOOK_CLOSE))
            seen = (SeenBefore){NULL, 0};
        if (entry->kind == ENTRY_LOOK && entry->is_glance && entry->place == place) take_up(entry, &seen);
    }
    return seen;
}

double diagnosis__shown(const Entry *reading)
{
    return reading->value.is_over ? INFINITY : reading->value.value;
}

/* What the meter shows when the same is read once more: but for its last digits, the touch of its probes and
 * what drifts meanwhile. Two counts of the same width, each flat, differ by a triangle's (GUM 4.3.9). */
Display diagnosis__same_display(const DiagnosisModel *model, ReadingKind kind, double shown)
{
    const MeterMode mode = diagnosis__mode(kind);
    if (isinf(shown)) return (Display){.low = INFINITY, .high = INFINITY};
    const double counts =
        model->meter.dial[mode].accuracy.counts * meter_resolution(&model->meter, mode, shown);
    const double parts[] = {counts * sqrt(2.0 / 3), DRIFT_RATIO * shown, diagnosis__least_spread(kind)};
    const double spread = meter_combine(parts, 3);
    return (Display){shown, shown, spread, spread};
}

/* Both OL, or nearer than the meter would tell. */
static bool differ(double a, double b, double spread)
{
    return isinf(a) || isinf(b) ? isinf(a) != isinf(b) : fabs(a - b) > UNTOLD_SHARE * spread;
}

/* Would any fault of the part, or of what is replaced with it, move what this check shows? */
static bool moves_display(DiagnosisModel *model, int check, int part)
{
    const Appliance *appliance = model->appliance;
    const MeterOn *on = &model->check_meters[check];
    const Display sound = diagnosis__display(model, on, &model->hypotheses[0]);
    for (int f = 0; f < appliance->fault_count; f++) {
        const int at = appliance->faults[f].part;
        if (at != part && appliance->parts[at].replaced_with != part) continue;
        const HypothesisGroup *group = &model->groups[1 + f];
        for (int s = 0; s < group->hypothesis_count; s++) {
            const Display moved =
                diagnosis__display(model, on, &model->hypotheses[group->first_hypothesis + s]);
            if (differ(moved.low, sound.low, sound.low_spread) ||
                differ(moved.high, sound.high, sound.high_spread))
                return true;
        }
    }
    return false;
}

/* Is what was read before still there to be read? */
static bool still_stands(DiagnosisModel *model, const Call *call, int from, int until, int check)
{
    for (int e = from; e < until; e++)
        if (call->entries[e].kind == ENTRY_REPAIR && !call->entries[e].is_struck &&
            moves_display(model, check, call->entries[e].part))
            return false;
    return true;
}

SeenBefore diagnosis__read_before(DiagnosisModel *model, const Call *call, int until, int check)
{
    SeenBefore seen = {NULL, 0};
    assert(until >= 0 && until <= call->entry_count);
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->kind != ENTRY_READING || entry->is_struck || !diagnosis_is_check(model, entry, check) ||
            !still_stands(model, call, e, until, check))
            continue;
        const Display same = diagnosis__same_display(model, entry->connection.kind, diagnosis__shown(entry));
        const double before = seen.entry ? diagnosis__shown(seen.entry) : NAN;
        const bool is_same =
            isinf(same.low) ? isinf(before) != 0 : fabs(before - same.low) <= SAME_SPREADS * same.low_spread;
        seen = (SeenBefore){entry, is_same ? seen.times + 1 : 1};
    }
    return seen;
}

/* Odds that one was a slip; each further one that said the same makes them less by what a slip has of what is
 * said then. */
static double all_slipped(Likelihood before, int times, Again again)
{
    assert(times > 0 && before.all > 0 && before.slip >= 0 && before.slip <= before.all);
    double slips = before.slip;
    for (int i = 1; i < times; i++) slips *= before.slip / ((1 - again.slip) * again.before + before.slip);
    return slips / (before.all - before.slip + slips);
}

Likelihood diagnosis__seen_again(Likelihood before, int times, Likelihood now, Again again)
{
    const double slipped = all_slipped(before, times, again);
    assert(now.slip >= 0 && now.slip <= now.all && again.now >= 0);
    return (Likelihood){(1 - slipped) * ((1 - again.slip) * again.now + now.slip) + slipped * now.all,
                        now.slip};
}
