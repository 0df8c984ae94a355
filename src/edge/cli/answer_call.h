/* answer_call.h: what is said of a call, wherever it was kept.
 *
 * Lives here: reading a call's file from bytes, and the whole answer to it: standing, warnings, next steps,
 * as text or JSON, by the invocation's options. Not here: where the bytes come from (a file: diagnose; the
 * store: call show). Ownership: the invocation's arena and builders. */
#ifndef EDGE_CLI_ANSWER_CALL_H
#define EDGE_CLI_ANSWER_CALL_H

#include "edge/cli/command.h"
#include "edge/cli/runs.h"

/* A call names its appliance, so its head is read first, then the appliance, then the entries. */
bool answer_read_call(const char *name, Text bytes, Arena *arena, Appliance *appliance, Call *call,
                      Error *error) MUST_CHECK;

/* Added to the invocation's answer; `name` is for messages. */
bool answer_call(Invocation *invocation, const char *name, Text bytes, RunsRead *read, void *context,
                 Error *error) MUST_CHECK;

#endif
