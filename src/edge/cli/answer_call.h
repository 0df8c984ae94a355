/* answer_call.h: the whole answer to a call, wherever it was kept.
 *
 * Lives here: warnings, suspects, next steps, as text or JSON, by the invocation's options. Not here: where
 * the call comes from and what it says (edge/desk). Ownership: the invocation's arena and builders. */
#ifndef EDGE_CLI_ANSWER_CALL_H
#define EDGE_CLI_ANSWER_CALL_H

#include "edge/cli/command.h"
#include "edge/desk/desk.h"

/* Added to the invocation's answer. */
bool answer_call(Invocation *invocation, const DeskSource *source, Error *error) MUST_CHECK;

#endif
