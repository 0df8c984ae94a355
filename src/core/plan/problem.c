/* problem.c: the standing as a problem of decision: causes, tests, remedies, the way things are.
 *
 *   hypotheses (thousands) --> causes: the 60 likeliest one by one, all others as the mean of their class
 *   checks (hundreds)      --> tests:  the 20 that tell most for their minutes, on the spot or on the way
 *   outcomes (up to 16)    --> at most five for each test
 *
 * The first is causes.c's work, the others tests.c's. Here: places and what they need, repairs and their
 * prices, where the technician stands and what phase the call is in. */
#include "core/plan/plan_private.h"

#include <assert.h>
#include <math.h>

static const double SURE_TO_FAIL = 0.1;    /* chance of the run to be right, below which it is not made */
static const double SOUND_AFTER_ALL = 0.7; /* that nothing is wrong, after a run that was not right */
static const double RARE_SECOND = 3600;    /* to find and mend something rare; common practice, no source */
static const double RARE_MINOR = 8000;     /* its part */

double plan__labour(const PlanTerms *terms, double second)
{
    return second / 3600 * (double)terms->labour_minor_per_hour;
}

/* ---- places and needs */

/* Places that take no minutes have no bit; neither have those beyond what a setup can hold, and what is there
 * pays its way each time. */
static void make_places(Planning *planning)
{
    const Description *description = planning->model->appliance->description;
    int *bits = planning->bit_of_place, count = 0;
    for (int p = 0; p < description->place_count; p++) {
        const DescribedPlace *place = &description->places[p];
        bits[p] = -1;
        if (place->open_second <= 0 && place->close_second <= 0) continue;
        if (count == DECISION_MOST_PLACES) continue;
        planning->places[count] =
            (DecisionPlace){.open_cost = plan__labour(planning->terms, place->open_second),
                            .close_cost = plan__labour(planning->terms, place->close_second),
                            .behind = -1,
                            .needs_off = place->needs_power_off,
                            .needs_cool = place->needs_cool_oven};
        bits[p] = count++;
    }
    for (int p = 0; p < description->place_count; p++) {
        const int before = description_place_before(description, p);
        if (bits[p] >= 0 && before >= 0) planning->places[bits[p]].behind = bits[before];
    }
    planning->problem.place_count = count;
}

static unsigned open_bit(const Planning *planning, int place)
{
    return place >= 0 && planning->bit_of_place[place] >= 0 ? 1u << planning->bit_of_place[place] : 0;
}

/* Hands and eyes in a place that is opened dead work dead, and so does everybody while the frame may be live
 * (safety, S6 and S7). */
DecisionPower plan__power_for_hands(const Planning *planning, int place)
{
    const Description *description = planning->model->appliance->description;
    bool is_dead = !planning->may_switch_on;
    for (int depth = 0; place >= 0 && depth < description->place_count; depth++) {
        is_dead |= description->places[place].needs_power_off;
        place = description_place_before(description, place);
    }
    return is_dead ? DECISION_POWER_OFF : DECISION_POWER_ANY;
}

DecisionNeeds plan__needs_of_check(const Planning *planning, const Check *check)
{
    const SafetyNeeds needs = safety_of_check(planning->model->appliance, check, planning->standing->call);
    DecisionNeeds found = {.needs_cool = needs.needs_cool_oven};
    found.open = open_bit(planning, check->places[0]) | open_bit(planning, check->places[1]);
    if (check->kind == CHECK_RUN || check->kind == CHECK_SPOT)
        return (DecisionNeeds){.closes_all = true, .power = DECISION_POWER_ON, .heats = true};
    if (needs.any_power) return found;
    found.power = DECISION_POWER_ON;
    if (needs.power_on) return found;
    for (int i = 0; i < 2 && found.power != DECISION_POWER_OFF; i++)
        found.power = plan__power_for_hands(planning, check->places[i]);
    if (check->kind == CHECK_OHM) found.power = DECISION_POWER_OFF;
    return found;
}

/* ---- remedies */

/* What is set at the keypad or explained needs nothing open; other adjustments are made where the part is
 * seen; a part is replaced dead. */
static DecisionNeeds needs_of_remedy(const Planning *planning, const Remedy *remedy)
{
    const Appliance *appliance = planning->model->appliance;
    const Part *part = &appliance->parts[remedy->part];
    if (!remedy->is_adjustment)
        return (DecisionNeeds){.open = open_bit(planning, part->place), .power = DECISION_POWER_OFF};
    const int place = plan__adjusting_place(appliance, remedy->part);
    return (DecisionNeeds){.open = open_bit(planning, place),
                           .power = plan__power_for_hands(planning, place)};
}

static double cost_of_remedy(const Planning *planning, const Remedy *remedy)
{
    const PlanTerms *terms = planning->terms;
    double cost = plan__labour(terms, remedy->second) + (double)remedy->price_minor;
    if (!remedy->is_adjustment && !plan__is_at_hand(terms, &planning->model->appliance->parts[remedy->part]))
        cost += (double)terms->second_visit_minor;
    return cost;
}

