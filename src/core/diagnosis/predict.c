/* predict.c: what a check would show under each hypothesis, as a handful of outcomes.
 *
 * Outcomes of a reading follow from the hypotheses that predict one figure: figures that cannot be confused
 * get an outcome each, and so does what lies between them. The others (a range of severities) have their
 * chance in each. A chance of slip is spread over all outcomes.
 *
 * Invariants: (1) the chances of all outcomes under one hypothesis sum to 1; (2) outcomes of a reading are
 * in rising order, OL last.
 *
 * Bad at: more than six different figures: the sixth outcome takes all that lie above. A planner loses some
 * information by that, a diagnosis nothing, since it weighs the display itself. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "core/diagnosis/diagnosis_private.h"

/* Two figures are told apart when they differ by this many of their spreads added up; an outcome reaches
 * this many spreads beyond its figures. Common practice, no source. */
static const double APART = 2.2, REACH = 2.5;

enum { MOST_CLUSTERS = 6, MOST_EDGES = 2 * MOST_CLUSTERS };

typedef struct {
    double low, high;
} Cluster;

static int by_low(const void *a, const void *b)
{
    const Display *first = *(const Display *const *)a, *second = *(const Display *const *)b;
    return (first->low > second->low) - (first->low < second->low);
}

/* A range spreads over many outcomes and would swallow the figures in it. */
static bool is_figure(const Display *display)
{
    return isfinite(display->high) && display->high - display->low < 2 * display->low_spread;
}

/* Figures that may be confused with each other, joined; the last cluster takes the rest when there are many.
 */
static int find_clusters(const Display **sorted, int count, Cluster *clusters)
{
    int found = 0;
    double reach = -INFINITY;
    for (int i = 0; i < count; i++) {
        const Display *display = sorted[i];
        if (display->low - APART * display->low_spread > reach && found < MOST_CLUSTERS)
            clusters[found++] = (Cluster){display->low - REACH * display->low_spread, -INFINITY};
        reach = fmax(reach, display->high + APART * display->high_spread);
        clusters[found - 1].high =
            fmax(clusters[found - 1].high, display->high + REACH * display->high_spread);
    }
    return found;
}

/* The edges between outcomes, rising. Neighbouring clusters that touch share one edge. */
static int find_edges(const Cluster *clusters, int count, double *edges)
{
    int found = 0;
    for (int c = 0; c < count; c++) {
        if (c > 0 && clusters[c].low <= edges[found - 1])
            edges[found - 1] = (clusters[c].low + edges[found - 1]) / 2;
        else
            edges[found++] = clusters[c].low;
        edges[found++] = clusters[c].high;
    }
    assert(found <= MOST_EDGES);
    return found;
}

/* From left to right: what lies below this edge less what lay below the last one; what is left when all
 * edges are done is OL. */
static void fill_chances(const Display *display, const double *edges, int edge_count, double slip,
                         double *chance)
{
    double below = 0, sum = 0;
    for (int e = 0; e < edge_count; e++) {
        const double to_here = diagnosis__chance_below(display, edges[e]);
        chance[e] = fmax(to_here - below, 0);
        below = fmax(below, to_here);
    }
    chance[edge_count] = fmax(diagnosis__chance_below(display, INFINITY) - below, 0);
    for (int o = 0; o <= edge_count; o++) sum += chance[o];
    chance[edge_count + 1] = fmax(1 - sum, 0); /* OL */
    for (int o = 0; o <= edge_count + 1; o++) chance[o] = (1 - slip) * chance[o] + slip / (edge_count + 2);
}

static bool predict_reading(DiagnosisModel *model, int check, const int *which, int count, Arena *arena,
                            Prediction *prediction, Error *error)
{
    Cluster clusters[MOST_CLUSTERS];
    double edges[MOST_EDGES];
    const Display **figures = ARENA_ARRAY(arena, const Display *, (size_t)count);
    if (!figures) return error_memory(error);
    int figure_count = 0;
    for (int i = 0; i < count; i++) {
        const Display *display = diagnosis__check_display(model, check, which[i]);
        if (is_figure(display)) figures[figure_count++] = display;
    }
    qsort(figures, (size_t)figure_count, sizeof *figures, by_low);
    const int edge_count = find_edges(clusters, find_clusters(figures, figure_count, clusters), edges);
    prediction->outcome_count = edge_count + 2;
    for (int o = 0; o < prediction->outcome_count; o++) {
        prediction->low[o] = o == 0 ? 0 : o <= edge_count ? fmax(edges[o - 1], 0) : INFINITY;
        prediction->high[o] = o < edge_count ? fmax(edges[o], 0) : INFINITY;
    }
    for (int row = 0; row < count; row++)
        fill_chances(diagnosis__check_display(model, check, which[row]), edges, edge_count, model->slip,
                     &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES]);
    return true;
}

static bool is_asked(const LookWord *look, CheckKind kind) { return look->is_power == (kind == CHECK_WATCH); }

/* A look has the words of its kind as outcomes; their chances are scaled to sum to 1, since the likelihoods
 * of different words need not. */
