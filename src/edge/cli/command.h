/* command.h: the commands and options of the program as rows.
 *
 * Lives here: what the parser, the help and the handlers make of the two lists; what a handler gets. Not
 * here: the lists (command_list.h), what a command does (command_<name>.c). Adding a command is that file and
 * one row. Ownership: an Invocation's text is argv's or its arena's. */
#ifndef EDGE_CLI_COMMAND_H
#define EDGE_CLI_COMMAND_H

#include <stdint.h>

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "edge/cli/command_list.h"

typedef enum {
#define X(code, typed, sketch, words, says) OPTION_##code,
    OPTION_LIST(X)
#undef X
        OPTION_COUNT
} OptionCode;

#define OPTION(code) (UINT64_C(1) << OPTION_##code)

enum { COMMAND_MOST_ARGUMENTS = 8, COMMAND_MOST_OPTIONS = 64, COMMAND_MOST_WORDS = 2 };

typedef struct {
    OptionCode code;
    const char *words[COMMAND_MOST_WORDS];
} OptionGiven;

typedef struct {
    const char *arguments[COMMAND_MOST_ARGUMENTS];
    int argument_count;
    OptionGiven options[COMMAND_MOST_OPTIONS];
    int option_count;
    Arena *arena;
    TextBuilder notes; /* for standard error, beside the answer */
    TextBuilder out;   /* the answer; written to standard output once the handler has succeeded */
    int exit_status;   /* of a handler that succeeded: 0, or 3 when it has judged something and found fault */
} Invocation;

/* False: `error` decides message and exit status, and nothing of the answer is written. */
typedef bool CommandHandler(Invocation *invocation, Error *error);

typedef struct {
    const char *typed, *sketch;
    int least, most;  /* arguments */
    uint64_t options; /* OPTION(...) bits */
    const char *says;
    CommandHandler *run;
} Command;

typedef struct {
    const char *typed, *sketch;
    int words;
    const char *says;
} OptionRow;

#define X(handler, ...) CommandHandler cli__##handler;
COMMAND_LIST(X)
#undef X

/* The rows, in the order of the lists. */
extern const Command cli__commands[];
extern const int cli__command_count;
extern const OptionRow cli__options[OPTION_COUNT];

/* The command that the words begin with (one word or two) and how many words that took; NULL when there is
 * none. */
const Command *cli__find_command(const char *const *words, int count, int *taken);

/* The last value given for an option (its first word), or `otherwise`. */
const char *cli__option(const Invocation *invocation, OptionCode code, const char *otherwise);
/* Of OVENWRIGHT_LANGUAGE; NULL: nobody said. */
const char *cli__language(void);
bool cli__has_option(const Invocation *invocation, OptionCode code);

#endif
