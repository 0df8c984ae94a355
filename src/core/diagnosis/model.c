/* model.c: the hypotheses of an appliance and what they start with.
 *
 * Prior weights: 'nothing wrong' and the single faults as the appliance has them; with chance q a faulty
 * oven has a second, independent fault, whose weight is shared out like that of the first. Each single fault
 * comes once for each slice of its severities, each pair once with all severities of its two: a pair is
 * there to be thought of, its degree is settled when one of the two is mended.
 *
 * Pairs are many (the square of the faults) and nearly all hopeless, so only the likeliest MOST_PAIRS are
 * kept; the weight of the rest is stated as left_out and not shared among those that stay. It comes back when
 * one of the two is mended (repair.c), as the other one alone.
 *
 * Invariants: (1) hypotheses[0] and group 0 are 'nothing wrong', group 1 + f is fault f alone, pairs
 * follow; (2) hypotheses of one group stand together; (3) priors sum to 1; (4) what was left out is stated,
 * never hidden.
 *
 * Bad at: three faults at once, and two of one part. The first is rarer than a slip; the second is mended
 * as one. */
#include <assert.h>
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"

enum { MOST_PAIRS = 3000 }; /* of nearly 13,000 on the largest appliance */

/* A slip is a wrong range, a probe on the wrong mark, a misread display. Common practice, no source. */
static const double SLIP = 0.01;

typedef struct {
    int a, b; /* faults */
    double weight;
} Pair;

static double sum_of_priors(const Appliance *appliance)
{
    double sum = 0;
    for (int f = 0; f < appliance->fault_count; f++) sum += appliance->faults[f].prior;
    return sum;
}

/* Keeps the heaviest pairs in `kept`, a heap with the lightest on top. */
static void sift_down(Pair *heap, int count, int at)
{
    for (int child = 2 * at + 1; child < count; child = 2 * at + 1) {
        if (child + 1 < count && heap[child + 1].weight < heap[child].weight) child++;
        if (heap[at].weight <= heap[child].weight) return;
        const Pair held = heap[at];
        heap[at] = heap[child];
        heap[child] = held;
        at = child;
    }
}

/* What falls off the heap is counted, so that the standing can say how much was not looked at. */
static int keep_pair(Pair *heap, int count, Pair pair, double *left_out)
{
    if (count < MOST_PAIRS) {
        heap[count++] = pair;
        if (count == MOST_PAIRS)
            for (int i = count / 2; i >= 0; i--) sift_down(heap, count, i);
        return count;
    }
    *left_out += pair.weight < heap[0].weight ? pair.weight : heap[0].weight;
    if (pair.weight <= heap[0].weight) return count;
    heap[0] = pair;
    sift_down(heap, count, 0);
    return count;
}

/* Weight of a pair: q times p(a) p(b) / sum, twice, since either may have come first. Two faults of one
 * part are left out: that part is replaced either way. */
static double weight_of_pair(const DiagnosisModel *model, int a, int b)
{
    const Fault *faults = model->appliance->faults;
    if (faults[a].part == faults[b].part) return 0;
    return model->appliance->catalogue->second_fault * 2 * faults[a].prior * faults[b].prior /
           model->prior_sum;
}

double diagnosis__left_out_beside(const DiagnosisModel *model, int fault, int second)
{
    const double weight = weight_of_pair(model, fault, second), prior = model->appliance->faults[fault].prior;
    if (weight > model->least_pair || prior <= 0) return 0;
    return weight / (prior * (1 - model->appliance->catalogue->second_fault));
}

/* Of several that weigh as much as the lightest none is kept, so that the weight alone says which are. */
static int drop_lightest(DiagnosisModel *model, Pair *pairs, int count)
{
    int kept = 0;
    model->least_pair = count == MOST_PAIRS ? pairs[0].weight : 0;
    for (int i = 0; i < count; i++) {
        if (pairs[i].weight > model->least_pair)
            pairs[kept++] = pairs[i];
        else
            model->left_out += pairs[i].weight;
    }
    return kept;
}

static int find_pairs(DiagnosisModel *model, Pair *kept)
{
    const int faults = model->appliance->fault_count;
    int count = 0;
    model->prior_sum = sum_of_priors(model->appliance);
    for (int a = 0; a < faults; a++)
        for (int b = a + 1; b < faults; b++) {
            const double weight = weight_of_pair(model, a, b);
            if (weight > 0) count = keep_pair(kept, count, (Pair){a, b, weight}, &model->left_out);
        }
    return drop_lightest(model, kept, count);
}

/* The points of a fault's severity are its first variants: ends and middles of slices in turn. */
static void set_range(const DiagnosisModel *model, Hypothesis *hypothesis, int i, int fault, int from, int to)
{
    const int first = model->circuit.first_variant[fault];
    hypothesis->low[i] = first + from;
    hypothesis->variants[i] = first + (from + to) / 2;
    hypothesis->high[i] = first + to;
}