static void predict_look(DiagnosisModel *model, int check, const int *which, int count,
                         Prediction *prediction)
{
    const Check *asked = &model->appliance->checks[check];
    const PartKind *kind = model->appliance->parts[asked->part].kind;
    const LookWord *looks = model->appliance->catalogue->looks;
    int outcomes = 0;
    for (int i = 0; i < kind->look_count && outcomes < DIAGNOSIS_MOST_OUTCOMES; i++)
        if (is_asked(&looks[kind->looks[i]], asked->kind)) prediction->word[outcomes++] = kind->looks[i];
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES], sum = 0;
        const Hypothesis *hypothesis = &model->hypotheses[which[row]];
        const double share =
            asked->kind == CHECK_WATCH ? diagnosis__check_display(model, check, which[row])->low : 0;
        for (int o = 0; o < outcomes; o++) {
            chance[o] = diagnosis__look(model, asked->part, prediction->word[o], share, hypothesis).all;
            sum += chance[o];
        }
        for (int o = 0; o < outcomes; o++) chance[o] /= sum;
    }
    prediction->outcome_count = outcomes;
}

bool diagnosis_predict(DiagnosisModel *model, int check, const int *which, int count, Arena *arena,
                       Prediction *prediction, Error *error)
{
    assert(check >= 0 && check < model->appliance->check_count && count > 0);
    *prediction = (Prediction){.chance = ARENA_ARRAY(arena, double, (size_t)count *DIAGNOSIS_MOST_OUTCOMES)};
    if (!prediction->chance) return error_memory(error);
    if (!diagnosis__connect(model, check, error)) return false;
    if (model->appliance->checks[check].from >= 0)
        return predict_reading(model, check, which, count, arena, prediction, error);
    if (!diagnosis__find_conditions(model, error)) return false;
    predict_look(model, check, which, count, prediction);
    return true;
}

/* With diagnosis_is_check the two ways between a check and its entry, so that a proposal that was carried
 * out is recognised as done. */
Entry diagnosis_entry(const Appliance *appliance, int check, double display, int word)
{
    const Check *asked = &appliance->checks[check];
    if (asked->kind == CHECK_SIGHT || asked->kind == CHECK_WATCH)
        return (Entry){.kind = ENTRY_LOOK,
                       .part = asked->part,
                       .function = asked->kind == CHECK_WATCH ? asked->function : -1,
                       .words = {word},
                       .word_count = 1};
    static const ReadingKind kinds[] = {
        [CHECK_OHM] = READING_OHM, [CHECK_VOLT] = READING_VOLT, [CHECK_AMP] = READING_AMP};
    static const Unit units[] = {[CHECK_OHM] = UNIT_OHM, [CHECK_VOLT] = UNIT_VOLT, [CHECK_AMP] = UNIT_AMPERE};
    Entry entry = {.kind = ENTRY_READING, .part = asked->part};
    entry.value = (Quantity){.value = display, .unit = units[asked->kind], .is_over = isinf(display)};
    entry.connection = (Connection){.kind = kinds[asked->kind],
                                    .from = asked->from,
                                    .to = asked->to,
                                    .function = asked->function,
                                    .power_on = asked->power_on,
                                    .lift_count = asked->lift_count,
                                    .unplug_count = asked->unplug >= 0};
    for (int i = 0; i < asked->lift_count; i++) entry.connection.lifts[i] = asked->lifts[i];
    entry.connection.unplugs[0] = asked->unplug;
    return entry;
}

static bool same_pair(const Connection *a, const Connection *b)
{
    return (a->from == b->from && a->to == b->to) || (a->from == b->to && a->to == b->from);
}

static bool contains_all(const int *numbers, int count, const int *wanted, int wanted_count)
{
    for (int w = 0; w < wanted_count; w++) {
        bool is_there = false;
        for (int i = 0; i < count; i++) is_there |= numbers[i] == wanted[w];
        if (!is_there) return false;
    }
    return true;
}

/* The same things are off and open, in whichever order they were written down. */
static bool same_opened(const Connection *a, const Connection *b)
{
    return contains_all(a->lifts, a->lift_count, b->lifts, b->lift_count) &&
           contains_all(b->lifts, b->lift_count, a->lifts, a->lift_count) &&
           contains_all(a->unplugs, a->unplug_count, b->unplugs, b->unplug_count) &&
           contains_all(b->unplugs, b->unplug_count, a->unplugs, a->unplug_count);
}

/* A look without a function counts for any: it was on while it was watched. */
static bool same_look(const Appliance *appliance, const Entry *entry, const Entry *asked)
{
    const bool is_power = appliance->catalogue->looks[entry->words[0]].is_power;
    if (entry->part != asked->part || is_power != (asked->function >= 0)) return false;
    return !is_power || entry->function < 0 || entry->function == asked->function;
}

bool diagnosis_is_check(const Appliance *appliance, const Entry *entry, int check)
{
    const Entry asked = diagnosis_entry(appliance, check, 0, 0);
    if (entry->kind != asked.kind) return false;
    if (entry->kind == ENTRY_LOOK) return same_look(appliance, entry, &asked);
    const Connection *a = &entry->connection, *b = &asked.connection;
    return a->kind == b->kind && same_pair(a, b) && a->function == b->function &&
           a->power_on == b->power_on && a->low_impedance == b->low_impedance && same_opened(a, b);
}
