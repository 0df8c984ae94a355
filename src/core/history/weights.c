/* weights.c: stated priors, updated by what was confirmed.
 *
 * Two steps, so that ten calls on a rare appliance neither overturn its file nor count for nothing: what all
 * families say of a way of failing moves the family's mean, and the family's own calls are weighed against
 * that mean. Both prior weights are numbers of calls that a shop can see and change.
 *
 * Bad at: what changes with the years. A call of long ago counts as much as one of last week. */
#include "core/history/history.h"

#include <math.h>

HistoryTerms history_default_terms(void) { return (HistoryTerms){.prior_calls = 200, .pooling_calls = 20}; }

static bool is_amount(double value) { return value >= 0 && isfinite(value); }

static bool check_family(const HistoryFamily *family, int key_count, Error *error)
{
    double sum = 0;
    for (int i = 0; i < family->fault_count; i++) {
        if (!is_amount(family->prior[i]) || !is_amount(family->count[i]))
            return error_set(error, ERROR_OUT_OF_RANGE, "prior or count of a fault", "0 or more");
        if (family->key[i] < 0 || family->key[i] >= key_count)
            return error_set(error, ERROR_OUT_OF_RANGE, "key of a fault", "a number below %d", key_count);
        sum += family->prior[i];
    }
    return fabs(sum - 1) < 1e-6
               ? true
               : error_set(error, ERROR_INCONSISTENT, "priors of a family", "shares that sum to 1");
}

static double total(const HistoryFamily *family)
{
    double sum = 0;
    for (int i = 0; i < family->fault_count; i++) sum += family->count[i];
    return sum;
}

/* rate[k] and its prior's share in it. */
static void find_rates(const HistoryFamily *families, int family_count, int key_count, double pooling_calls,
                       double *rate, double *prior_share)
{
    for (int k = 0; k < key_count; k++) {
        double observed = 0, expected = 0;
        for (int f = 0; f < family_count; f++) {
            const double calls = total(&families[f]);
            for (int i = 0; i < families[f].fault_count; i++) {
                if (families[f].key[i] != k) continue;
                observed += families[f].prior[i] > 0 ? families[f].count[i] : 0;
                expected += calls * families[f].prior[i];
            }
        }
        rate[k] = (observed + pooling_calls) / (expected + pooling_calls);
        prior_share[k] = pooling_calls / (expected + pooling_calls);
    }
}

bool history_weights(const HistoryFamily *families, int family_count, int key_count,
                     const HistoryTerms *terms, int number, Arena *arena, double *weights,
                     HistoryShare *share, Error *error)
{
    const HistoryFamily *family = &families[number];
    double *rate = ARENA_ARRAY(arena, double, (size_t)key_count);
    double *prior_share = ARENA_ARRAY(arena, double, (size_t)key_count);
    if (!rate || !prior_share) return error_memory(error);
    if (!(terms->prior_calls > 0 && terms->pooling_calls > 0) ||
        !isfinite(terms->prior_calls + terms->pooling_calls))
        return error_set(error, ERROR_OUT_OF_RANGE, "weight of the priors", "a number of calls above 0");
    for (int f = 0; f < family_count; f++)
        if (!check_family(&families[f], key_count, error)) return false;
    find_rates(families, family_count, key_count, terms->pooling_calls, rate, prior_share);
    double mean_sum = 0, from_prior = 0;
    for (int i = 0; i < family->fault_count; i++) mean_sum += family->prior[i] * rate[family->key[i]];
    const double calls = total(family), all = terms->prior_calls + calls;
    for (int i = 0; i < family->fault_count; i++) {
        const double mean = family->prior[i] * rate[family->key[i]] / mean_sum;
        weights[i] = (terms->prior_calls * mean + family->count[i]) / all;
        from_prior += mean * prior_share[family->key[i]];
    }
    const double of_mean = terms->prior_calls / all;
    *share = (HistoryShare){
        .prior = of_mean * from_prior, .others = of_mean * (1 - from_prior), .own = calls / all};
    return true;
}

void history_count(const HistoryCall *calls, int call_count, int family, int fault_count, double *counts)
{
    for (int i = 0; i < fault_count; i++) counts[i] = 0;
    for (int c = 0; c < call_count; c++) {
        if (calls[c].family != family || calls[c].closings == 0) continue;
        for (int i = 0; i < calls[c].fault_count; i++)
            if (calls[c].faults[i] >= 0 && calls[c].faults[i] < fault_count) counts[calls[c].faults[i]]++;
    }
}
