/* records.c: the list of calls and what they teach, as JSON. */
#include "format/call_json/call_json_private.h"

bool call_json_calls(const CallOfList *calls, int count, TextBuilder *out, Error *error)
{
    json_t *list = json_array();
    for (int c = 0; c < count; c++) {
        const CallOfList *call = &calls[c];
        call_json__append(&list,
                          json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:i, s:i}", "call", call->call,
                                    "title", call->title, "appliance", call->appliance, "by", call->by,
                                    "phase", call->phase, "opened", call->opened, "changed", call->changed,
                                    "records", call->records, "contradictions", call->contradictions));
    }
    return call_json__write(json_pack("{s:o}", "calls", list), out, error);
}

static json_t *write_bins(const HistoryFigures *figures)
{
    json_t *list = json_array();
    for (int b = 0; b < HISTORY_BINS; b++) {
        const HistoryBin *bin = &figures->bins[b];
        if (bin->count == 0) continue;
        call_json__append(&list, json_pack("{s:i, s:i, s:o}", "calls", bin->count, "came_true", bin->came,
                                           "said", call_json__number(bin->said)));
    }
    return list;
}

static json_t *write_faults(const HistoryAnswer *answer)
{
    json_t *list = json_array();
    for (int f = 0; f < answer->fault_count; f++)
        call_json__append(&list, json_pack("{s:s, s:o, s:o, s:o}", "fault", answer->faults[f], "prior",
                                           call_json__number(answer->before[f]), "probability",
                                           call_json__number(answer->now[f]), "confirmed",
                                           call_json__number(answer->counts[f])));
    return list;
}

static json_t *write_appliance(const HistoryAnswer *answer)
{
    if (!answer->appliance) return json_null();
    return json_pack("{s:s, s:i, s:i, s:{s:o, s:o, s:o}, s:o}", "appliance", answer->appliance, "calls",
                     answer->calls, "all_calls", answer->all, "share", "file",
                     call_json__number(answer->share.prior), "same_kinds",
                     call_json__number(answer->share.others), "own_calls",
                     call_json__number(answer->share.own), "faults", write_faults(answer));
}

bool call_json_history(const HistoryAnswer *answer, TextBuilder *out, Error *error)
{
    const HistoryFigures *figures = answer->figures;
    return call_json__write(
        json_pack("{s:i, s:i, s:i, s:i, s:o, s:o, s:o, s:o, s:o, s:o}", "calls", figures->calls, "closed",
                  figures->closed, "callbacks", figures->callbacks, "first_visit", figures->first_visit,
                  "first_visit_share", call_json__number(figures->first_visit_share), "first_visit_low",
                  call_json__number(figures->low), "first_visit_high", call_json__number(figures->high),
                  "minutes", call_json__number(figures->minute), "said", write_bins(figures), "expected",
                  write_appliance(answer)),
        out, error);
}
