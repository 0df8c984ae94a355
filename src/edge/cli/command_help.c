/* command_help.c: `ovenwright help [COMMAND]`, made from the rows of command.h.
 *
 * Help that was asked for is an answer: standard output, status 0. It is English only, like the names of
 * commands and options. */
#include "edge/cli/command.h"

#include <stdio.h>

enum { HELP_COLUMN = 30 };

/* `typed sketch`, padded to the column, then what it does. */
static void add_row(TextBuilder *out, const char *typed, const char *sketch, const char *says)
{
    char left[120];
    snprintf(left, sizeof left, "%s%s%s", typed, *sketch ? " " : "", sketch);
    text_addf(out, "  %-*s  %s\n", HELP_COLUMN, left, says);
}

static void add_all_commands(TextBuilder *out)
{
    text_add(out, "Finds what is wrong with an electric oven that does not heat properly.\n\n"
                  "usage: ovenwright COMMAND ...\n\n");
    for (int i = 0; i < cli__command_count; i++)
        add_row(out, cli__commands[i].typed, cli__commands[i].sketch, cli__commands[i].says);
    text_add(out,
             "\nA is the name of a shipped appliance or a path to its file. Quantities carry their unit:\n"
             "350F, 177C, 19.2ohm, 1.08kohm, 236V, 11.4A, 2500W.\n"
             "`ovenwright help COMMAND` lists the options of a command.\n\n"
             "Exit status: 0 done, 2 wrong usage, 3 bad input data, 4 a file failed, 70 a defect of ours.\n");
}

/* Options are listed as the rows have them, so that help and parser cannot part ways. */
static void add_one_command(TextBuilder *out, const Command *command)
{
    text_addf(out, "usage: ovenwright %s%s%s%s\n\n%s.\n", command->typed, *command->sketch ? " " : "",
              command->sketch, command->options ? " [OPTION]..." : "", command->says);
    if (command->options) text_add(out, "\n");
    for (int i = 0; i < OPTION_COUNT; i++)
        if (command->options & (UINT64_C(1) << i))
            add_row(out, cli__options[i].typed, cli__options[i].sketch, cli__options[i].says);
}

bool cli__help(Invocation *invocation, Error *error)
{
    if (invocation->argument_count == 0) {
        add_all_commands(&invocation->out);
        return true;
    }
    int taken = 0;
    const Command *command = cli__find_command(invocation->arguments, invocation->argument_count, &taken);
    if (!command)
        return error_set(error, ERROR_USAGE, invocation->arguments[0],
                         "a command; `ovenwright help` lists them");
    add_one_command(&invocation->out, command);
    return true;
}
