/* apart.h: which checks take a set of hypotheses apart best.
 *
 * Lives here: expected entropy of equally likely hypotheses over the joint outcomes of some checks. Not here:
 * prices and what a check needs (plan). */
#ifndef SUPPORT_APART_H
#define SUPPORT_APART_H

#include "core/diagnosis/diagnosis.h"

enum { APART_MOST = 3 };

typedef struct {
    int checks[APART_MOST];
    double left[APART_MOST]; /* so many equally likely hypotheses would be as uncertain as what is left */
    int count;
} Apart;

/* One check after the other, each that which leaves least; fewer where none takes a twentieth of a nat. */
Apart apart(DiagnosisModel *model, const int *hypotheses, int count);

void apart_print_check(const Appliance *appliance, int check);

#endif
