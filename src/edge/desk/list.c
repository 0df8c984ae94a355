/* list.c: lists of calls, asked for by days and written for other programs. */
#include "edge/desk/desk_private.h"

#include <stdio.h>

#include "format/record_text/record_text.h"

enum { DAY_MILLISECOND = 86400000 };

bool desk_read_day(const char *typed, int days, int64_t *millisecond, Error *error)
{
    char moment[40];
    if (!typed) return true;
    snprintf(moment, sizeof moment, "%.12sT00:00:00Z", typed);
    if (!record_text_read_time(text_of(moment), millisecond))
        return error_set(error, ERROR_USAGE, typed, "a day, as 2026-11-26");
    *millisecond += (int64_t)days * DAY_MILLISECOND;
    return true;
}

bool desk_list_json(const StoreSummary *summaries, int count, TextBuilder *out, Error *error)
{
    CallOfList *calls = ARENA_ARRAY(out->arena, CallOfList, (size_t)count);
    if (!calls) return error_memory(error);
    for (int c = 0; c < count; c++) {
        const StoreSummary *summary = &summaries[c];
        calls[c] = (CallOfList){.call = summary->call,
                                .title = summary->title,
                                .appliance = summary->appliance,
                                .by = summary->author,
                                .phase = trail_phase_name(summary->phase),
                                .records = summary->record_count,
                                .contradictions = summary->conflict_count};
        record_text_write_time(summary->opened_millisecond, calls[c].opened);
        record_text_write_time(summary->changed_millisecond, calls[c].changed);
    }
    return call_json_calls(calls, count, out, error);
}
