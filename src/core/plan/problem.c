/* problem.c: the standing as a problem of decision: causes, tests, remedies, the way things are.
 *
 *   hypotheses (thousands) --> causes: the 60 likeliest one by one, all others as the mean of their class
 *   checks (hundreds)      --> tests:  the 20 that tell most for their minutes, on the spot or on the way
 *   outcomes (up to 16)    --> at most five for each test
 *
 * A class is what needs the same repairs. Nothing is dropped: what is not worth a cause of its own counts to
 * its class, a rare pair to its likelier member and 'something rare besides'. Dropping and scaling up again
 * makes every check look better than it is.
 *
 * Invariants: (1) beliefs sum to 1; (2) every class has a typical cause, the last one of it; (3) for each
 * class and remedy there is a class for what is left.
 *
 * Bad at: a pair of faults whose effects hide each other, once it counts to a class of its likelier member.
 */
#include "core/plan/plan_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"

enum { MOST_RAW_CLASSES = 512, MOST_BY_WAY = 12, SCRATCH_BYTES = 8 << 20 };

static const double PAIR_KEPT = 1e-3;      /* probability from which a pair is a class of its own */
static const double LEAST_NATS = 1e-4;     /* a check that tells less is no test */
static const double SURE_TO_FAIL = 0.1;    /* chance of the run to be right, below which it is not made */
static const double SOUND_AFTER_ALL = 0.7; /* that nothing is wrong, after a run that was not right */
static const double AS_MUCH = 0.98;        /* of the nats */
static const double RARE_SECOND = 3600;    /* to find and mend something rare; common practice, no source */
static const double RARE_MINOR = 8000;     /* its part */
static const double BLIND_PASS[] = {0.97, 0.15}; /* proving an oven that cannot be simulated: sound, faulty */

double plan__labour(const PlanTerms *terms, double second)
{
    return second / 3600 * (double)terms->labour_minor_per_hour;
}

/* ---- classes */

static uint64_t bit(int i) { return (uint64_t)1 << i; }

static int find_class(const Planning *planning, uint64_t broken)
{
    for (int k = 0; k < planning->class_count; k++)
        if (planning->classes[k] == broken) return k;
    return -1;
}

/* Components have their bits in falling probability, so the lowest bit of a pair is the likelier one. */
static uint64_t fold(const Planning *planning, uint64_t broken)
{
    return (broken & (~broken + 1)) | bit(planning->remedies.component_count);
}

static int class_of(const Planning *planning, uint64_t broken)
{
    const int own = find_class(planning, broken);
    return own >= 0 ? own : find_class(planning, fold(planning, broken));
}

static void add_class(Planning *planning, uint64_t broken)
{
    if (find_class(planning, broken) >= 0) return;
    assert(planning->class_count < PLAN_MOST_CLASSES);
    planning->classes[planning->class_count++] = broken;
}

typedef struct {
    uint64_t broken;
    double mass;
} RawClass;

static int sum_raw(const Planning *planning, const uint64_t *broken, RawClass *raw)
{
    int count = 0, at = 0;
    for (int h = 0; h < planning->model->hypothesis_count; h++) {
        if (count == 0 || raw[at].broken != broken[h])
            for (at = 0; at < count && raw[at].broken != broken[h]; at++) {
            }
        if (at == count) {
            assert(count < MOST_RAW_CLASSES);
            raw[count++] = (RawClass){broken[h], 0};
        }
        raw[at].mass += planning->standing->probability[h];
    }
    return count;
}

/* 'Nothing wrong', every component alone, the heaviest pairs, and for each component 'and something rare'. */
static void list_classes(Planning *planning, const RawClass *raw, int raw_count)
{
    const int components = planning->remedies.component_count;
    bool is_taken[MOST_RAW_CLASSES] = {false};
    planning->class_count = 0;
    add_class(planning, 0);
    for (int i = 0; i <= components; i++) add_class(planning, bit(i));
    for (int i = 0; i < components; i++) add_class(planning, bit(i) | bit(components));
    while (planning->class_count < PLAN_MOST_CLASSES) {
        int best = -1;
        for (int i = 0; i < raw_count; i++)
            if (!is_taken[i] && raw[i].mass >= PAIR_KEPT && (best < 0 || raw[i].mass > raw[best].mass))
                best = i;
        if (best < 0) return;
        is_taken[best] = true;
        add_class(planning, raw[best].broken);
    }
}

