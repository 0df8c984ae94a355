/* remedy.c: what can be done about each fault: a new part, or an adjustment.
 *
 * Faults are cured together when the same new part cures them, and the same adjustment or none: for the
 * planner they are one component. Components that are next to impossible now are taken together as the rare
 * one, which is mended at a flat price and never proposed.
 *
 * Invariants: (1) every fault is in one component, harmless or rare; (2) a component has one or two remedies,
 * the new part and perhaps the adjustment. */
#include <assert.h>

#include "core/plan/plan_private.h"

static const double RARE = 3e-5; /* probability below which a component is among the rare */
/* A wire has no entry of its own in the file: making a new one takes this long. Common practice, no source.
 */
static const double REWIRE_SECOND = 900;

typedef struct {
    int bought, adjusted; /* parts; -1: no adjustment helps */
    int likeliest;        /* hypothesis of one fault, of the likeliest fault */
    double second;        /* of the adjustment */
    double mass, most;
} Component;

/* A fault that an adjustment cures is two cases: within the reach of the control or its screw, and beyond. */
static int case_of(const Standing *standing, int hypothesis, int i)
{
    const DiagnosisModel *model = standing->model;
    const HypothesisGroup *group = &model->groups[model->hypotheses[hypothesis].group];
    return 2 * group->faults[i] + !diagnosis_is_within_reach(model, standing->call,
                                                             standing->call->entry_count,
                                                             &model->hypotheses[hypothesis], i);
}

/* What only the owner can mend is explained to them when the call is closed: the oven is within its
 * specification. */
bool plan__is_harmless(const Appliance *appliance, int fault)
{
    const Fault *described = &appliance->faults[fault];
    const Part *part = &appliance->parts[described->part];
    return described->mode->effect == EFFECT_MISREAD ||
           (described->mode->effect == EFFECT_NONE && described->mode->adjust_second > 0 && part->described &&
            part->described->price_minor == 0);
}

bool plan__is_at_hand(const PlanTerms *terms, const Part *part)
{
    if (!terms->stock) return true;
    for (int i = 0; i < terms->stock_count; i++)
        if (text_equal(terms->stock[i], part->name)) return true;
    return !part->described || part->described->price_minor == 0; /* wire and screws are always there */
}

/* What is set at the keypad, or explained to the owner, needs no hands in the oven. */
int plan__adjusting_place(const Appliance *appliance, int part)
{
    const Part *adjusted = &appliance->parts[part];
    for (int f = adjusted->first_fault; f < adjusted->first_fault + adjusted->fault_count; f++)
        if (appliance->faults[f].mode->setting) return -1;
    return adjusted->seen_from;
}

static int find_component(const Appliance *appliance, int number, Component *list, int *count)
{
    const int part = appliance->faults[number / 2].part;
    const double second = number % 2 ? 0 : appliance->faults[number / 2].mode->adjust_second;
    const int bought = appliance->parts[part].replaced_with, adjusted = second > 0 ? part : -1;
    int at = 0;
    while (at < *count && (list[at].bought != bought || list[at].adjusted != adjusted)) at++;
    if (at == *count) list[(*count)++] = (Component){.bought = bought, .adjusted = adjusted, .likeliest = -1};
    if (second > list[at].second) list[at].second = second;
    return at;
}

/* Probability of each case, alone or in a pair. */
static void sum_cases(const Standing *standing, double *mass)
{
    const DiagnosisModel *model = standing->model;
    for (int h = 1; h < model->hypothesis_count; h++)
        for (int i = 0; i < model->hypotheses[h].count; i++)
            mass[case_of(standing, h, i)] += standing->probability[h];
}

static Remedy *find_remedy(Remedies *remedies, int part, bool is_adjustment)
{
    for (int r = 0; r < remedies->remedy_count; r++)
        if (remedies->remedies[r].part == part && remedies->remedies[r].is_adjustment == is_adjustment)
            return &remedies->remedies[r];
    assert(remedies->remedy_count < PLAN_MOST_REMEDIES);
    Remedy *remedy = &remedies->remedies[remedies->remedy_count++];
    *remedy = (Remedy){.part = part, .is_adjustment = is_adjustment, .proof = -1};
    return remedy;
}

