/* command_call_list.c: `ovenwright call list [WORD]...`: one line for each call, the latest changed first. */
#include "edge/cli/shelf.h"
#include "format/call_json/call_json.h"
#include "format/record_text/record_text.h"

#include <stdio.h>

enum { WORDS_LIMIT = 2000, SHORT_ID = 8, TO_THE_MINUTE = 16, DAY_MILLISECOND = 86400000 };

static const char *const phases[] = {[TRAIL_IS_NOTHING] = "-",
                                     [TRAIL_IS_OPEN] = "open",
                                     [TRAIL_IS_CLOSED] = "closed",
                                     [TRAIL_IS_REOPENED] = "reopened"};

static void say_call(Invocation *invocation, const StoreSummary *summary)
{
    char at[RECORD_TEXT_TIME_SIZE];
    record_text_write_time(summary->changed_millisecond, at);
    at[10] = ' ';
    text_addf(&invocation->out, "%s  %.*s  %-8s  %-22s  %s%s\n", summary->call + TRAIL_ID_SIZE - 1 - SHORT_ID,
              TO_THE_MINUTE, at, phases[summary->phase], summary->appliance, summary->title,
              summary->conflict_count ? "  (records contradict each other)" : "");
}

static bool write_json(Invocation *invocation, const StoreSummary *summaries, int count, Error *error)
{
    CallOfList *calls = ARENA_ARRAY(invocation->arena, CallOfList, (size_t)count);
    if (!calls) return error_memory(error);
    for (int c = 0; c < count; c++) {
        const StoreSummary *summary = &summaries[c];
        calls[c] = (CallOfList){.call = summary->call,
                                .title = summary->title,
                                .appliance = summary->appliance,
                                .by = summary->author,
                                .phase = phases[summary->phase],
                                .records = summary->record_count,
                                .contradictions = summary->conflict_count};
        record_text_write_time(summary->opened_millisecond, calls[c].opened);
        record_text_write_time(summary->changed_millisecond, calls[c].changed);
    }
    return call_json_calls(calls, count, &invocation->out, error);
}

/* The first moment of a day, of UTC, and `days` later. */
static bool read_day(const char *typed, int days, int64_t *millisecond, Error *error)
{
    char moment[40];
    if (!typed) return true;
    snprintf(moment, sizeof moment, "%.12sT00:00:00Z", typed);
    if (!record_text_read_time(text_of(moment), millisecond))
        return error_set(error, ERROR_USAGE, typed, "a day, as 2026-11-26");
    *millisecond += (int64_t)days * DAY_MILLISECOND;
    return true;
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
    if (!read_day(cli__option(invocation, OPTION_FROM, NULL), 0, &filter.from_millisecond, error) ||
        !read_day(cli__option(invocation, OPTION_UNTIL, NULL), 1, &filter.before_millisecond, error) ||
        !store_list(shelf->store, &filter, invocation->arena, &summaries, &count, error))
        return false;
    if (cli__has_option(invocation, OPTION_JSON)) return write_json(invocation, summaries, count, error);
    for (int c = 0; c < count; c++) say_call(invocation, &summaries[c]);
    return true;
}

bool cli__call_list(Invocation *invocation, Error *error) { return shelf_do(invocation, false, list, error); }
