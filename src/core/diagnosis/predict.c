/* predict.c: what a reading or a look would show under each hypothesis, as a handful of outcomes; checks of
 * the whole oven are in predict_oven.c.
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
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"

/* Two figures are told apart when they differ by this many of their spreads added up; an outcome reaches
 * this many spreads beyond its figures. Common practice, no source. */
static const double APART = 2.2, REACH = 2.5;

enum { MOST_CLUSTERS = 6, MOST_EDGES = 2 * MOST_CLUSTERS };

typedef struct {
    double low, high;
} Cluster;

static int compare(double a, double b) { return (a > b) - (a < b); }

/* Every figure counts: what is equal in one would be left in an order that each C library has its own. */
static int by_low(const void *a, const void *b)
{
    const Display *first = *(const Display *const *)a, *second = *(const Display *const *)b;
    int order = compare(first->low, second->low);
    if (order == 0) order = compare(first->low_spread, second->low_spread);
    if (order == 0) order = compare(first->high, second->high);
    return order ? order : compare(first->high_spread, second->high_spread);
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

/* An earlier row whose display is the same to the bit; -1. Most hypotheses leave most readings as they are,
 * so the row before and the first are worth a look, and no others. */
static int find_alike(const Display *const *displays, int row)
{
    if (row == 0) return -1;
    if (memcmp(displays[row], displays[row - 1], sizeof *displays[row]) == 0) return row - 1;
    return memcmp(displays[row], displays[0], sizeof *displays[row]) == 0 ? 0 : -1;
}

/* What was read before between the same marks, and the chance of each outcome where it is read once more. */
typedef struct {
    SeenBefore seen;
    Again again;
    double same[DIAGNOSIS_MOST_OUTCOMES];
} ReadBefore;

static ReadBefore find_read_before(DiagnosisModel *model, const Call *call, int check, const double *edges,
                                   int edge_count)
{
    ReadBefore read = {.again = {.slip = model->slip}};
    if (call) read.seen = diagnosis__read_before(model, call, call->entry_count, check);
    if (!read.seen.entry) return read;
    const ReadingKind kind = read.seen.entry->connection.kind;
    const double before = diagnosis__shown(read.seen.entry);
    const Display same = diagnosis__same_display(model, kind, before);
    read.again.before = diagnosis__density(&same, kind, before);
    fill_chances(&same, edges, edge_count, 0, read.same);
    return read;
}

/* Turns the chances of a reading alone into those upon what was read before. */
static void read_again(const DiagnosisModel *model, const ReadBefore *read, const Display *display, int count,
                       double *chance)
{
    const Entry *entry = read->seen.entry;
    const Likelihood before = diagnosis__reading(model, &entry->connection, diagnosis__shown(entry), display);
    for (int o = 0; o < count; o++) {
        const Again again = {read->again.slip, read->again.before, read->same[o]};
        const Likelihood now = {chance[o], read->again.slip / count};
        chance[o] = diagnosis__seen_again(before, read->seen.times, now, again).all;
    }
}

static bool predict_reading(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                            Arena *arena, Prediction *prediction, Error *error)
{
    Cluster clusters[MOST_CLUSTERS];
    double edges[MOST_EDGES];
    const Display **displays = ARENA_ARRAY(arena, const Display *, 2 * (size_t)count);
    if (!displays) return error_memory(error);
    const Display **figures = &displays[count];
    int figure_count = 0;
    for (int row = 0; row < count; row++) {
        displays[row] = diagnosis__check_display(model, check, which[row]);
        if (find_alike(displays, row) < 0 && is_figure(displays[row]))
            figures[figure_count++] = displays[row];
    }
    qsort(figures, (size_t)figure_count, sizeof *figures, by_low);
    const int edge_count = find_edges(clusters, find_clusters(figures, figure_count, clusters), edges);
    const ReadBefore read = find_read_before(model, call, check, edges, edge_count);
    prediction->outcome_count = edge_count + 2;
    for (int o = 0; o < prediction->outcome_count; o++)
        prediction->outcomes[o] = (Outcome){.kind = OUTCOME_DISPLAY,
                                            .low = o == 0            ? 0
                                                   : o <= edge_count ? fmax(edges[o - 1], 0)
                                                                     : INFINITY,
                                            .high = o < edge_count ? fmax(edges[o], 0) : INFINITY};
    for (int row = 0; row < count; row++) {
        const int alike = find_alike(displays, row);
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES];
        if (alike < 0) {
            fill_chances(displays[row], edges, edge_count, model->slip, chance);
            if (read.seen.entry) read_again(model, &read, displays[row], prediction->outcome_count, chance);
        } else {
            memcpy(chance, &prediction->chance[alike * DIAGNOSIS_MOST_OUTCOMES],
                   (size_t)prediction->outcome_count * sizeof *chance);
        }
    }
    return true;
}

static bool is_asked(const LookWord *look, CheckKind kind) { return look->is_power == (kind == CHECK_WATCH); }

