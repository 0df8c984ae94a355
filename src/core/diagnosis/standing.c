/* standing.c: from entries to suspects.
 *
 * DESIGN. Entries are taken in their order. Each that bears on the matter multiplies the weight of every
 * hypothesis by its likelihood; a repair moves the weight of what it cures to what is left (repair.c). While
 * that goes on we note, for every suspect, how many times likelier the entry made it against all the rest:
 * that is the explanation. In the end we ask of every entry how probable it is that it was a slip; one that
 * probably was is a contradiction, and the entry without which it would not be one is named beside it.
 *
 * Invariants: (1) weights are never negative and sum to 1 after every step; (2) a struck entry changes
 * nothing; (3) the standing depends on the entries alone, not on when it is asked for; (4) between two
 * repairs their order does not matter, but for that of two runs (temperature.c), of a close look and one
 * over its place (glance.c), and of two readings between the same marks (seen.c).
 *
 * Bad at: entries that depend on each other once the fault is known: a display of a fault code and a look at
 * the control are taken as two independent witnesses. It also has no time: an intermittent fault is a
 * contradiction here.
 *
 * What it costs: each weighed entry is one likelihood for every hypothesis, some three thousand, of which
 * the displays of listed checks are remembered by the model. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/weighing_private.h"

/* From here on an entry is called a contradiction. */
static const double SUSPICIOUS_SLIP = 0.4;

/* The largest exponent is taken off first, so the best hypothesis is multiplied by 1 and nothing underflows
 * that matters. */
double diagnosis_update(double *weights, const double *log_likelihood, int n)
{
    double most = -INFINITY;
    for (int i = 0; i < n; i++)
        if (weights[i] > 0 && log_likelihood[i] > most) most = log_likelihood[i];
    if (isinf(most)) return -INFINITY;
    double sum = 0;
    for (int i = 0; i < n; i++) {
        weights[i] *= weights[i] > 0 ? math_exp(log_likelihood[i] - most) : 0;
        sum += weights[i];
    }
    assert(sum > 0 && isfinite(sum));
    for (int i = 0; i < n; i++) weights[i] /= sum;
    return most + math_log(sum);
}

bool diagnosis_weighs(const DiagnosisModel *model, const Entry *entry)
{
    if (entry->is_struck || entry->kind == ENTRY_REPAIR || entry->kind == ENTRY_DEAD ||
        entry->kind == ENTRY_NOTE)
        return false;
    if (entry->kind != ENTRY_RUN && entry->kind != ENTRY_SPOT) return true;
    return model->usual_function >= 0 && (entry->kind == ENTRY_SPOT || entry->run);
}

/* The check that an entry is, whose displays are remembered; -1 when it is none of them. */
static int find_check(const DiagnosisModel *model, const Entry *entry)
{
    for (int check = 0; check < model->appliance->check_count; check++)
        if (diagnosis_is_check(model, entry, check)) return check;
    return -1;
}

/* An entry as it is weighed: which check it was, or the meter as it was connected. */
typedef struct {
    const Call *call;
    int number;
    const Entry *entry;
    int check;
    MeterOn on;
    const Simulated *simulated; /* run, spot */
    Past *pasts;                /* [hypotheses] of the runs before; NULL: there are none */
    bool is_first;              /* nothing was mended before it */
    Glance glance;              /* look over a place */
    SeenBefore before;          /* the look of the same kind, or reading between the same marks, before */
    Again again;                /* of a reading */
} Weighed;

static Likelihood weigh_reading(const DiagnosisModel *model, const Weighed *weighed, const Display *known,
                                const Hypothesis *hypothesis)
{
    const Entry *entry = weighed->entry, *before = weighed->before.entry;
    const Display display = known ? *known : diagnosis__display(model, &weighed->on, hypothesis);
    const Likelihood now = diagnosis__reading(model, &entry->connection, diagnosis__shown(entry), &display);
    if (!before) return now;
    return diagnosis__seen_again(
        diagnosis__reading(model, &before->connection, diagnosis__shown(before), &display),
        weighed->before.times, now, weighed->again);
}

