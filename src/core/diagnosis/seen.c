/* seen.c: what was seen before, when somebody looks again.
 *
 * A mark stays where it is: who looks at a part twice sees the same twice, whatever is wrong with it. A
 * second look is therefore no second witness; it tells whether the first was a slip.
 *
 *   likelihood(again | before) = (1 - s) * (the same, or a slip now) + s * likelihood(again alone)
 *
 * where s is the chance, under the hypothesis, that the look before was a slip. That holds for two close
 * looks at a part and for two looks over one place, until the part is mended. What a look over a place tells
 * of a part that was also looked at closely is in glance.c. Not here: what is seen of a part that is on
 * (watch.c), which goes off and on between two looks.
 *
 * Bad at: three looks of which the second was the slip. Each is held against the last one only. */
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

const Entry *diagnosis__looked_before(const DiagnosisModel *model, const Call *call, int until, int part)
{
    const Entry *last = NULL;
    assert(until >= 0 && until <= call->entry_count);
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (is_renewed(model, entry, part)) last = NULL;
        if (is_close_look(model, entry, part)) last = entry;
    }
    return last;
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

const Entry *diagnosis__glanced_before(const DiagnosisModel *model, const Call *call, int until, int place,
                                       int part)
{
    const Entry *last = NULL;
    assert(until >= 0 && until <= call->entry_count);
    for (int e = 0; e < until; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (last && is_renewed(model, entry, part >= 0 ? part : last->part)) last = NULL;
        if (entry->kind == ENTRY_LOOK && entry->is_glance && entry->place == place) last = entry;
    }
    return last;
}

Likelihood diagnosis__seen_again(Likelihood before, Likelihood now, bool is_same)
{
    assert(before.all > 0 && before.slip >= 0 && before.slip <= before.all);
    assert(now.slip >= 0 && now.slip <= now.all);
    const double slipped = before.slip / before.all,
                 again = (is_same ? 1 - DIAGNOSIS_LOOK_SLIP : 0) + now.slip;
    return (Likelihood){(1 - slipped) * again + slipped * now.all, now.slip};
}
