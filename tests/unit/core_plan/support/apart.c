/* apart.c: see apart.h. */
#include "apart.h"

#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "support/near.h"

enum { MOST_CELLS = 512 };
static const double WORTH = 0.05; /* nats */
static const size_t MIB = (size_t)1 << 20;

/* Joint chances of the outcomes of the checks so far, a cell for each combination. */
typedef struct {
    double *chance; /* [hypotheses][MOST_CELLS] */
    int cells;
} Joint;

/* Mean over cells of the entropy that equally likely hypotheses have left there, in nats. */
static double entropy_left(const Joint *joint, int count)
{
    double left = 0;
    for (int c = 0; c < joint->cells; c++) {
        double sum = 0;
        for (int h = 0; h < count; h++) sum += joint->chance[h * MOST_CELLS + c];
        for (int h = 0; h < count; h++) {
            const double p = joint->chance[h * MOST_CELLS + c];
            if (p > 1e-12) left -= p / count * math_log(p / sum);
        }
    }
    return left;
}

static void extend(const Joint *joint, const Prediction *prediction, int count, Joint *longer)
{
    const int outcomes = prediction->outcome_count;
    longer->cells = joint->cells * outcomes;
    for (int h = 0; h < count && longer->cells <= MOST_CELLS; h++)
        for (int c = 0; c < longer->cells; c++)
            longer->chance[h * MOST_CELLS + c] =
                joint->chance[h * MOST_CELLS + c / outcomes] *
                prediction->chance[h * DIAGNOSIS_MOST_OUTCOMES + c % outcomes];
}

/* What is left after one more check; INFINITY when there are too many combinations. */
static double try_check(DiagnosisModel *model, int check, const int *hypotheses, int count,
                        const Joint *joint, Joint *longer)
{
    Arena arena = arena_new(16 * MIB);
    Prediction prediction;
    Error error;
    assert_true(diagnosis_predict(model, NULL, check, hypotheses, count, &arena, &prediction, &error));
    extend(joint, &prediction, count, longer);
    arena_free(&arena);
    return longer->cells <= MOST_CELLS ? entropy_left(longer, count) : INFINITY;
}

static bool is_made(const Apart *made, int check)
{
    for (int i = 0; i < made->count; i++)
        if (made->checks[i] == check) return true;
    return false;
}

/* The second time a check is made it tells next to nothing new, whatever the chances say. */
static bool add_best(DiagnosisModel *model, const int *hypotheses, int count, Joint *joint, Joint *spare,
                     double *left, Apart *made)
{
    int best = -1;
    double least = *left - WORTH;
    for (int check = 0; check < model->appliance->check_count; check++) {
        if (is_made(made, check) || model->appliance->checks[check].kind >= CHECK_RUN) continue;
        const double leaves = try_check(model, check, hypotheses, count, joint, spare);
        if (leaves >= least) continue;
        least = leaves;
        best = check;
    }
    if (best < 0) return false;
    *left = try_check(model, best, hypotheses, count, joint, spare);
    made->checks[made->count] = best;
    made->left[made->count++] = math_exp(*left);
    const Joint swapped = *joint;
    *joint = *spare;
    *spare = swapped;
    return true;
}

Apart apart(DiagnosisModel *model, const int *hypotheses, int count)
{
    Arena arena = arena_new(64 * MIB);
    const size_t room = (size_t)count * MOST_CELLS;
    Joint joint = {ARENA_ARRAY(&arena, double, room), 1}, spare = {ARENA_ARRAY(&arena, double, room), 1};
    Apart made = {.count = 0};
    double left = math_log(count);
    assert_true(joint.chance && spare.chance);
    for (int h = 0; h < count; h++) joint.chance[h * MOST_CELLS] = 1;
    while (made.count < APART_MOST && add_best(model, hypotheses, count, &joint, &spare, &left, &made)) {
    }
    arena_free(&arena);
    return made;
}

void apart_print_check(const Appliance *appliance, int number)
{
    static const char *const units[] = {[CHECK_OHM] = "ohm", [CHECK_VOLT] = "volt", [CHECK_AMP] = "ampere"};
    const Check *check = &appliance->checks[number];
    if (check->kind == CHECK_GLANCE)
        print_message("look over %s", appliance->description->places[check->places[0]].name);
    else if (check->from < 0)
        print_message("%s %s", check->kind == CHECK_WATCH ? "watch" : "look at",
                      appliance->parts[check->part].name);
    else
        print_message("%s %s to %s", units[check->kind], appliance->marks[check->from].name,
                      appliance->marks[check->to].name);
    if (check->function > 0) print_message(" in %s", appliance->functions[check->function].name);
    for (int i = 0; i < check->lift_count; i++)
        print_message(", %s lifted", appliance->marks[check->lifts[i]].name);
}
