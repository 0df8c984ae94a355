/* play.h: the same calls for every policy.
 *
 * Lives here: one call played by each policy asked for, and all calls of an appliance in two processes. Not
 * here: what the results mean (score.h). Ownership: the results are the caller's.
 * The result does not depend on how many processes share the work: a call is drawn from its own seed, and
 * what the models remember are only values that they would compute again. */
#ifndef CALLS_PLAY_H
#define CALLS_PLAY_H

#include "policy.h"

#define POLICY_LIST(X)                                                                                       \
    X(OURS, "ours") X(CUSTOMARY, "customary") X(SEASONED, "seasoned") X(INFORMATION, "information")
typedef enum {
#define X(code, name) POLICY_##code,
    POLICY_LIST(X)
#undef X
        POLICY_COUNT
} PolicyCode;

const char *play_policy_name(PolicyCode policy);

typedef struct {
    uint64_t seed;
    int calls;
    bool plays[POLICY_COUNT], only_sound;
    PlanTerms terms;
} PlayTerms;

typedef struct {
    int drawn[CIRCUIT_MOST_FAULTS], drawn_count;
    bool was_sound; /* but for what is explained to the owner */
    Books books[POLICY_COUNT];
    Advice advice; /* of ours */
} Played;

/* An appliance with what lasts over its calls. */
typedef struct {
    Appliance appliance;
    DiagnosisModel model;
    Customs customs;
} Bench;

bool play_begin(const Appliance *appliance, const PlanTerms *terms, Arena *arena, Bench *bench,
                Error *error) MUST_CHECK;

/* Call number `call`; a trail of each policy goes to `trail` unless it is NULL. */
bool play_call(Bench *bench, const PlayTerms *terms, int call, FILE *trail, Played *played,
               Error *error) MUST_CHECK;

/* All calls, in two processes. */
bool play_all(Bench *bench, const PlayTerms *terms, Played *played, Error *error) MUST_CHECK;

#endif
