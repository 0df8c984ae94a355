/* predict_reading.c: what a reading would show under each hypothesis, as a handful of outcomes.
 *
 * Outcomes follow from the hypotheses that predict one figure: figures that cannot be confused get an outcome
 * each, and so does what lies between them. The others (a range of severities) have their chance in each. A
 * chance of slip is spread over all outcomes. What was read before between the same marks is foreseen again
 * (seen.c).
 *
 * Invariants: (1) the chances of all outcomes under one hypothesis sum to 1; (2) outcomes are in rising
 * order, OL last.
 *
 * Bad at: more than six different figures: those of the less probable hypotheses get no outcome of their own.
 * A planner loses some information by that, a diagnosis nothing, since it weighs the display itself. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"

/* Two figures are told apart when they differ by this many of their spreads added up; an outcome reaches
 * this many spreads beyond its figures. Common practice, no source. */
static const double APART = 1.1, REACH = 2.5;
static const double WIDEST = 1.5; /* of a cluster; times one figure's reach */

enum { MOST_CLUSTERS = 6, MOST_EDGES = 2 * MOST_CLUSTERS };

/* Figures that cannot be told apart: where they may show, and where another may be confused with them. */
typedef struct {
    double low, high, near_low, near_high;
} Cluster;

/* A range spreads over many outcomes and would swallow the figures in it. */
static bool is_figure(const Display *display)
{
    return isfinite(display->high) && display->high - display->low < 2 * display->low_spread;
}

static bool touch(const Cluster *cluster, double low, double high)
{
    return cluster->near_low < high && low < cluster->near_high;
}

/* A figure joins the one cluster that it may be confused with, while that stays narrow: a chain of
 * neighbours, each hard to tell from the next, would else be one outcome from end to end. One that stays
 * outside has its chance in the outcomes as they are. */
static int add_figure(Cluster *clusters, int count, const Display *display)
{
    const Cluster own = {.low = display->low - REACH * display->low_spread,
                         .high = display->high + REACH * display->high_spread,
                         .near_low = display->low - APART * display->low_spread,
                         .near_high = display->high + APART * display->high_spread};
    int one = -1, touched = 0;
    for (int c = 0; c < count; c++) {
        if (!touch(&clusters[c], own.near_low, own.near_high)) continue;
        one = c;
        touched++;
    }
    if (touched == 0 && count < MOST_CLUSTERS) {
        clusters[count] = own;
        return count + 1;
    }
    if (touched != 1) return count;
    Cluster joined = clusters[one];
    joined.low = fmin(joined.low, own.low);
    joined.high = fmax(joined.high, own.high);
    joined.near_low = fmin(joined.near_low, own.near_low);
    joined.near_high = fmax(joined.near_high, own.near_high);
    if (joined.high - joined.low <= WIDEST * (own.high - own.low)) clusters[one] = joined;
    return count;
}

/* Of the figures in their order, most probable first; then in rising order. */
static int find_clusters(const Display **figures, int count, Cluster *clusters)
{
    int found = 0;
    for (int i = 0; i < count; i++) found = add_figure(clusters, found, figures[i]);
    for (int c = 1; c < found; c++) {
        const Cluster moved = clusters[c];
        int at = c;
        for (; at > 0 && clusters[at - 1].low > moved.low; at--) clusters[at] = clusters[at - 1];
        clusters[at] = moved;
    }
    return found;
}

/* The edges between outcomes, rising. Neighbouring clusters that touch share one edge, halfway. */
static int find_edges(const Cluster *clusters, int count, double *edges)
{
    int found = 0;
    for (int c = 0; c < count; c++) {
        if (c > 0 && clusters[c].low <= edges[found - 1]) {
            const double halfway = (clusters[c].low + edges[found - 1]) / 2;
            edges[found - 1] = found > 1 ? fmax(halfway, edges[found - 2]) : halfway;
        } else {
            edges[found++] = clusters[c].low;
        }
        edges[found] = fmax(clusters[c].high, edges[found - 1]);
        found++;
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

static void set_outcomes(const double *edges, int edge_count, Prediction *prediction)
{
    prediction->outcome_count = edge_count + 2;
    for (int o = 0; o < prediction->outcome_count; o++)
        prediction->outcomes[o] = (Outcome){.kind = OUTCOME_DISPLAY,
                                            .low = o == 0            ? 0
                                                   : o <= edge_count ? fmax(edges[o - 1], 0)
                                                                     : INFINITY,
                                            .high = o < edge_count ? fmax(edges[o], 0) : INFINITY};
}

/* The displays[count] of the hypotheses, and which earlier one each is the same as. */
typedef struct {
    const Display **displays, **figures; /* figures: each once */
    int *alike;
    int figure_count;
} Rows;

static bool list_rows(DiagnosisModel *model, int check, const int *which, int count, Arena *arena, Rows *rows)
{
    *rows = (Rows){.displays = ARENA_ARRAY(arena, const Display *, (size_t)count),
                   .figures = ARENA_ARRAY(arena, const Display *, (size_t)count),
                   .alike = ARENA_ARRAY(arena, int, (size_t)count)};
    if (!rows->displays || !rows->figures || !rows->alike) return false;
    for (int row = 0; row < count; row++) {
        rows->displays[row] = diagnosis__check_display(model, check, which[row]);
        rows->alike[row] = find_alike(rows->displays, row);
        if (rows->alike[row] < 0 && is_figure(rows->displays[row]))
            rows->figures[rows->figure_count++] = rows->displays[row];
    }
    return true;
}

bool diagnosis__predict_reading(DiagnosisModel *model, const Call *call, int check, const int *which,
                                int count, Arena *arena, Prediction *prediction, Error *error)
{
    Cluster clusters[MOST_CLUSTERS];
    double edges[MOST_EDGES];
    Rows rows;
    if (!list_rows(model, check, which, count, arena, &rows)) return error_memory(error);
    const int edge_count =
        find_edges(clusters, find_clusters(rows.figures, rows.figure_count, clusters), edges);
    const ReadBefore read = find_read_before(model, call, check, edges, edge_count);
    set_outcomes(edges, edge_count, prediction);
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES];
        if (rows.alike[row] >= 0) {
            memcpy(chance, &prediction->chance[rows.alike[row] * DIAGNOSIS_MOST_OUTCOMES],
                   (size_t)prediction->outcome_count * sizeof *chance);
            continue;
        }
        fill_chances(rows.displays[row], edges, edge_count, model->slip, chance);
        if (read.seen.entry) read_again(model, &read, rows.displays[row], prediction->outcome_count, chance);
    }
    return true;
}