static Likelihood weigh_temperature(const DiagnosisModel *model, const Weighed *weighed, int h,
                                    Residual *residual)
{
    const Entry *entry = weighed->entry;
    if (entry->kind == ENTRY_RUN) return diagnosis__run(model, entry->run, weighed->simulated, h, residual);
    return diagnosis__spot(model, entry->value.value, weighed->simulated, h, residual);
}

/* Of an oven that was so all along, and of one that a repair has made so. */
static Likelihood weigh_pasts(const DiagnosisModel *model, const Weighed *weighed, int h)
{
    Past *past = &weighed->pasts[h];
    const Likelihood own = weigh_temperature(model, weighed, h, &past->own);
    if (past->share == 0) return own;
    const double share = past->share;
    const Likelihood other = weigh_temperature(model, weighed, h, &past->inherited),
                     both = {(1 - share) * own.all + share * other.all,
                             (1 - share) * own.slip + share * other.slip};
    past->share *= other.all / both.all;
    assert(past->share >= 0 && past->share <= 1 + 1e-9);
    return both;
}

static Likelihood weigh_look_alone(DiagnosisModel *model, const Weighed *weighed, const Entry *entry,
                                   bool is_check, int h)
{
    const Hypothesis *hypothesis = &model->hypotheses[h];
    const bool is_power = model->appliance->catalogue->looks[entry->words[0]].way == LOOK_POWER;
    Watched watched = {.share = 0};
    if (entry->is_glance) return diagnosis__glance(model, &weighed->glance, entry, hypothesis);
    if (is_power && is_check)
        watched = diagnosis__check_watched(model, weighed->check, h);
    else if (is_power)
        watched = diagnosis__watched(model, -1, entry->part, entry->function, hypothesis);
    return diagnosis__look(model, entry->part, entry->words[0], watched, hypothesis);
}

static Likelihood weigh_look(DiagnosisModel *model, const Weighed *weighed, bool is_check, int h)
{
    const Entry *entry = weighed->entry, *before = weighed->before.entry;
    const Likelihood now = weigh_look_alone(model, weighed, entry, is_check, h);
    if (!before) return now;
    const bool is_same = before->part == entry->part && before->words[0] == entry->words[0];
    return diagnosis__seen_again(weigh_look_alone(model, weighed, before, is_check, h), weighed->before.times,
                                 now, (Again){DIAGNOSIS_LOOK_SLIP, 1, is_same});
}

static Likelihood likelihood_of(DiagnosisModel *model, const Weighed *weighed, int h)
{
    const Entry *entry = weighed->entry;
    const Hypothesis *hypothesis = &model->hypotheses[h];
    const Display *known = weighed->check >= 0 ? diagnosis__check_display(model, weighed->check, h) : NULL;
    const Residual *seen = weighed->pasts && weighed->is_first ? &weighed->pasts[h].own : NULL;
    if (entry->kind == ENTRY_COMPLAINT)
        return diagnosis__complaint(model, weighed->call, weighed->number, h, seen);
    if (entry->kind == ENTRY_ASKED)
        return diagnosis__answer(model, entry->words[0], entry->is_yes, h,
                                 diagnosis__heard(weighed->call, weighed->number, entry->words[0]), seen);
    if (entry->kind == ENTRY_READING) return weigh_reading(model, weighed, known, hypothesis);
    if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT) return weigh_pasts(model, weighed, h);
    if (entry->kind == ENTRY_SETTING) return diagnosis__setting(model, entry, h);
    return weigh_look(model, weighed, known != NULL, h);
}

static bool is_temperature(const Entry *entry)
{
    return entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT;
}

/* Does the entry bear on the matter, as a temperature or as anything else? */
static bool weighs_as(const Weighing *weighing, int number, bool as_temperature)
{
    const Entry *entry = &weighing->call->entries[number];
    return diagnosis_weighs(weighing->model, entry) && is_temperature(entry) == as_temperature;
}

