/* policy.h: who says what to do next on a virtual call.
 *
 * Lives here: the policies that are played against each other, and what is noted of advice on the way. Not
 * here: carrying it out (technician.h), the score (score.h).
 * Ownership: customs live in the model's arena and serve any number of calls. */
#ifndef CALLS_POLICY_H
#define CALLS_POLICY_H

#include "technician.h"

/* A probability that was said, and whether it came true. */
typedef struct {
    float said;
    bool came;
} Said;

enum { ADVICE_MOST_SAID = 256 };

/* What is noted of one call's advice. */
typedef struct {
    Said first_repair;               /* said 0: nothing was repaired */
    Said suspects[ADVICE_MOST_SAID]; /* above 1 %, at moments drawn at random */
    int suspect_count, moments;
    float diagnose_ms[TECHNICIAN_MOST_STEPS], plan_ms[TECHNICIAN_MOST_STEPS];
    int count;
} Advice;

/* What a technician without a computer knows of this appliance: the expected reading of every check, worked
 * out when first asked for, and how a sound oven of this type runs. */
typedef struct {
    DiagnosisModel *model;
    const Expectation **expected; /* [checks] */
    uint64_t *
        sound_words; /* [checks]: bits of the words that a sound part shows to a look; 0: not asked for yet */
    Behaviour sound_run;
} Customs;

bool customs_begin(DiagnosisModel *model, double run_second, Customs *customs, Error *error) MUST_CHECK;

/* Each plays a call that has begun until it is closed or handed over. */
bool policy_ours(Technician *technician, Advice *advice, Error *error) MUST_CHECK;
bool policy_customary(Technician *technician, Customs *customs, Error *error) MUST_CHECK;
bool policy_seasoned(Technician *technician, Customs *customs, Error *error) MUST_CHECK;
bool policy_information(Technician *technician, Error *error) MUST_CHECK;

#endif
