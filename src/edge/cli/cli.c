/* cli.c: from argv to a command and back to an exit status. It parses by the rows of command.h, calls one
 * handler, and writes what that has put together.
 *
 * Policy: words and options that the command does not take are refused before any file is opened; a command
 * either gives its whole answer or an error and nothing; a usage error names what would have been right. No
 * command asks questions or waits for input, so all of them can be used in scripts. */
#include "edge/cli/cli.h"

#include "edge/cli/command.h"
#include "edge/files/files.h"
#include "edge/machine/machine.h"

#include <assert.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

/* Far above what the largest appliance needs (33 MiB), far below what would trouble a small machine; an
 * answer lists a few thousand suspects at the most. */
enum { ARENA_LIMIT = 512 << 20, ANSWER_LIMIT = 64 << 20 };

/* An option begins with a minus sign and a letter or another minus sign; `-40C` is a temperature. */
static bool is_option(const char *word)
{
    return word[0] == '-' && (word[1] == '-' || (word[1] >= 'a' && word[1] <= 'z'));
}

/* Only the command's own options are known: one of another command is as wrong as a misspelled one, and the
 * nearest of its own is offered. */
static bool find_option(const Command *command, const char *word, OptionCode *code, Error *error)
{
    const char *known[OPTION_COUNT];
    size_t count = 0;
    for (int i = 0; i < OPTION_COUNT; i++) {
        if (!(command->options & (UINT64_C(1) << i))) continue;
        known[count++] = cli__options[i].typed;
        if (strcmp(cli__options[i].typed, word) != 0) continue;
        *code = (OptionCode)i;
        return true;
    }
    const char *nearest = text_nearest(word, known, count);
    error_set(error, ERROR_USAGE, word, "an option of `%s`", command->typed);
    if (nearest) return error_hint(error, "did you mean %s?", nearest);
    return error_hint(error, "`ovenwright help %s` lists its options", command->typed);
}

/* Takes the option at words[*at] and the words that belong to it. */
static bool take_option(const Command *command, const char *const *words, int count, int *at,
                        Invocation *invocation, Error *error)
{
    OptionGiven given = {0};
    const char *typed = words[(*at)++];
    if (!find_option(command, typed, &given.code, error)) return false;
    const OptionRow *row = &cli__options[given.code];
    assert(row->words <= COMMAND_MOST_WORDS);
    if (count - *at < row->words)
        return error_set(error, ERROR_USAGE, typed, "%s %s", row->typed, row->sketch);
    for (int i = 0; i < row->words; i++) given.words[i] = words[(*at)++];
    if (invocation->option_count == COMMAND_MOST_OPTIONS)
        return error_set(error, ERROR_USAGE, typed, "at most %d options", COMMAND_MOST_OPTIONS);
    invocation->options[invocation->option_count++] = given;
    return true;
}

/* Options and arguments may stand in any order; what is left over is an error, never ignored. */
static bool take_words(const Command *command, const char *const *words, int count, Invocation *invocation,
                       Error *error)
{
    for (int at = 0; at < count;) {
        if (is_option(words[at])) {
            if (!take_option(command, words, count, &at, invocation, error)) return false;
        } else if (invocation->argument_count < command->most) {
            invocation->arguments[invocation->argument_count++] = words[at++];
        } else {
            return error_set(error, ERROR_USAGE, words[at], "nothing more after `%s %s`", command->typed,
                             command->sketch);
        }
    }
    if (invocation->argument_count >= command->least) return true;
    return error_set(error, ERROR_USAGE, "too few words", "`ovenwright %s %s`", command->typed,
                     command->sketch);
}

/* No command at all is wrong usage too, not a greeting: a script that lost its arguments should stop. */
static bool no_such_command(const char *const *words, int count, Error *error)
{
    error_set(error, ERROR_USAGE, count ? words[0] : "no command", "a command");
    return error_hint(error, "`ovenwright help` lists them");
}

/* `--help` anywhere asks about the command that stands before it. */
static int find_help(const char *const *words, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(words[i], "--help") == 0) return i;
    return -1;
}

/* An answer that did not fit is lack of memory, not half an answer. */
static bool run_words(const char *const *words, int count, Invocation *invocation, Error *error)
{
    const int help = find_help(words, count);
    if (help >= 0) {
        invocation->argument_count = help < 2 ? help : 2;
        for (int i = 0; i < invocation->argument_count; i++) invocation->arguments[i] = words[i];
        return cli__help(invocation, error);
    }
    int taken = 0;
    const Command *command = cli__find_command(words, count, &taken);
    if (!command) return no_such_command(words, count, error);
    assert(command->most <= COMMAND_MOST_ARGUMENTS);
    if (!take_words(command, words + taken, count - taken, invocation, error)) return false;
    if (!command->run(invocation, error)) return false;
    if (invocation->out.is_cut) return error_memory(error);
    return true;
}

/* The one place that writes to standard error. If even that fails nobody can be told. */
static int report(const Error *error)
{
    char line[1400];
    error_line(error, line, sizeof line);
    fprintf(stderr, "ovenwright: %s\n", line);
    return error_exit_status(error->code);
}

/* The answer is written once, after the handler has succeeded: a reader of standard output gets all of it or
 * nothing. */
int cli_run(int argc, char *const *argv)
{
    machine_use_large_pages();
    signal(SIGPIPE, SIG_IGN); /* a reader that has gone away is a failed write like any other */
    Arena arena = arena_new(ARENA_LIMIT);
    Invocation invocation = {.arena = &arena,
                             .out = text_builder(&arena, ANSWER_LIMIT),
                             .notes = text_builder(&arena, ANSWER_LIMIT)};
    Error error = {0};
    int status = 0;
    if (!run_words((const char *const *)argv + 1, argc - 1, &invocation, &error) ||
        !files_write(NULL, (Text){text_string(&invocation.out), invocation.out.length}, &error))
        status = report(&error);
    else
        status = invocation.exit_status;
    fputs(text_string(&invocation.notes), stderr);
    arena_free(&arena);
    return status;
}
