/* history.h: what a shop's closed calls teach.
 *
 * Lives here: how often each fault is to be expected on an appliance family, from stated priors and from what
 * was confirmed; how well calls went; whether probabilities that were said came true. Not here: which calls
 * there are (the store), what a standing is (diagnosis), sentences (words).
 *
 * A family is what shares a list of faults: an appliance file. A key names the same way of failing in several
 * families (`element.open`), so that one family learns from another without being taken for it.
 *
 * Units: calls, minutes, probabilities. Ownership: plain arrays of the caller's; nothing is kept. */
#ifndef CORE_HISTORY_H
#define CORE_HISTORY_H

#include "base/arena.h"
#include "base/error.h"

/* Fault 0 of every family is 'nothing wrong', and so is key 0. */
typedef struct {
    const double *prior; /* [fault_count], as the appliance file has them; sums to 1 */
    const int *key;      /* [fault_count], from 0 below key_count */
    const double *count; /* [fault_count]: calls in which it was confirmed */
    int fault_count;
} HistoryFamily;

/* How many calls the priors are worth; a shop changes them. Common practice, no source. */
typedef struct {
    double prior_calls;   /* of the family, against its own calls */
    double pooling_calls; /* of each key, against the calls of all families */
} HistoryTerms;

HistoryTerms history_default_terms(void);

/* Where the new weights come from; they sum to 1. */
typedef struct {
    double prior, others, own; /* the file; calls of all families, by key; this family's calls */
} HistoryShare;

/* weights[fault_count] of families[family]: the expected shares of its faults in its next calls; they sum
 * to 1.
 *
 *   relative rate of a key    rho_k = (O_k + a) / (E_k + a)     O, E: confirmed and expected over all
 * families mean of the family        m_i ~ prior_i rho_key(i) weight                    w_i = (A m_i +
 * count_i) / (A + sum of counts)
 *
 * The first is the posterior mean of a relative rate under a gamma prior of mean 1 and `a` expected cases (D.
 * Clayton, J. Kaldor, Biometrics 43 (1987) 671, with the prior stated instead of estimated), the last that of
 * a multinomial under a Dirichlet prior of A calls (A. Gelman et al., Bayesian Data Analysis, 3rd ed.,
 * section 3.4). A fault whose prior is 0 keeps what was confirmed of it alone. Errors: memory; priors or
 * counts that are negative, not finite or sum to nothing, keys out of range, terms that are not positive. */
bool history_weights(const HistoryFamily *families, int family_count, int key_count,
                     const HistoryTerms *terms, int family, Arena *arena, double *weights,
                     HistoryShare *share, Error *error) MUST_CHECK;

enum { HISTORY_MOST_FAULTS = 4, HISTORY_BINS = 10 };

/* A call as far as history goes. */
typedef struct {
    int family;
    int faults[HISTORY_MOST_FAULTS]; /* confirmed at the last closing; {0}: nothing wrong */
    int fault_count;                 /* 0: not confirmed, so nothing is learned from it */
    int closings, visits;            /* closed more than once: it came back */
    double minute;                   /* of work, over all visits */
    double said;   /* probability given to what was confirmed when the first repair was made; or */
    bool has_said; /* to another fault, when something else was confirmed */
    bool came;
} HistoryCall;

/* counts[fault_count] of a family: what was confirmed, each fault of a call once. A callback corrects: only
 * the last closing counts. */
void history_count(const HistoryCall *calls, int call_count, int family, int fault_count, double *counts);

typedef struct {
    int count, came;
    double said; /* mean of the bin */
} HistoryBin;

typedef struct {
    int calls, closed, callbacks, first_visit; /* first_visit: closed once, after one visit */
    double first_visit_share, low, high;       /* of the closed calls, with its 95 % interval */
    double minute;                             /* mean of the closed calls */
    HistoryBin bins[HISTORY_BINS];             /* tenths of what was said */
} HistoryFigures;

/* Of all calls of a family, or of all with -1. Shares of nothing are NAN. The interval is Wilson's score
 * interval (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209), which does not leave 0 to 1. */
HistoryFigures history_figures(const HistoryCall *calls, int call_count, int family);

#endif