/* What was seen of a part before, from close by and in a look over its place; NULL: nothing. */
typedef struct {
    SeenBefore close, glance;
} PartBefore;

static PartBefore find_seen_before(const DiagnosisModel *model, const Call *call, const Check *asked)
{
    PartBefore seen = {{NULL, 0}, {NULL, 0}};
    if (!call || asked->kind != CHECK_SIGHT) return seen;
    seen.close = diagnosis__looked_before(model, call, call->entry_count, asked->part);
    if (!seen.close.entry)
        seen.glance = diagnosis__glanced_before(
            model, call, call->entry_count, appliance_seen_from(model->appliance, asked->part), asked->part);
    return seen;
}

/* Of a sign, or none, upon what was seen before. */
static double chance_upon(const DiagnosisModel *model, const Check *asked, const PartBefore *seen, int word,
                          const Hypothesis *hypothesis)
{
    const Watched unwatched = {.share = 0};
    const Likelihood now = diagnosis__look(model, asked->part, word, unwatched, hypothesis);
    if (seen->close.entry) {
        const int before = seen->close.entry->words[0];
        return diagnosis__seen_again(diagnosis__look(model, asked->part, before, unwatched, hypothesis),
                                     seen->close.times, now, (Again){DIAGNOSIS_LOOK_SLIP, 1, before == word})
            .all;
    }
    return seen->glance.entry
               ? now.all * diagnosis__glance_at(model, seen->glance.entry, asked->part, word, hypothesis)
               : now.all;
}

static bool has_fault_of(const DiagnosisModel *model, int hypothesis, int part)
{
    for (int i = 0; i < model->hypotheses[hypothesis].count; i++)
        if (diagnosis__fault(model, &model->hypotheses[hypothesis], i)->part == part) return true;
    return false;
}

/* Do two hypotheses look the same to one who watches: the same share of its power, and no fault of its own?
 */
static bool is_watched_alike(DiagnosisModel *model, int check, int one, int other)
{
    const Watched first = diagnosis__check_watched(model, check, one),
                  second = diagnosis__check_watched(model, check, other);
    const int part = model->appliance->checks[check].part;
    return first.share == second.share && first.manner == second.manner && !has_fault_of(model, one, part) &&
           !has_fault_of(model, other, part);
}

/* A look has the words of its kind as outcomes; their chances are scaled to sum to 1, since the likelihoods
 * of different words need not. */
static void predict_look(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                         Prediction *prediction)
{
    const Check *asked = &model->appliance->checks[check];
    const PartBefore seen = find_seen_before(model, call, asked);
    const PartKind *kind = model->appliance->parts[asked->part].kind;
    const LookWord *looks = model->appliance->catalogue->looks;
    int outcomes = 0;
    for (int i = 0; i < kind->look_count && outcomes < DIAGNOSIS_MOST_OUTCOMES; i++)
        if (is_asked(&looks[kind->looks[i]], asked->kind))
            prediction->outcomes[outcomes++] = (Outcome){.kind = OUTCOME_LOOK, .word = kind->looks[i]};
    const bool is_watch = asked->kind == CHECK_WATCH;
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES], sum = 0;
        const Hypothesis *hypothesis = &model->hypotheses[which[row]];
        if (is_watch && row > 0 && is_watched_alike(model, check, which[row], which[row - 1])) {
            memcpy(chance, chance - DIAGNOSIS_MOST_OUTCOMES, (size_t)outcomes * sizeof *chance);
            continue;
        }
        const Watched watched =
            is_watch ? diagnosis__check_watched(model, check, which[row]) : (Watched){.share = 0};
        for (int o = 0; o < outcomes; o++) {
            const int word = prediction->outcomes[o].word;
            chance[o] = is_watch ? diagnosis__look(model, asked->part, word, watched, hypothesis).all
                                 : chance_upon(model, asked, &seen, word, hypothesis);
            sum += chance[o];
        }
        for (int o = 0; o < outcomes; o++) chance[o] /= sum;
    }
    prediction->outcome_count = outcomes;
}

bool diagnosis_predict(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                       Arena *arena, Prediction *prediction, Error *error)
{
    assert(check >= 0 && check < model->appliance->check_count && count > 0);
    const CheckKind kind = model->appliance->checks[check].kind;
    *prediction = (Prediction){.chance = ARENA_ARRAY(arena, double, (size_t)count *DIAGNOSIS_MOST_OUTCOMES)};
    if (!prediction->chance) return error_memory(error);
    if (kind >= CHECK_RUN)
        return diagnosis__predict_oven(model, call, check, which, count, prediction, error);
    if (kind == CHECK_GLANCE) {
        diagnosis__predict_glance(model, call, check, which, count, prediction);
        return true;
    }
    if (!diagnosis__connect(model, check, error)) return false;
    if (kind <= CHECK_AMP) return predict_reading(model, call, check, which, count, arena, prediction, error);
    if (!diagnosis__find_conditions(model, error)) return false;
    predict_look(model, call, check, which, count, prediction);
    return true;
}
