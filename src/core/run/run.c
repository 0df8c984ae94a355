/* run.c: the words of findings, actions and reasons. */
#include "core/run/run.h"

#include <assert.h>

#define X(code, word) word,
static const char *const finding_words[] = {RUN_FINDING_LIST(X)};
static const char *const action_words[] = {RUN_ACTION_LIST(X)};
static const char *const reason_words[] = {RUN_REASON_LIST(X)};
#undef X

const char *run_finding_word(RunFindingCode code)
{
    assert((int)code >= 0 && code < RUN_FINDING_COUNT);
    return finding_words[code];
}

const char *run_action_word(RunAction action)
{
    assert((int)action >= 0 && action < RUN_ACTION_COUNT);
    return action_words[action];
}

const char *run_reason_word(RunReason reason)
{
    assert((int)reason >= 0 && reason < RUN_REASON_COUNT);
    return reason_words[reason];
}

/* Lists are short; no index is worth its upkeep. */
bool run_has_finding(const Run *run, RunFindingCode code)
{
    for (int i = 0; i < run->finding_count; i++)
        if (run->findings[i].code == code) return true;
    return false;
}
