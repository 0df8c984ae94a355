/* log_answer.h: what is said and drawn of temperature logs.
 *
 * Lives here: figures, plot, findings and advice as text. Not here: reading what
 * was typed (command_run.c), figures (core/run), sentences (format/words). Ownership: everything lives in the
 * invocation's arena. */
#ifndef EDGE_CLI_LOG_ANSWER_H
#define EDGE_CLI_LOG_ANSWER_H

#include "core/run/run.h"
#include "edge/cli/command.h"
#include "edge/cli/load.h"
#include "format/log_text/log_text.h"
#include "format/plot/plot.h"

enum { LOG_ANSWER_MOST_ASSUMPTIONS = 24 };

/* Logs in the order of the command line, what they say, and what follows from all of them. */
typedef struct {
    Invocation *invocation;
    Words words;
    LogText logs[COMMAND_MOST_ARGUMENTS];
    Run runs[COMMAND_MOST_ARGUMENTS];
    RunTerms terms;
    RunControl control;
    RunAdvice advice;
    double tolerance_kelvin; /* nothing is to be done within it */
    const char *columns[COMMAND_MOST_ARGUMENTS];
    const char *assumptions[LOG_ANSWER_MOST_ASSUMPTIONS], *said[LOG_ANSWER_MOST_ASSUMPTIONS];
    int count, assumption_count;
} LogAnswer;

/* All of the answer as text, into the invocation's. */
bool cli__say_logs(const LogAnswer *answer, Error *error) MUST_CHECK;

#endif
