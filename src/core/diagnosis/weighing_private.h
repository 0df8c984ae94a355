/* weighing_private.h: the weights of the hypotheses while the entries of a call are taken one by one.
 *
 * Lives here: what standing.c and repair.c share. Not here: what an entry says (likelihood.c and others). */
#ifndef CORE_DIAGNOSIS_WEIGHING_PRIVATE_H
#define CORE_DIAGNOSIS_WEIGHING_PRIVATE_H

#include "core/diagnosis/diagnosis_private.h"

/* What is known of each entry while the standing is made. */
typedef struct {
    DiagnosisModel *model;
    const Call *call;
    Arena *arena;
    double *weights;         /* [hypotheses] */
    double *worth;           /* [hypotheses]: the weight that decides whether a run is simulated under them */
    double **log_likelihood; /* [entries], NULL where the entry is not weighed */
    double **slip;           /* [entries][hypotheses]: share of the likelihood that a slip accounts for */
    double **factors;        /* [groups][entries] */
    double *before, *after;  /* [groups]: sums of weights, while an entry is explained */
    double *scratch;         /* [hypotheses] */
    Residual *residuals;     /* [hypotheses] of the last run; NULL before the first */
    int last_repair;         /* entries before it speak of an oven that is no more */
} Weighing;

/* Room for what was off and what was turned, once a run or an adjustment needs it; false: memory is out. */
bool diagnosis__begin_residuals(Weighing *weighing) MUST_CHECK;

/* Moves the weight of what the repair cures to what is left; false: memory is out. */
bool diagnosis__repair(Weighing *weighing, const Entry *repair) MUST_CHECK;

#endif
