/* command_call_list.c: `ovenwright call list [WORD]...`: one line for each call, the latest changed first. */
#include "edge/cli/shelf.h"
#include "format/record_text/record_text.h"

enum { WORDS_LIMIT = 2000, SHORT_ID = 8, TO_THE_MINUTE = 16 };

static void say_call(Invocation *invocation, const StoreSummary *summary)
{
    char at[RECORD_TEXT_TIME_SIZE];
    record_text_write_time(summary->changed_millisecond, at);
    at[10] = ' ';
    text_addf(&invocation->out, "%s  %.*s  %-8s  %-22s  %s%s\n", summary->call + TRAIL_ID_SIZE - 1 - SHORT_ID,
              TO_THE_MINUTE, at, trail_phase_name(summary->phase), summary->appliance, summary->title,
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
    StoreFilter filter = {.appliance = cli__option(invocation, OPTION_APPLIANCE, NULL),
                          .technician = cli__option(invocation, OPTION_TECHNICIAN, NULL),
                          .part = cli__option(invocation, OPTION_PART, NULL),
                          .fault = cli__option(invocation, OPTION_FAULT, NULL),
                          .customer = cli__option(invocation, OPTION_CUSTOMER, NULL),
                          .words = text_string(&words),
                          .is_open = !cli__has_option(invocation, OPTION_ALL)};
    if (!desk_read_day(cli__option(invocation, OPTION_FROM, NULL), 0, &filter.from_millisecond, error) ||
        !desk_read_day(cli__option(invocation, OPTION_UNTIL, NULL), 1, &filter.before_millisecond, error) ||
        !store_list(shelf->store, &filter, invocation->arena, &summaries, &count, error))
        return false;
    if (cli__has_option(invocation, OPTION_JSON))
        return desk_list_json(summaries, count, &invocation->out, error);
    for (int c = 0; c < count; c++) say_call(invocation, &summaries[c]);
    return true;
}

bool cli__call_list(Invocation *invocation, Error *error) { return shelf_do(invocation, false, list, error); }