/* Slices are of equal chance, so each gets the same share of the fault's weight. */
static void add_single(DiagnosisModel *model, Hypothesis *hypotheses, HypothesisGroup *groups, int fault)
{
    const Fault *described = &model->appliance->faults[fault];
    const double weight = described->prior * (1 - model->appliance->catalogue->second_fault);
    const int group = model->group_count++, points = described->severity_count;
    const int slices = points > 1 ? points / 2 : 1;
    groups[group] = (HypothesisGroup){{fault, -1}, 1, model->hypothesis_count, slices};
    for (int s = 0; s < slices; s++) {
        Hypothesis *hypothesis = &hypotheses[model->hypothesis_count++];
        *hypothesis = (Hypothesis){.count = 1, .group = group, .prior = weight / slices};
        set_range(model, hypothesis, 0, fault, 2 * s, points > 1 ? 2 * s + 2 : 0);
    }
}

/* From the least of both faults to the most of both: wide, and therefore modest in what it claims. */
static void add_pair(DiagnosisModel *model, Hypothesis *hypotheses, HypothesisGroup *groups, const Pair *pair)
{
    const int group = model->group_count++;
    groups[group] = (HypothesisGroup){{pair->a, pair->b}, 2, model->hypothesis_count, 1};
    Hypothesis *hypothesis = &hypotheses[model->hypothesis_count++];
    *hypothesis = (Hypothesis){.count = 2, .group = group, .prior = pair->weight};
    set_range(model, hypothesis, 0, pair->a, 0, model->appliance->faults[pair->a].severity_count - 1);
    set_range(model, hypothesis, 1, pair->b, 0, model->appliance->faults[pair->b].severity_count - 1);
}

/* Without the pairs that were left out the sum is a little below 1. */
static void scale_priors(Hypothesis *hypotheses, int count)
{
    double sum = 0;
    for (int h = 0; h < count; h++) sum += hypotheses[h].prior;
    assert(sum > 0);
    for (int h = 0; h < count; h++) hypotheses[h].prior /= sum;
}

/* 'Nothing wrong' first, then single faults in their order, then pairs: repairs rely on that order. */
static bool list_hypotheses(DiagnosisModel *model)
{
    const Appliance *appliance = model->appliance;
    const size_t singles = (size_t)model->circuit.variant_count + 1;
    Pair *pairs = ARENA_ARRAY(model->arena, Pair, MOST_PAIRS);
    Hypothesis *hypotheses = ARENA_ARRAY(model->arena, Hypothesis, singles + MOST_PAIRS);
    HypothesisGroup *groups = ARENA_ARRAY(model->arena, HypothesisGroup, singles + MOST_PAIRS);
    if (!pairs || !hypotheses || !groups) return false;
    const int pair_count = find_pairs(model, pairs);
    groups[0] = (HypothesisGroup){{-1, -1}, 0, 0, 1};
    hypotheses[0] = (Hypothesis){.count = 0, .group = 0, .prior = appliance->nothing_wrong_prior};
    model->hypothesis_count = model->group_count = 1;
    for (int f = 0; f < appliance->fault_count; f++) add_single(model, hypotheses, groups, f);
    for (int p = 0; p < pair_count; p++) add_pair(model, hypotheses, groups, &pairs[p]);
    scale_priors(hypotheses, model->hypothesis_count);
    model->hypotheses = hypotheses;
    model->groups = groups;
    return true;
}

/* Without materials there is no oven to simulate: temperatures are not weighed then, and an element glows by
 * its share of power. */
static bool begin_oven(DiagnosisModel *model, Error *error)
{
    model->usual_function = -1;
    if (model->appliance->catalogue->materials.count == 0) return true;
    if (!thermal_begin(&model->circuit, &model->thermal, error)) return false;
    model->usual_function = thermal_usual_function(&model->thermal);
    diagnosis__watch_sheaths(model);
    return true;
}

bool diagnosis_begin(const Appliance *appliance, double ambient_celsius, const Meter *meter,
                     BehaviourMemory *memory, Arena *arena, DiagnosisModel *model, Error *error)
{
    *model = (DiagnosisModel){.appliance = appliance, .meter = *meter, .arena = arena, .slip = SLIP};
    if (!circuit_begin(appliance, ambient_celsius, arena, &model->circuit, error)) return false;
    if (!circuit_power_begin(&model->circuit, &model->power, error)) return false;
    if (!begin_oven(model, error)) return false;
    model->memory = memory ? memory : ARENA_ARRAY(arena, BehaviourMemory, 1);
    if (!model->memory) return error_memory(error);
    if (!memory && !behaviour_begin(arena, model->memory, error)) return false;
    model->check_meters = ARENA_ARRAY(arena, MeterOn, (size_t)appliance->check_count);
    model->displayed = ARENA_ARRAY(arena, CheckDisplays, (size_t)appliance->check_count);
    if (!model->check_meters || !model->displayed || !list_hypotheses(model)) return error_memory(error);
    return true;
}

const Fault *diagnosis__fault(const DiagnosisModel *model, const Hypothesis *hypothesis, int i)
{
    assert(i >= 0 && i < hypothesis->count);
    return &model->appliance->faults[model->circuit.variants[hypothesis->variants[i]].fault];
}