static bool make_classes(Planning *planning, Error *error)
{
    const int count = planning->model->hypothesis_count;
    uint64_t *broken = ARENA_ARRAY(planning->arena, uint64_t, (size_t)count);
    RawClass *raw = ARENA_ARRAY(planning->arena, RawClass, MOST_RAW_CLASSES);
    if (!broken || !raw) return error_memory(error);
    for (int h = 0; h < count; h++) broken[h] = plan__broken(planning->standing, &planning->remedies, h);
    const int raw_count = sum_raw(planning, broken, raw);
    list_classes(planning, raw, raw_count);
    for (int i = 0; i < raw_count; i++)
        planning->class_mass[class_of(planning, raw[i].broken)] += raw[i].mass;
    /* each component alone needs a row, or nothing would be known of what it shows */
    for (int i = 0; i < planning->remedies.component_count; i++) {
        if (!plan__add_row(planning->standing, &planning->field, planning->remedies.likeliest[i])) break;
    }
    planning->class_of_row = ARENA_ARRAY(planning->arena, int, PLAN_MOST_ROWS);
    if (!planning->class_of_row) return error_memory(error);
    for (int row = 0; row < planning->field.count; row++)
        planning->class_of_row[row] = class_of(planning, broken[planning->field.which[row]]);
    return true;
}

/* ---- causes */

static void add_cause(Planning *planning, int class, int row, double belief)
{
    const int c = planning->cause_count++;
    assert(c < PLAN_MOST_CAUSES);
    planning->broken[c] = planning->classes[class];
    planning->left_cost[c] = planning->classes[class] ? (double)planning->terms->callback_minor : 0;
    planning->class_of_cause[c] = class;
    planning->row_of_cause[c] = row;
    planning->belief[c] = belief;
}

/* The typical causes come last. */
static void make_causes(Planning *planning)
{
    double rest[PLAN_MOST_CLASSES], sum = 0;
    memcpy(rest, planning->class_mass, sizeof rest);
    planning->cause_count = 0;
    for (int row = 0; row < planning->field.count && row < PLAN_SINGLE_CAUSES; row++) {
        const int class = planning->class_of_row[row];
        if (planning->field.weight[row] <= 0) continue;
        add_cause(planning, class, row, planning->field.weight[row]);
        rest[class] -= planning->field.weight[row];
    }
    for (int k = 0; k < planning->class_count; k++) add_cause(planning, k, -1, fmax(rest[k], 0));
    for (int c = 0; c < planning->cause_count; c++) sum += planning->belief[c];
    for (int c = 0; c < planning->cause_count; c++) planning->belief[c] /= sum;
}

/* Chances of a class as the mean of its rows; of one without rows, as its likelier component alone; of the
 * rare, as all rows together. */