/* A reading that is none of the listed checks is held against no other. */
static void find_reading_before(DiagnosisModel *model, Weighed *weighed)
{
    const ReadingKind kind = weighed->entry->connection.kind;
    weighed->before = diagnosis__read_before(model, weighed->call, weighed->number, weighed->check);
    if (!weighed->before.entry) return;
    const double before = diagnosis__shown(weighed->before.entry);
    const Display same = diagnosis__same_display(model, kind, before);
    weighed->again = (Again){model->slip, diagnosis__density(&same, kind, before),
                             diagnosis__density(&same, kind, diagnosis__shown(weighed->entry))};
}

/* What an entry needs is made ready once, before three thousand hypotheses ask for it. */
static bool prepare(const Weighing *weighing, int number, Weighed *weighed, Error *error)
{
    DiagnosisModel *model = weighing->model;
    const Call *call = weighing->call;
    *weighed = (Weighed){.call = call, .number = number, .entry = &call->entries[number], .check = -1};
    const EntryKind kind = weighed->entry->kind;
    if (is_temperature(weighed->entry)) {
        weighed->simulated =
            diagnosis__simulate_entry(model, weighed->entry, weighing->worth, weighing->arena, error);
        return weighed->simulated != NULL;
    }
    if (kind != ENTRY_READING && !diagnosis__find_conditions(model, error)) return false;
    if (kind == ENTRY_COMPLAINT || kind == ENTRY_ASKED || kind == ENTRY_SETTING) return true;
    if (weighed->entry->is_glance) {
        diagnosis__begin_glance(model, call, number, weighed->entry->place, &weighed->glance);
        weighed->before = diagnosis__glanced_before(model, call, number, weighed->entry->place, -1);
        return true;
    }
    if (kind == ENTRY_LOOK) {
        const LookWay way = model->appliance->catalogue->looks[weighed->entry->words[0]].way;
        if (way != LOOK_POWER)
            weighed->before = diagnosis__looked_before(model, call, number, weighed->entry->part, way);
    }
    weighed->check = find_check(model, weighed->entry);
    if (weighed->check >= 0) {
        if (!diagnosis__connect(model, weighed->check, NULL, 0, error)) return false;
        if (kind == ENTRY_READING) find_reading_before(model, weighed);
        return true;
    }
    if (kind != ENTRY_READING) return true;
    return diagnosis__put_on(model, &weighed->entry->connection, weighing->arena, &weighed->on, error) ||
           error_at(error, "", weighed->entry->line, 0);
}

/* Log likelihoods of one entry under every hypothesis. */
static bool weigh(Weighing *weighing, int number, Error *error)
{
    DiagnosisModel *model = weighing->model;
    const size_t n = (size_t)model->hypothesis_count;
    double *log_likelihood = ARENA_ARRAY(weighing->arena, double, n),
           *slip = ARENA_ARRAY(weighing->arena, double, n);
    Weighed weighed;
    if (!log_likelihood || !slip) return error_memory(error);
    if (!prepare(weighing, number, &weighed, error)) return false;
    if (is_temperature(&weighing->call->entries[number]) && !diagnosis__begin_pasts(weighing))
        return error_memory(error);
    weighed.pasts = weighing->pasts;
    weighed.is_first = weighing->last_repair < 0;
    for (int h = 0; h < model->hypothesis_count; h++) {
        const Likelihood likelihood = likelihood_of(model, &weighed, h);
        assert(likelihood.all > 0);
        log_likelihood[h] = math_log(likelihood.all);
        slip[h] = likelihood.slip / likelihood.all;
    }
    weighing->log_likelihood[number] = log_likelihood;
    weighing->slip[number] = slip;
    return true;
}

/* Sums over groups of what stands at their hypotheses. */
static double sum_groups(const DiagnosisModel *model, const double *at_hypothesis, double *at_group)
{
    double all = 0;
    for (int g = 0; g < model->group_count; g++) {
        const HypothesisGroup *group = &model->groups[g];
        at_group[g] = 0;
        for (int s = 0; s < group->hypothesis_count; s++)
            at_group[g] += at_hypothesis[group->first_hypothesis + s];
        all += at_group[g];
    }
    return all;
}

