/* command_call_list.c: `ovenwright call list [WORD]...`: one line for each call, the latest changed first. */
#include "edge/cli/shelf.h"
#include "format/record_text/record_text.h"

enum { WORDS_LIMIT = 2000, SHORT_ID = 8, TO_THE_MINUTE = 16 };

static void say_call(Invocation *invocation, const StoreSummary *summary)
{
    static const char *const phases[] = {[TRAIL_IS_NOTHING] = "-",
                                         [TRAIL_IS_OPEN] = "open",
                                         [TRAIL_IS_CLOSED] = "closed",
                                         [TRAIL_IS_REOPENED] = "reopened"};
    char at[RECORD_TEXT_TIME_SIZE];
    record_text_write_time(summary->changed_millisecond, at);
    at[10] = ' ';
    text_addf(&invocation->out, "%s  %.*s  %-8s  %-22s  %s%s\n", summary->call + TRAIL_ID_SIZE - 1 - SHORT_ID,
              TO_THE_MINUTE, at, phases[summary->phase], summary->appliance, summary->title,
              summary->conflict_count ? "  (records contradict each other)" : "");
}

static bool list(Invocation *invocation, const Shelf *shelf, Error *error)
{
    TextBuilder words = text_builder(invocation->arena, WORDS_LIMIT);
    StoreSummary *summaries;
    int count;
    for (int i = 0; i < invocation->argument_count; i++) {
        text_add(&words, invocation->arguments[i]);
        text_add(&words, " ");
    }
    const StoreFilter filter = {.appliance = cli__option(invocation, OPTION_APPLIANCE, NULL),
                                .words = text_string(&words),
                                .is_open = !cli__has_option(invocation, OPTION_ALL)};
    if (!store_list(shelf->store, &filter, invocation->arena, &summaries, &count, error)) return false;
    for (int c = 0; c < count; c++) say_call(invocation, &summaries[c]);
    return true;
}

bool cli__call_list(Invocation *invocation, Error *error)
{
    Shelf shelf;
    if (!shelf_open(invocation, false, &shelf, error)) return false;
    const bool went_well = list(invocation, &shelf, error);
    shelf_close(&shelf);
    return went_well;
}