static void find_typical_chances(const Planning *planning, const Prediction *prediction, double *typical)
{
    const int outcomes = prediction->outcome_count;
    double weight[PLAN_MOST_CLASSES] = {0}, mean[DIAGNOSIS_MOST_OUTCOMES] = {0}, all = 0;
    memset(typical, 0, (size_t)planning->class_count * DIAGNOSIS_MOST_OUTCOMES * sizeof *typical);
    for (int row = 0; row < planning->field.count; row++) {
        const int class = planning->class_of_row[row];
        const double share =
            planning->field.weight[row] + 1e-30; /* rows without weight count among themselves */
        weight[class] += share;
        all += share;
        for (int o = 0; o < outcomes; o++) {
            const double chance = share * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
            typical[class * DIAGNOSIS_MOST_OUTCOMES + o] += chance;
            mean[o] += chance;
        }
    }
    for (int k = 0; k < planning->class_count; k++) { /* classes of one component stand before their pairs */
        const double *from = &typical[k * DIAGNOSIS_MOST_OUTCOMES];
        double by = weight[k];
        if (by <= 0) {
            const uint64_t lowest = planning->classes[k] & (~planning->classes[k] + 1);
            const int single = find_class(planning, lowest);
            const bool is_known = single < k && single >= 0 && weight[single] > 0;
            from = is_known ? &typical[single * DIAGNOSIS_MOST_OUTCOMES] : mean;
            by = is_known ? 1 : all;
        }
        for (int o = 0; o < outcomes; o++) typical[k * DIAGNOSIS_MOST_OUTCOMES + o] = from[o] / by;
    }
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

/* ---- tests */

static double entropy(const double *mass, int count)
{
    double sum = 0, total = 0;
    for (int k = 0; k < count; k++) {
        if (mass[k] <= 0) continue;
        total += mass[k];
        sum -= mass[k] * math_log(mass[k]);
    }
    return total > 0 ? fmax(sum + total * math_log(total), 0) : 0;
}

/* Joint probability of outcome and class, joint[outcomes][classes], by the rows. */
static void join_rows(const Planning *planning, const Prediction *prediction, double *joint)
{
    const int classes = planning->class_count;
    memset(joint, 0, (size_t)prediction->outcome_count * (size_t)classes * sizeof *joint);
    for (int row = 0; row < planning->field.count; row++)
        for (int o = 0; o < prediction->outcome_count; o++)
            joint[o * classes + planning->class_of_row[row]] +=
                planning->field.weight[row] * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
}

/* Nats that a check tells of what needs mending. */
static double information(const Planning *planning, const Prediction *prediction)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES], mass[PLAN_MOST_CLASSES] = {0}, left = 0;
    const int classes = planning->class_count;
    join_rows(planning, prediction, joint);
    for (int o = 0; o < prediction->outcome_count; o++) {
        for (int k = 0; k < classes; k++) mass[k] += joint[o * classes + k];
        left += entropy(&joint[o * classes], classes);
    }
    return entropy(mass, classes) - left;
}

typedef struct {
    int check;
    double nats, own, way; /* costs: of the check, and with the way to it */
} Candidate;

/* Minutes from where the technician stands, without the tables that are not made yet. */
static double way_second(const Planning *planning, const Check *check)
{
    const Description *description = planning->model->appliance->description;
    const DecisionNeeds needs = plan__needs_of_check(planning, check);
    double second = check->second;
    for (int p = 0; p < description->place_count; p++)
        if (planning->bit_of_place[p] >= 0 && (needs.open >> planning->bit_of_place[p] & 1) &&
            !planning->situation.is_open[p])
            second += description->places[p].open_second;
    if (needs.power == DECISION_POWER_OFF && planning->situation.power_on)
        second += planning->terms->off_second;
    if (needs.power == DECISION_POWER_ON && !planning->situation.power_on)
        second += planning->terms->on_second;
    return second;
}

static double own_cost(const Planning *planning, const Check *check)
{
    const SafetyNeeds needs = safety_of_check(planning->model->appliance, check, planning->standing->call);
    return plan__labour(planning->terms, check->second + planning->terms->noting_second +
                                             (needs.is_live_work ? planning->terms->live_risk_second : 0));
}

static bool consider(Planning *planning, int number, Arena *scratch, Candidate *candidate, Error *error)
{
    const Check *check = &planning->model->appliance->checks[number];
    Prediction prediction;
    *candidate = (Candidate){.check = number};
    if (!diagnosis_predict(planning->model, planning->standing->call, number, planning->field.which,
                           planning->field.count, scratch, &prediction, error))
        return false;
    candidate->nats = information(planning, &prediction);
    candidate->own = own_cost(planning, check);
    candidate->way =
        candidate->own + plan__labour(planning->terms, way_second(planning, check) - check->second);
    return true;
}

static bool is_worth_considering(const Planning *planning, int number)
{
    const Check *check = &planning->model->appliance->checks[number];
    if (check->kind == CHECK_RUN) return false; /* it is the proving run */
    if (check->kind == CHECK_ASK && planning->situation.has_repair)
        return false; /* the owner knows the old oven */
    if (check->kind == CHECK_OFFSET && plan__was_repaired(planning->standing->call, check->part, true))
        return false; /* it shows what was just set */
    if (!planning->may_switch_on && (check->power_on || check->kind == CHECK_SPOT))
        return false; /* safety, S7 */
    return !plan__is_done(planning->model, planning->standing->call, number);
}

