/* answer_call.h: what is said of a call, wherever it was kept.
 *
 * Lives here: reading a call's file from bytes, its standing, and the whole answer to it: warnings, suspects,
 * next steps, as text or JSON, by the invocation's options. Not here: where the bytes come from (a file:
 * diagnose; the store: call show). Ownership: the invocation's arena and builders. */
#ifndef EDGE_CLI_ANSWER_CALL_H
#define EDGE_CLI_ANSWER_CALL_H

#include "core/diagnosis/diagnosis.h"
#include "edge/cli/command.h"
#include "edge/cli/learned.h"
#include "edge/cli/runs.h"

/* A call names its appliance, so its head is read first, then the appliance, then the entries. */
bool answer_read_call(const char *name, Text bytes, Arena *arena, Appliance *appliance, Call *call,
                      Error *error) MUST_CHECK;

typedef struct AnswerSource AnswerSource;

/* May move the chances of the appliance's faults before anything is worked out. */
typedef bool AnswerTeach(const AnswerSource *source, const Call *call, Appliance *appliance, Error *error);

/* Where a call comes from. */
struct AnswerSource {
    const char *name; /* for messages */
    Text bytes;       /* a call file */
    RunsRead *read;
    AnswerTeach *teach; /* NULL: the chances of the appliance's file */
    Learned *learned;   /* what it says of how it moved them */
    void *context;      /* of both */
};

/* A call read, with what it says. The model points into the rest, so it stays where it was made. */
typedef struct {
    Appliance appliance;
    Call call;
    BehaviourMemory memory;
    DiagnosisModel model;
    Standing standing;
    int imagined; /* the last entries, which --if gave */
} AnswerStanding;

bool answer_stand(Invocation *invocation, const AnswerSource *source, AnswerStanding *stands,
                  Error *error) MUST_CHECK;

/* The whole answer, added to the invocation's. */
bool answer_call(Invocation *invocation, const AnswerSource *source, Error *error) MUST_CHECK;

#endif
