/* safety.c: see safety.h; the rules there are numbered, the code here quotes the numbers.
 *
 * What a step needs follows from the check, the places on the way and the trail; nothing is remembered
 * besides, so striking an entry out takes back what it allowed. In doubt the answer is the careful one:
 * without an entry there is no proof, and a proof counts until the next live entry and not longer.
 *
 * Bad at: what nobody wrote down. A breaker that was switched back on without an entry leaves the proof
 * standing. */
#include "core/safety/safety.h"

#include <assert.h>

/* Only a meter's probes touch metal; a thermometer goes in and comes out of a cold oven. */
static bool touches_terminals(CheckKind kind)
{
    return kind == CHECK_OHM || kind == CHECK_VOLT || kind == CHECK_AMP;
}

/* A run and a spot temperature are taken on a hot oven, a control displays its settings with its power on. */
static bool is_live_entry(const Entry *entry)
{
    return (entry->kind == ENTRY_READING && entry->connection.power_on) ||
           (entry->kind == ENTRY_LOOK && entry->function >= 0) || entry->kind == ENTRY_RUN ||
           entry->kind == ENTRY_SPOT || entry->kind == ENTRY_SETTING;
}

/* S2: the acknowledgement stands until the power is on again. */
static bool is_proof_standing(const Call *call)
{
    bool stands = false;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_DEAD)
            stands = true;
        else if (is_live_entry(entry))
            stands = false;
    }
    return stands;
}

/* A place asks for what it needs itself, and for what those need that must be open before it. */
static void add_place(const Appliance *appliance, int place, SafetyNeeds *needs)
{
    const Description *description = appliance->description;
    /* A place lies behind at most all the others, so this ends. */
    for (int depth = 0; place >= 0 && depth < description->place_count; depth++) {
        assert(place < description->place_count);
        const DescribedPlace *described = &description->places[place];
        needs->needs_cool_oven |= described->needs_cool_oven;               /* S5 */
        needs->opens_dead |= needs->power_on && described->needs_power_off; /* S6 */
        place = description_place_before(description, place);
    }
}

SafetyNeeds safety_of_check(const Appliance *appliance, const Check *check, const Call *call)
{
    SafetyNeeds needs = {.power_on = check->power_on && check->kind != CHECK_OHM, /* S1 */
                         .any_power = check->kind == CHECK_ASK || check->kind == CHECK_STRIP};
    needs.is_live_work = needs.power_on && touches_terminals(check->kind); /* S3 */
    needs.needs_proof = !needs.power_on && touches_terminals(check->kind) && !is_proof_standing(call);
    for (int i = 0; i < 2; i++) add_place(appliance, check->places[i], &needs);
    return needs;
}

/* Nothing is ever replaced live, so a repair always asks for the proof. */
SafetyNeeds safety_of_repair(const Appliance *appliance, int part, const Call *call)
{
    SafetyNeeds needs = {.needs_proof = !is_proof_standing(call)};
    add_place(appliance, appliance->parts[part].place, &needs);
    return needs;
}

/* The warning of a fault: its mode's own, or what a lost conductor of the ground or of the neutral means.
 * Such a conductor is a way that bears the name of the mark. */
const char *safety_warning_key(const Appliance *appliance, const Fault *fault)
{
    const DescribedSupply *supply = &appliance->description->supply;
    if (fault->mode->effect == EFFECT_OPEN)
        for (int i = 0; i < fault->branch_count; i++) {
            const char *way = appliance->branches[fault->branches[i]].name;
            if (supply->frame && text_equal(way, supply->frame)) return "missing-ground";
            if (supply->neutral && supply->leg_count > 1 && text_equal(way, supply->neutral))
                return "open-neutral";
        }
    return fault->mode->warning;
}

/* A warning while faults are added to it. */
typedef struct {
    SafetyWarning warning;
    double prior, most; /* of all its faults together; of the most probable one */
} Adding;

/* The list stays as long as there are different keys. */
static int add_fault(Adding *list, int count, const char *key, double prior, double probability, int fault)
{
    int at = 0;
    while (at < count && !text_equal(list[at].warning.key, key)) at++;
    if (at == count) list[count++] = (Adding){.warning = {.key = key, .fault = fault}};
    list[at].warning.probability += probability;
    list[at].prior += prior;
    if (probability > list[at].most) {
        list[at].most = probability;
        list[at].warning.fault = fault;
    }
    return count;
}

/* What nobody has reason to fear more than before the visit is no warning: it would drown the others. */
static int keep_pressing(const Adding *list, int count, SafetyWarning *warnings)
{
    int kept = 0;
    for (int i = 0; i < count; i++) {
        const SafetyWarning *warning = &list[i].warning;
        if (warning->probability < SAFETY_WARN_FROM ||
            warning->probability < SAFETY_WARN_RAISED * list[i].prior)
            continue;
        int at = kept++;
        for (; at > 0 && warnings[at - 1].probability < warning->probability; at--)
            warnings[at] = warnings[at - 1];
        warnings[at] = *warning;
    }
    return kept;
}

bool safety_warnings(const Appliance *appliance, const double *fault_probability, Arena *arena,
                     const SafetyWarning **warnings, int *count, Error *error)
{
    Adding *list = ARENA_ARRAY(arena, Adding, (size_t)appliance->fault_count + 1);
    SafetyWarning *kept = ARENA_ARRAY(arena, SafetyWarning, (size_t)appliance->fault_count + 1);
    if (!list || !kept) return error_memory(error);
    int found = 0;
    for (int f = 0; f < appliance->fault_count; f++) {
        const Fault *fault = &appliance->faults[f];
        const char *key = safety_warning_key(appliance, fault);
        assert(fault_probability[f] >= 0);
        if (key) found = add_fault(list, found, key, fault->prior, fault_probability[f], f);
    }
    *warnings = kept;
    *count = keep_pressing(list, found, kept);
    return true;
}

/* Both are the same danger to a hand, so they count together; both at once count twice, on the safe side. */
bool safety_may_switch_on(const SafetyWarning *warnings, int count)
{
    double danger = 0;
    for (int w = 0; w < count; w++)
        if (text_equal(warnings[w].key, "frame-leakage") || text_equal(warnings[w].key, "missing-ground"))
            danger += warnings[w].probability;
    assert(danger >= 0);
    return danger < SAFETY_BAR_FROM;
}
