/* doubt.c: which entry is made once more before anything rests on it, and whether a part rests on any at all.
 *
 * One that contradicts the others (core/diagnosis finds it), before all else; and one that a part to be
 * bought rests on, where the part in vain and its proof, times the chance that the entry was a slip, are
 * dearer than to look or read again. Never a run: a repeat costs a minute, a slip a part. What has been made
 * twice is not asked for a third time. */
#include <math.h>

#include "core/plan/plan_private.h"

/* Times likelier with the part broken than with a sound oven: by one entry, by all, or by one than with
 * anything else. */
static const double DECISIVE = 10, WITNESS = 3;
static const double LEAST_FACTOR = 1e-9, MOST_FACTOR = 1e9, ALL_BUT_ONE = 1 - 1e-12; /* keep odds finite */

static bool is_same_entry(const LookWord *looks, const Entry *a, const Entry *b)
{
    if (a->kind != b->kind || a->is_struck || b->is_struck) return false;
    if (a->is_glance || b->is_glance) return a->is_glance && b->is_glance && a->place == b->place;
    if (a->kind == ENTRY_LOOK)
        return a->part == b->part && a->function == b->function &&
               looks[a->words[0]].way == looks[b->words[0]].way;
    if (a->kind != ENTRY_READING) return false;
    const Connection *c = &a->connection, *d = &b->connection;
    return c->kind == d->kind && c->from == d->from && c->to == d->to && c->function == d->function &&
           c->power_on == d->power_on && c->lift_count == d->lift_count && c->unplug_count == d->unplug_count;
}

static bool may_be_repeated(const Planning *planning, int number)
{
    const Call *call = planning->standing->call;
    const Entry *entry = &call->entries[number];
    if (entry->is_struck || (entry->kind != ENTRY_READING && entry->kind != ENTRY_LOOK)) return false;
    for (int e = 0; e < call->entry_count; e++)
        if (e != number &&
            is_same_entry(planning->model->appliance->catalogue->looks, entry, &call->entries[e]))
            return false;
    return planning->may_switch_on || !plan__repeat(planning, number, 0).needs.power_on;
}

/* The earliest entry in doubt that has not been made once more already; -1. A repeat that the frame bars
 * waits (S7). */
int plan__find_doubtful(const Planning *planning)
{
    const Standing *standing = planning->standing;
    for (int c = 0; c < standing->contradiction_count; c++)
        if (may_be_repeated(planning, standing->contradictions[c].entry))
            return standing->contradictions[c].entry;
    return -1;
}

static const Suspect *find_suspect(const Planning *planning, int part)
{
    const Standing *standing = planning->standing;
    const Appliance *appliance = planning->model->appliance;
    for (int s = 0; s < standing->suspect_count; s++) {
        const HypothesisGroup *group = &planning->model->groups[standing->suspects[s].group];
        for (int i = 0; i < group->count; i++)
            if (appliance->parts[appliance->faults[group->faults[i]].part].replaced_with == part)
                return &standing->suspects[s];
    }
    return NULL;
}

/* Probability before an entry that made it so many times likelier. */
static double before(double probability, double factor)
{
    const double capped = fmin(fmax(factor, LEAST_FACTOR), MOST_FACTOR);
    return probability / (probability + (1 - probability) * capped);
}

/* What the technician read, saw or logged since a part was last mended that speaks for it being broken rather
 * than for a sound oven: all together, and the reading or look that does most. */
typedef struct {
    double times, most;
} Witnesses;

static bool is_mended_by(const Planning *planning, const Entry *entry, int part)
{
    return entry->kind == ENTRY_REPAIR && !entry->is_struck &&
           planning->model->appliance->parts[entry->part].replaced_with == part;
}

/* Back through the entries, each by how much it moved the two against each other; what excluded a rival has
 * moved neither. */
static Witnesses weigh_witnesses(const Planning *planning, const Suspect *suspect, int part)
{
    const Standing *standing = planning->standing;
    const Suspect *sound = &standing->nothing_wrong;
    Witnesses all = {.times = 1, .most = 0};
    double broken = fmin(suspect->probability, ALL_BUT_ONE),
           right = fmax(sound->probability, 1 - ALL_BUT_ONE);
    for (int e = standing->call->entry_count - 1; e >= 0; e--) {
        const Entry *entry = &standing->call->entries[e];
        if (is_mended_by(planning, entry, part)) break;
        const double then = before(broken, suspect->factors[e]),
                     sound_then = before(right, sound->factors[e]);
        const double times = broken * sound_then / (then * right);
        if (entry->kind != ENTRY_COMPLAINT && entry->kind != ENTRY_ASKED) all.times *= times;
        if (entry->kind == ENTRY_READING || entry->kind == ENTRY_LOOK) all.most = fmax(all.most, times);
        broken = then;
        right = sound_then;
    }
    return all;
}

/* The owner's words alone sell no part. */
bool plan__is_witnessed(const Planning *planning, int part)
{
    const Suspect *suspect = find_suspect(planning, part);
    return suspect && weigh_witnesses(planning, suspect, part).times >= WITNESS;
}

/* By a reading or a look since it was last mended. */
bool plan__is_seen_broken(const Planning *planning, int part)
{
    const Suspect *suspect = find_suspect(planning, part);
    return suspect && weigh_witnesses(planning, suspect, part).most >= DECISIVE;
}

/* Measured twice, sold once: of the readings and looks that a part to be bought rests on, and that nobody has
 * made once more, the one whose chance to be a slip costs most beyond what the repeat does; -1. In vain would
 * be the part, its fitting and its proof. */
int plan__find_decisive(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return -1;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    const Suspect *suspect = find_suspect(planning, remedy->part);
    if (remedy->is_adjustment || remedy->price_minor == 0 || !suspect) return -1;
    const Call *call = planning->standing->call;
    const double spent = (double)remedy->price_minor + plan__labour(planning->terms, remedy->second) +
                         planning->problem.proving.cost;
    double most = 0;
    int decisive = -1;
    for (int e = call->entry_count - 1; e >= 0; e--) {
        if (is_mended_by(planning, &call->entries[e], remedy->part)) break;
        if (suspect->factors[e] < WITNESS || !may_be_repeated(planning, e)) continue;
        const double saved =
            planning->standing->slip[e] * spent - (double)plan__repeat(planning, e, 0).cost_minor;
        if (saved <= most) continue;
        most = saved;
        decisive = e;
    }
    return decisive;
}
