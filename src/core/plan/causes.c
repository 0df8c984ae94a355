/* causes.c: thousands of hypotheses as some hundred causes, and what a check shows under each.
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

enum { MOST_RAW_CLASSES = 512 };

static const double PAIR_KEPT = 1e-3; /* probability from which a pair is a class of its own */

/* ---- classes */

static int find_class(const Planning *planning, uint64_t broken)
{
    for (int k = 0; k < planning->class_count; k++)
        if (planning->classes[k] == broken) return k;
    return -1;
}

/* Components have their bits in falling probability, so the lowest bit of a pair is the likelier one. */
static uint64_t fold(const Planning *planning, uint64_t broken)
{
    return (broken & (~broken + 1)) | plan__bit(planning->remedies.component_count);
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
    for (int i = 0; i <= components; i++) add_class(planning, plan__bit(i));
    for (int i = 0; i < components; i++) add_class(planning, plan__bit(i) | plan__bit(components));
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

bool plan__make_classes(Planning *planning, Error *error)
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
void plan__make_causes(Planning *planning)
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

/* Chances of the merged outcomes under each cause. */
bool plan__fill_chances(const Planning *planning, const Prediction *prediction, const int *merged,
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