static void add_remedies(const Appliance *appliance, const Component *component, int bit, Remedies *remedies)
{
    const Part *part = &appliance->parts[component->bought];
    Remedy *replace = find_remedy(remedies, component->bought, false);
    replace->second = part->described && part->described->replace_second > 0 ? part->described->replace_second
                                                                             : REWIRE_SECOND;
    replace->price_minor = part->described ? part->described->price_minor : 0;
    replace->cures |= (uint64_t)1 << bit;
    if (component->adjusted < 0) return;
    Remedy *adjust = find_remedy(remedies, component->adjusted, true);
    if (component->second > adjust->second) adjust->second = component->second;
    adjust->cures |= (uint64_t)1 << bit;
}

/* The heaviest components get bits, heaviest first; of equals the first of the list. */
static void keep_heaviest(const Appliance *appliance, Component *list, int count, int *bits,
                          Remedies *remedies)
{
    for (int i = 0; i < count; i++) bits[i] = PLAN_RARE;
    while (remedies->component_count < PLAN_KEPT_COMPONENTS) {
        int best = -1;
        for (int i = 0; i < count; i++)
            if (bits[i] == PLAN_RARE && list[i].mass > RARE && (best < 0 || list[i].mass > list[best].mass))
                best = i;
        if (best < 0) return;
        bits[best] = remedies->component_count++;
        remedies->likeliest[bits[best]] = list[best].likeliest;
        add_remedies(appliance, &list[best], bits[best], remedies);
    }
}

/* Of each component the single hypothesis of its likeliest case. */
static void find_likeliest(const Standing *standing, const int *in, const double *mass, Component *list)
{
    const DiagnosisModel *model = standing->model;
    for (int h = 1; h < model->hypothesis_count && model->hypotheses[h].count == 1; h++) {
        const int number = case_of(standing, h, 0);
        Component *component = &list[in[number]];
        if (component->likeliest >= 0 && mass[number] <= component->most) continue;
        component->most = mass[number];
        component->likeliest = h;
    }
    for (int n = 0; n < 2 * model->appliance->fault_count;
         n++) { /* a case of pairs only: the middle of its fault */
        const HypothesisGroup *group = &model->groups[1 + n / 2];
        if (list[in[n]].likeliest < 0)
            list[in[n]].likeliest = group->first_hypothesis + group->hypothesis_count / 2;
    }
}

/* What was mended on this visit stays in view, however surely it is cured: its proof must be known. */
static void keep_mended(const Standing *standing, int count, Component *list)
{
    const Appliance *appliance = standing->model->appliance;
    for (int e = 0; e < standing->call->entry_count; e++) {
        const Entry *entry = &standing->call->entries[e];
        if (entry->kind != ENTRY_REPAIR || entry->is_struck) continue;
        const bool is_adjusted = call_is_adjusted(entry);
        for (int i = 0; i < count; i++)
            if (is_adjusted ? list[i].adjusted == entry->part
                            : list[i].bought == appliance->parts[entry->part].replaced_with)
                list[i].mass += 1;
    }
}

bool plan__find_remedies(const Standing *standing, Arena *arena, Remedies *remedies, Error *error)
{
    const Appliance *appliance = standing->model->appliance;
    const size_t cases = 2 * (size_t)appliance->fault_count + 2;
    double *mass = ARENA_ARRAY(arena, double, cases);
    int *in = ARENA_ARRAY(arena, int, cases), *bits = ARENA_ARRAY(arena, int, cases);
    Component *list = ARENA_ARRAY(arena, Component, cases);
    *remedies = (Remedies){.component_of = ARENA_ARRAY(arena, int, cases)};
    if (!mass || !in || !bits || !list || !remedies->component_of) return error_memory(error);
    int count = 0;
    sum_cases(standing, mass);
    for (int n = 0; n < 2 * appliance->fault_count; n++) {
        in[n] = find_component(appliance, n, list, &count);
        if (!plan__is_harmless(appliance, n / 2)) list[in[n]].mass += mass[n];
    }
    find_likeliest(standing, in, mass, list);
    keep_mended(standing, count, list);
    keep_heaviest(appliance, list, count, bits, remedies);
    for (int n = 0; n < 2 * appliance->fault_count; n++)
        remedies->component_of[n] = plan__is_harmless(appliance, n / 2) ? PLAN_HARMLESS : bits[in[n]];
    return true;
}

uint64_t plan__broken(const Standing *standing, const Remedies *remedies, int hypothesis)
{
    const DiagnosisModel *model = standing->model;
    uint64_t broken = 0;
    for (int i = 0; i < model->hypotheses[hypothesis].count; i++) {
        const int component = remedies->component_of[case_of(standing, hypothesis, i)];
        if (component == PLAN_HARMLESS) continue;
        broken |= (uint64_t)1 << (component == PLAN_RARE ? remedies->component_count : component);
    }
    return broken;
}