/* The sum of all but one; one that is nearly all of it would leave nothing but rounding. */
static double sum_others(const double *at_group, int count, double all, int but)
{
    if (at_group[but] < all / 2) return all - at_group[but];
    double sum = 0;
    for (int g = 0; g < count; g++) sum += g == but ? 0 : at_group[g];
    return sum;
}

/* How many times likelier the entry makes each group against all the others: Bayes factors. Where there is
 * nothing to compare the factor is 1. */
static void explain(Weighing *weighing, int number)
{
    const DiagnosisModel *model = weighing->model;
    const int groups = model->group_count;
    const double *log_likelihood = weighing->log_likelihood[number];
    double *before = weighing->before, *after = weighing->after, *scratch = weighing->scratch;
    double most = -INFINITY;
    for (int h = 0; h < model->hypothesis_count; h++) most = fmax(most, log_likelihood[h]);
    for (int h = 0; h < model->hypothesis_count; h++)
        scratch[h] = weighing->weights[h] * math_exp(log_likelihood[h] - most);
    const double all_before = sum_groups(model, weighing->weights, before),
                 all_after = sum_groups(model, scratch, after);
    for (int g = 0; g < groups; g++) {
        const double others_before = sum_others(before, groups, all_before, g),
                     others_after = sum_others(after, groups, all_after, g);
        const bool is_comparable = before[g] > 0 && others_before > 0 && others_after > 0;
        weighing->factors[g][number] =
            is_comparable ? after[g] / before[g] / (others_after / others_before) : 1;
    }
}

/* Weighs the single readings and the runs from one entry until another, each upon those before; readings
 * first, since a run tells so much more that it is exact to weigh it upon them, and not the other way. */
static bool weigh_runs(Weighing *weighing, int from, int until, Error *error)
{
    for (int is_run = 0; is_run < 2; is_run++)
        for (int e = from; e < until; e++)
            if (weighs_as(weighing, e, true) &&
                (weighing->call->entries[e].kind == ENTRY_RUN) == (is_run == 1) && !weigh(weighing, e, error))
                return false;
    return true;
}

/* Raises the worth of a hypothesis to what it weighs after entry `alone`, or (-1) after all runs and spots.
 */
static void raise_worth(Weighing *weighing, const double *ahead, int from, int until, int alone)
{
    const int n = weighing->model->hypothesis_count;
    double *now = weighing->scratch;
    memcpy(now, ahead, (size_t)n * sizeof *now);
    for (int e = from; e < until; e++)
        if (weighs_as(weighing, e, true) && (alone < 0 || alone == e))
            diagnosis_update(now, weighing->log_likelihood[e], n);
    for (int h = 0; h < n; h++) weighing->worth[h] = fmax(weighing->worth[h], now[h]);
}

/* Temperatures are weighed twice: what gains by them though little was left of it was only likened, and is
 * simulated the second time. */
static bool weigh_runs_twice(Weighing *weighing, int from, int until, Error *error)
{
    const size_t n = (size_t)weighing->model->hypothesis_count;
    double *ahead = ARENA_ARRAY(weighing->arena, double, n);
    Past *before = weighing->pasts ? ARENA_ARRAY(weighing->arena, Past, n) : NULL;
    if (!ahead || (weighing->pasts && !before)) return error_memory(error);
    memcpy(ahead, weighing->worth, n * sizeof *ahead);
    if (before) memcpy(before, weighing->pasts, n * sizeof *before);
    if (!weigh_runs(weighing, from, until, error)) return false;
    for (int e = from; e < until; e++)
        if (weighs_as(weighing, e, true)) raise_worth(weighing, ahead, from, until, e);
    raise_worth(weighing, ahead, from, until, -1);
    weighing->pasts = before;
    return weigh_runs(weighing, from, until, error);
}

/* What the owner said before a first repair, of the oven that runs have shown by then. */
static bool weigh_words_again(Weighing *weighing, int from, int until, Error *error)
{
    if (weighing->last_repair >= 0 || !weighing->pasts) return true;
    for (int e = from; e < until; e++) {
        const EntryKind kind = weighing->call->entries[e].kind;
        if ((kind == ENTRY_COMPLAINT || kind == ENTRY_ASKED) && weighs_as(weighing, e, false) &&
            !weigh(weighing, e, error))
            return false;
    }
    return true;
}