/* The last one stands for mending whatever is rare. */
static void make_repairs(Planning *planning)
{
    const Remedies *remedies = &planning->remedies;
    for (int r = 0; r < remedies->remedy_count; r++)
        planning->repairs[r] = (DecisionRepair){.cost = cost_of_remedy(planning, &remedies->remedies[r]),
                                                .needs = needs_of_remedy(planning, &remedies->remedies[r]),
                                                .cures = remedies->remedies[r].cures,
                                                .is_plain = remedies->remedies[r].proof >= 0};
    assert(remedies->remedy_count < PLAN_MOST_REMEDIES);
    planning->repairs[remedies->remedy_count] =
        (DecisionRepair){.cost = plan__labour(planning->terms, RARE_SECOND) + RARE_MINOR,
                         .needs = {.power = DECISION_POWER_OFF},
                         .cures = plan__bit(remedies->component_count)};
    planning->problem.repair_count = remedies->remedy_count + 1;
}

/* Whoever takes over has to buy the parts, too: the expected price of the cheapest ones. Without it a dear
 * part that is all but certain would be handed over rather than replaced. */
static double parts_to_come(const Planning *planning)
{
    const Remedies *remedies = &planning->remedies;
    double sum = 0;
    for (int i = 0; i <= remedies->component_count; i++) {
        double price = i < remedies->component_count ? INFINITY : RARE_MINOR;
        for (int r = 0; r < remedies->remedy_count; r++)
            if (remedies->remedies[r].cures & plan__bit(i))
                price = fmin(price, (double)remedies->remedies[r].price_minor);
        for (int c = 0; c < planning->cause_count; c++)
            if (planning->broken[c] & plan__bit(i)) sum += planning->belief[c] * price;
    }
    return sum;
}

/* Is a run since the last repair more probably a slip than not? */
static bool is_doubted(const Planning *planning)
{
    const Standing *standing = planning->standing;
    for (int c = 0; c < standing->contradiction_count; c++)
        if (standing->call->entries[standing->contradictions[c].entry].kind == ENTRY_RUN) return true;
    return false;
}

double plan__chance_to_pass(const Planning *planning, int cause)
{
    assert(planning->problem.passes == 1 && cause >= 0 && cause < planning->cause_count);
    return planning->problem.proving.chance[cause];
}

static void make_state(Planning *planning)
{
    const Situation *situation = &planning->situation;
    unsigned open = 0;
    double pass = 0;
    for (int p = 0; p < planning->model->appliance->description->place_count; p++)
        if (situation->is_open[p]) open |= open_bit(planning, p);
    for (int c = 0; c < planning->cause_count; c++)
        pass += planning->belief[c] * plan__chance_to_pass(planning, c);
    planning->state = (DecisionState){
        .belief = planning->belief,
        .setup = decision_setup(&planning->problem, open, situation->power_on, situation->is_hot),
        .phase = plan__phase_of_plain(planning)};
    planning->proof_to_come = planning->plain_proof;
    /* what was mended is seen not to work, and no run is needed to say so */
    if (planning->state.phase == DECISION_REPAIRED && pass < SURE_TO_FAIL)
        planning->state.phase = DECISION_FAILED;
    /* the run was odd, and yet all speaks for a sound oven: if it was no slip, this oven is that way, and
     * will be tomorrow; else it may be made once more, and is then believed */
    if (situation->phase == DECISION_FAILED && planning->class_mass[0] >= SOUND_AFTER_ALL)
        planning->state.phase =
            situation->runs > 1 || !is_doubted(planning) ? DECISION_PROVED : DECISION_FRESH;
    if (!planning->may_switch_on && situation->phase != DECISION_PROVED)
        planning->state.phase = DECISION_FAILED; /* safety, S7: no run before something is mended */
}

static bool make_problem(Planning *planning, int questions, Error *error)
{
    const PlanTerms *terms = planning->terms;
    if (!plan__find_field(planning->standing, planning->arena, &planning->field, error) ||
        !plan__find_remedies(planning->standing, planning->arena, &planning->remedies, error) ||
        !plan__make_classes(planning, error))
        return false;
    plan__make_causes(planning);
    make_places(planning);
    if (!plan__choose_tests(planning, questions, error)) return false;
    if (!plan__make_tests(planning, error)) return false;
    if (!plan__make_proving(planning, error)) return false;
    plan__find_plain(planning);
    if (!plan__make_again(planning, error)) return false;
    make_repairs(planning);
    DecisionProblem *problem = &planning->problem;
    problem->tests_before_proof = true;
    problem->cause_count = planning->cause_count;
    problem->broken = planning->broken;
    problem->left_cost = planning->left_cost;
    problem->tests = planning->tests;
    problem->repairs = planning->repairs;
    problem->places = planning->places;
    problem->give_up_cost = (double)terms->hand_over_minor + parts_to_come(planning);
    problem->off_cost = plan__labour(terms, terms->off_second);
    problem->on_cost = plan__labour(terms, terms->on_second);
    problem->cool_cost = plan__labour(terms, terms->cool_second);
    make_state(planning);
    if (!decision_begin(problem, planning->arena, &planning->decision, error)) return false;
    planning->decision.budget = terms->nodes;
    return true;
}

Planning *plan__begin(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms,
                      bool may_switch_on, int questions, Arena *arena, Error *error)
{
    Planning *planning = ARENA_ARRAY(arena, Planning, 1);
    if (!planning) {
        error_memory(error);
        return NULL;
    }
    *planning = (Planning){.model = model,
                           .standing = standing,
                           .terms = terms,
                           .arena = arena,
                           .situation = plan__situation(model, standing->call),
                           .may_switch_on = may_switch_on};
    return make_problem(planning, questions, error) ? planning : NULL;
}

double plan__cured_by(const Planning *planning, uint64_t cures)
{
    double sum = 0;
    for (int c = 0; c < planning->cause_count; c++)
        if (planning->broken[c] & cures) sum += planning->belief[c];
    return sum;
}
