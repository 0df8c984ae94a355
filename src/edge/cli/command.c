/* command.c: the rows of command.h as tables, and looking things up in them.
 *
 * Rows become tables here and nowhere else: a command that is in the list is parsed, helped and called, one
 * that is not does not exist. */
#include "edge/cli/command.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const Command cli__commands[] = {
#define X(handler, typed, sketch, least, most, options, says)                                                \
    {typed, sketch, least, most, options, says, cli__##handler},
    COMMAND_LIST(X)
#undef X
};

const int cli__command_count = sizeof cli__commands / sizeof cli__commands[0];

const OptionRow cli__options[OPTION_COUNT] = {
#define X(code, typed, sketch, words, says) {typed, sketch, words, says},
    OPTION_LIST(X)
#undef X
};

/* Is `typed` these words with single spaces between them? */
static bool is_typed(const char *typed, const char *const *words, int count)
{
    for (int i = 0; i < count; i++) {
        const size_t length = strlen(words[i]);
        if (strncmp(typed, words[i], length) != 0) return false;
        typed += length;
        if (*typed != (i + 1 < count ? ' ' : '\0')) return false;
        typed++;
    }
    return true;
}

/* The longer name first: `appliance show` before a command `appliance`, should there be one some day. */
const Command *cli__find_command(const char *const *words, int count, int *taken)
{
    for (int length = count < 2 ? count : 2; length > 0; length--) {
        for (int i = 0; i < cli__command_count; i++) {
            if (!is_typed(cli__commands[i].typed, words, length)) continue;
            *taken = length;
            return &cli__commands[i];
        }
    }
    return NULL;
}

/* From the back: the last one typed wins, as people expect who repeat a line and add to it. */
const char *cli__option(const Invocation *invocation, OptionCode code, const char *otherwise)
{
    assert(code >= 0 && code < OPTION_COUNT && cli__options[code].words > 0);
    for (int i = invocation->option_count - 1; i >= 0; i--)
        if (invocation->options[i].code == code) return invocation->options[i].words[0];
    return otherwise;
}

bool cli__has_option(const Invocation *invocation, OptionCode code)
{
    for (int i = 0; i < invocation->option_count; i++)
        if (invocation->options[i].code == code) return true;
    return false;
}

const char *cli__language(void) { return getenv("OVENWRIGHT_LANGUAGE"); }