/* Entries between two repairs, where their order does not matter: what the others say tells under which
 * hypotheses a run is worth a simulation, so runs are weighed last, and taken in their turn. */
static bool take_entries(Weighing *weighing, int from, int until, Error *error)
{
    const int n = weighing->model->hypothesis_count;
    memcpy(weighing->worth, weighing->weights, (size_t)n * sizeof *weighing->worth);
    for (int e = from; e < until; e++) {
        if (!weighs_as(weighing, e, false)) continue;
        if (!weigh(weighing, e, error)) return false;
        diagnosis_update(weighing->worth, weighing->log_likelihood[e], n);
    }
    if (!weigh_runs_twice(weighing, from, until, error)) return false;
    if (!weigh_words_again(weighing, from, until, error)) return false;
    for (int e = from; e < until; e++) {
        if (!weighing->log_likelihood[e]) continue;
        explain(weighing, e);
        diagnosis_update(weighing->weights, weighing->log_likelihood[e], n);
    }
    return true;
}

/* In the order of the visit: a repair divides it, what was read before speaks of an oven that is no more. */
static bool take_visit(Weighing *weighing, Error *error)
{
    const Call *call = weighing->call;
    for (int e = 0; e < call->entry_count; e++) {
        if (call->entries[e].kind != ENTRY_REPAIR || call->entries[e].is_struck) continue;
        if (!take_entries(weighing, weighing->last_repair + 1, e, error)) return false;
        if (!diagnosis__repair(weighing, &call->entries[e])) return error_memory(error);
        weighing->last_repair = e;
    }
    return take_entries(weighing, weighing->last_repair + 1, call->entry_count, error);
}

/* Probability that entry e was a slip, given weights of the hypotheses. */
static double slip_probability(const Weighing *weighing, int e, const double *weights)
{
    double sum = 0;
    for (int h = 0; h < weighing->model->hypothesis_count; h++) sum += weights[h] * weighing->slip[e][h];
    return sum;
}

/* The entry without which e would be the least suspicious; -1 when it stays suspicious without any. Leaving
 * an entry out is dividing by its likelihood: no entry has to be weighed again. */
static int find_opponent(const Weighing *weighing, int e, double *log_without)
{
    double *scratch = weighing->scratch;
    const int n = weighing->model->hypothesis_count;
    double least = SUSPICIOUS_SLIP;
    int opponent = -1;
    for (int other = weighing->last_repair + 1; other < weighing->call->entry_count; other++) {
        if (other == e || !weighing->log_likelihood[other]) continue;
        memcpy(scratch, weighing->weights, (size_t)n * sizeof *scratch);
        for (int h = 0; h < n; h++) log_without[h] = -weighing->log_likelihood[other][h];
        diagnosis_update(scratch, log_without, n);
        const double slip = slip_probability(weighing, e, scratch);
        if (slip >= least) continue;
        least = slip;
        opponent = other;
    }
    return opponent;
}

/* Two entries that clash are one contradiction, not two. */
static bool is_answered(const Contradiction *list, int count, int e)
{
    for (int i = 0; i < count; i++)
        if (list[i].against == e) return true;
    return false;
}

/* Of what came before the last repair by the oven that is left, which may have got rid of what it showed. */
static bool find_slips(const Weighing *weighing, Standing *standing)
{
    double *slip = ARENA_ARRAY(weighing->arena, double, (size_t)weighing->call->entry_count);
    if (!slip) return false;
    for (int e = 0; e < weighing->call->entry_count; e++)
        if (weighing->log_likelihood[e]) slip[e] = slip_probability(weighing, e, weighing->weights);
    standing->slip = slip;
    return true;
}