static bool is_live(const Planning *planning, int number)
{
    return safety_of_check(planning->model->appliance, &planning->model->appliance->checks[number],
                           planning->standing->call)
        .is_live_work;
}

/* Live work is out of the question where a check with the power off tells as much, however long that takes.
 */
static void drop_needless_live(const Planning *planning, Candidate *candidates, int count)
{
    double most = 0;
    for (int i = 0; i < count; i++)
        if (!is_live(planning, candidates[i].check)) most = fmax(most, candidates[i].nats);
    for (int i = 0; i < count; i++)
        if (is_live(planning, candidates[i].check) && most >= AS_MUCH * candidates[i].nats)
            candidates[i].nats = 0;
}

/* The best candidates by nats for cost, up to `most` in all; on the way (`by_way`) or as if everything were
 * open; questions alone, or all. */
static int keep_best(const Planning *planning, Candidate *candidates, int count, int most, bool by_way,
                     bool only_questions, int kept, int *checks, double *nats)
{
    while (kept < most) {
        int best = -1;
        double best_value = 0;
        for (int i = 0; i < count; i++) {
            if (candidates[i].nats < LEAST_NATS) continue;
            const CheckKind kind = planning->model->appliance->checks[candidates[i].check].kind;
            const double value = candidates[i].nats / (by_way ? candidates[i].way : candidates[i].own);
            if (value <= best_value || (only_questions && kind != CHECK_ASK)) continue;
            best_value = value;
            best = i;
        }
        if (best < 0) break;
        checks[kept] = candidates[best].check;
        nats[kept++] = candidates[best].nats;
        candidates[best].nats = 0;
    }
    return kept;
}

static bool choose_tests(Planning *planning, int questions, Error *error)
{
    const int check_count = planning->model->appliance->check_count;
    Candidate *candidates = ARENA_ARRAY(planning->arena, Candidate, (size_t)check_count + 1);
    if (!candidates) return error_memory(error);
    int count = 0;
    planning->run_check = -1;
    for (int check = 0; check < check_count; check++) {
        if (planning->model->appliance->checks[check].kind == CHECK_RUN &&
            planning->model->usual_function >= 0)
            planning->run_check = check;
        if (!is_worth_considering(planning, check)) continue;
        Arena scratch = arena_new(SCRATCH_BYTES);
        const bool went_well = consider(planning, check, &scratch, &candidates[count], error);
        arena_free(&scratch);
        if (!went_well) return false;
        count++;
    }
    drop_needless_live(planning, candidates, count);
    int *checks = planning->checks;
    double *nats = planning->nats;
    int kept = keep_best(planning, candidates, count, questions, true, true, 0, checks, nats);
    kept = keep_best(planning, candidates, count, questions + MOST_BY_WAY, true, false, kept, checks, nats);
    kept = keep_best(planning, candidates, count, PLAN_MOST_TESTS, false, false, kept, checks, nats);
    planning->problem.test_count = kept;
    return true;
}

/* Chances of the merged outcomes under each cause. */
static bool fill_chances(const Planning *planning, const Prediction *prediction, const int *merged,
                         int outcomes, const double **chance, Error *error)
{
    const size_t causes = (size_t)planning->cause_count;
    double *filled = ARENA_ARRAY(planning->arena, double, (size_t)outcomes *causes);
    double *typical = ARENA_ARRAY(planning->arena, double, PLAN_MOST_CLASSES *DIAGNOSIS_MOST_OUTCOMES);
    if (!filled || !typical) return error_memory(error);
    find_typical_chances(planning, prediction, typical);
    for (int c = 0; c < planning->cause_count; c++) {
        const double *from = planning->row_of_cause[c] >= 0
                                 ? &prediction->chance[planning->row_of_cause[c] * DIAGNOSIS_MOST_OUTCOMES]
                                 : &typical[planning->class_of_cause[c] * DIAGNOSIS_MOST_OUTCOMES];
        for (int o = 0; o < prediction->outcome_count; o++)
            filled[(size_t)merged[o] * causes + (size_t)c] += from[o];
    }
    *chance = filled;
    return true;
}

