/* weighing_private.h: the weights of the hypotheses while the entries of a call are taken one by one.
 *
 * Lives here: what standing.c and repair.c share. Not here: what an entry says (likelihood.c and others). */
#ifndef CORE_DIAGNOSIS_WEIGHING_PRIVATE_H
#define CORE_DIAGNOSIS_WEIGHING_PRIVATE_H

#include "core/diagnosis/diagnosis_private.h"

/* What the runs before showed: of an oven that was all along as the hypothesis says, and of one that a repair
 * has made so. Was it the wrong repair, the oven goes on as before, and nothing was mended. */
typedef struct {
    Residual own, inherited;
    double share;    /* of the hypothesis' weight, of what a repair has made so */
    double heaviest; /* weight of the hypothesis that `inherited` is of */
} Past;

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
    Past *pasts;             /* [hypotheses]; NULL before the first temperature or adjustment */
    int last_repair;         /* entries before it speak of an oven that is no more */
} Weighing;

/* Room for what was off and what was turned, once a run or an adjustment needs it; false: memory is out. */
bool diagnosis__begin_pasts(Weighing *weighing) MUST_CHECK;

/* Moves the weight of what the repair cures to what is left; false: memory is out. */
bool diagnosis__repair(Weighing *weighing, const Entry *repair) MUST_CHECK;

#endif