/* Only what came after the last repair can be read once more; the oven before it is gone. */
static bool find_contradictions(const Weighing *weighing, Standing *standing)
{
    const size_t n = (size_t)weighing->model->hypothesis_count;
    Contradiction *list =
        ARENA_ARRAY(weighing->arena, Contradiction, (size_t)weighing->call->entry_count + 1);
    double *log_without = ARENA_ARRAY(weighing->arena, double, n);
    if (!list || !log_without) return false;
    int count = 0;
    for (int e = weighing->last_repair + 1; e < weighing->call->entry_count; e++) {
        if (!weighing->log_likelihood[e]) continue;
        if (standing->slip[e] < SUSPICIOUS_SLIP || is_answered(list, count, e)) continue;
        list[count++] = (Contradiction){e, find_opponent(weighing, e, log_without), standing->slip[e]};
    }
    standing->contradictions = list;
    standing->contradiction_count = count;
    return true;
}

/* Equals by their number, so that the order does not hang on the sorting routine of the C library. */
static int by_probability(const void *a, const void *b)
{
    const Suspect *first = a, *second = b;
    if (first->probability != second->probability) return first->probability < second->probability ? 1 : -1;
    return first->group - second->group;
}

static Suspect suspect_of(const Weighing *weighing, int group)
{
    return (Suspect){group, weighing->after[group], weighing->factors[group]};
}

static bool list_suspects(const Weighing *weighing, Standing *standing)
{
    const int groups = weighing->model->group_count;
    Suspect *suspects = ARENA_ARRAY(weighing->arena, Suspect, (size_t)groups);
    if (!suspects) return false;
    sum_groups(weighing->model, weighing->weights, weighing->after);
    for (int g = 1; g < groups; g++) suspects[g - 1] = suspect_of(weighing, g);
    qsort(suspects, (size_t)groups - 1, sizeof *suspects, by_probability);
    standing->suspects = suspects;
    standing->suspect_count = groups - 1;
    standing->nothing_wrong = suspect_of(weighing, 0);
    return true;
}

static bool set_up(Weighing *weighing)
{
    const size_t entries = (size_t)weighing->call->entry_count, groups = (size_t)weighing->model->group_count;
    weighing->weights = ARENA_ARRAY(weighing->arena, double, (size_t)weighing->model->hypothesis_count);
    weighing->worth = ARENA_ARRAY(weighing->arena, double, (size_t)weighing->model->hypothesis_count);
    weighing->log_likelihood = ARENA_ARRAY(weighing->arena, double *, entries);
    weighing->slip = ARENA_ARRAY(weighing->arena, double *, entries);
    weighing->factors = ARENA_ARRAY(weighing->arena, double *, groups);
    double *factors = ARENA_ARRAY(weighing->arena, double, groups *entries);
    weighing->before = ARENA_ARRAY(weighing->arena, double, groups);
    weighing->after = ARENA_ARRAY(weighing->arena, double, groups);
    weighing->scratch = ARENA_ARRAY(weighing->arena, double, (size_t)weighing->model->hypothesis_count);
    if (!weighing->weights || !weighing->worth || !weighing->log_likelihood || !weighing->slip ||
        !weighing->factors || !factors)
        return false;
    if (!weighing->before || !weighing->after || !weighing->scratch) return false;
    for (size_t i = 0; i < groups * entries; i++) factors[i] = 1;
    for (size_t g = 0; g < groups; g++) weighing->factors[g] = factors + g * entries;
    for (int h = 0; h < weighing->model->hypothesis_count; h++)
        weighing->weights[h] = weighing->model->hypotheses[h].prior;
    return true;
}

/* Prior, entries, suspects, contradictions: the routine that the whole program is about. */
bool diagnose(DiagnosisModel *model, const Call *call, Arena *arena, Standing *standing, Error *error)
{
    Weighing weighing = {.model = model, .call = call, .arena = arena, .last_repair = -1};
    *standing = (Standing){.model = model, .call = call};
    if (!set_up(&weighing)) return error_memory(error);
    if (!take_visit(&weighing, error)) return false;
    standing->probability = weighing.weights;
    const bool is_whole = list_suspects(&weighing, standing) && find_slips(&weighing, standing) &&
                          find_contradictions(&weighing, standing);
    return is_whole || error_memory(error);
}