static bool make_test(Planning *planning, int t, Error *error)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES];
    const Check *check = &planning->model->appliance->checks[planning->checks[t]];
    Prediction *prediction = &planning->predictions[t];
    DecisionTest *test = &planning->tests[t];
    if (!diagnosis_predict(planning->model, planning->standing->call, planning->checks[t],
                           planning->field.which, planning->field.count, planning->arena, prediction, error))
        return false;
    join_rows(planning, prediction, joint);
    *test = (DecisionTest){.cost = own_cost(planning, check), .needs = plan__needs_of_check(planning, check)};
    test->outcome_count = plan__merge_outcomes(prediction->outcome_count, planning->class_count, joint,
                                               PLAN_MOST_OUTCOMES, planning->merged[t]);
    return fill_chances(planning, prediction, planning->merged[t], test->outcome_count, &test->chance, error);
}

/* A check whose outcomes all mean the same once they are joined tells too little to be a test. */
static bool make_tests(Planning *planning, Error *error)
{
    int kept = 0;
    for (int t = 0; t < planning->problem.test_count; t++) {
        planning->checks[kept] = planning->checks[t];
        planning->nats[kept] = planning->nats[t];
        if (!make_test(planning, kept, error)) return false;
        if (planning->tests[kept].outcome_count > 1) kept++;
    }
    planning->problem.test_count = kept;
    return true;
}

/* ---- the proving run */

/* An oven that cannot be simulated: the run tells right from wrong, and no more. */
static bool make_blind_proving(Planning *planning, Error *error)
{
    const size_t causes = (size_t)planning->cause_count;
    double *chance = ARENA_ARRAY(planning->arena, double, 2 * causes);
    if (!chance) return error_memory(error);
    for (size_t c = 0; c < causes; c++) {
        chance[c] = BLIND_PASS[planning->broken[c] != 0];
        chance[causes + c] = 1 - chance[c];
    }
    planning->problem.proving.outcome_count = 2;
    planning->problem.proving.chance = chance;
    return true;
}

/* What is right is one outcome, the first; what is wrong is joined among itself. */
static bool make_proving(Planning *planning, Error *error)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES],
        wrong[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES];
    int wrong_merged[DIAGNOSIS_MOST_OUTCOMES], wrong_count = 0;
    const int classes = planning->class_count;
    Prediction *prediction = &planning->predictions[PLAN_MOST_TESTS];
    int *merged = planning->merged[PLAN_MOST_TESTS];
    DecisionTest *proving = &planning->problem.proving;
    *proving = (DecisionTest){.cost = plan__labour(planning->terms, planning->terms->proving_second),
                              .needs = {.closes_all = true, .power = DECISION_POWER_ON, .heats = true}};
    planning->problem.passes = 1;
    if (planning->run_check < 0) return make_blind_proving(planning, error);
    if (!diagnosis_predict(planning->model, planning->standing->call, planning->run_check,
                           planning->field.which, planning->field.count, planning->arena, prediction, error))
        return false;
    join_rows(planning, prediction, joint);
    for (int o = 0; o < prediction->outcome_count; o++)
        if (!prediction->outcomes[o].is_right)
            memcpy(&wrong[classes * wrong_count++], &joint[o * classes], (size_t)classes * sizeof *wrong);
    assert(wrong_count > 0);
    proving->outcome_count =
        1 + plan__merge_outcomes(wrong_count, classes, wrong, PLAN_MOST_OUTCOMES - 1, wrong_merged);
    for (int o = 0, w = 0; o < prediction->outcome_count; o++)
        merged[o] = prediction->outcomes[o].is_right ? 0 : 1 + wrong_merged[w++];
    return fill_chances(planning, prediction, merged, proving->outcome_count, &proving->chance, error);
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
                         .cures = bit(remedies->component_count)};
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
            if (remedies->remedies[r].cures & bit(i))
                price = fmin(price, (double)remedies->remedies[r].price_minor);
        for (int c = 0; c < planning->cause_count; c++)
            if (planning->broken[c] & bit(i)) sum += planning->belief[c] * price;
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
        !make_classes(planning, error))
        return false;
    make_causes(planning);
    make_places(planning);
    if (!choose_tests(planning, questions, error)) return false;
    if (!make_tests(planning, error)) return false;
    if (!make_proving(planning, error)) return false;
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
