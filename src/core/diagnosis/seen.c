/* seen.c: what was seen before, when somebody looks again.
 *
 * A mark stays where it is: who looks at a part twice sees the same twice, whatever is wrong with it. A
 * second look is therefore no second witness; it tells whether the first was a slip.
 *
 *   likelihood(again | before) = (1 - s) * (the same, or a slip now) + s * likelihood(again alone)
 *
 * where s is the chance, under the hypothesis, that the look before was a slip; of several before that said
 * the same, that all of them were. That holds for close looks at a part and for looks over one place, until
 * the part is mended. What a look over a place tells of a part that was also looked at closely is in
 * glance.c. Not here: what is seen of a part that is on (watch.c), which goes off and on between two looks.
 *
 * Bad at: three looks of which the second was the slip. Each is held against the last that said the same. */
#include <assert.h>

#include "core/diagnosis/diagnosis_private.h"

/* A mark went with the part, or was put right. */
static bool is_renewed(const DiagnosisModel *model, const Entry *entry, int part)
{
    if (entry->kind != ENTRY_REPAIR || part < 0) return false;
    return entry->part == part ||
           (!call_is_adjusted(entry) && model->appliance->parts[part].replaced_with == entry->part);
}

static bool is_close_look(const DiagnosisModel *model, const Entry *entry, int part)
{
    return entry->kind == ENTRY_LOOK && entry->part == part && !entry->is_glance &&
           !model->appliance->catalogue->looks[entry->words[0]].is_power;
}

static void take_up(const Entry *entry, SeenBefore *seen)
{
    const bool is_same =
        seen->entry && seen->entry->part == entry->part && seen->entry->words[0] == entry->words[0];
    *seen = (SeenBefore){entry, is_same ? seen->times + 1 : 1};
}

SeenBefore diagnosis__looked_before(const DiagnosisModel *model, const Call *call, int until, int part)
{
    SeenBefore seen = {NULL, 0};
    assert(until >= 0 && until <= call->entry_count);
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (is_renewed(model, entry, part)) seen = (SeenBefore){NULL, 0};
        if (is_close_look(model, entry, part)) take_up(entry, &seen);
    }
    return seen;
}

const Entry *diagnosis__looked_after(const DiagnosisModel *model, const Call *call, int from, int part)
{
    assert(from >= 0);
    for (int e = from; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (is_renewed(model, entry, part)) return NULL;
        if (is_close_look(model, entry, part)) return entry;
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
        if (seen.entry && is_renewed(model, entry, part >= 0 ? part : seen.entry->part))
            seen = (SeenBefore){NULL, 0};
        if (entry->kind == ENTRY_LOOK && entry->is_glance && entry->place == place) take_up(entry, &seen);
    }
    return seen;
}

/* Odds that one look was a slip; each further one that said the same makes them less by what a slip has of
 * what is said then. */
Likelihood diagnosis__seen_again(Likelihood before, int times, Likelihood now, bool is_same)
{
    assert(times > 0 && before.all > 0 && before.slip >= 0 && before.slip <= before.all);
    assert(now.slip >= 0 && now.slip <= now.all);
    double slips = before.slip;
    for (int i = 1; i < times; i++) slips *= before.slip / (1 - DIAGNOSIS_LOOK_SLIP + before.slip);
    const double slipped = slips / (before.all - before.slip + slips),
                 again = (is_same ? 1 - DIAGNOSIS_LOOK_SLIP : 0) + now.slip;
    return (Likelihood){(1 - slipped) * again + slipped * now.all, now.slip};
}
