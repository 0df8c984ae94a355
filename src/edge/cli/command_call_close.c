/* command_call_close.c: `ovenwright call close`, `reopen` and `strike`: records that say something of others.
 *
 * A closing also takes down which fault the program named before anything was repaired, so that the history
 * can tell whether what it says comes true. */
#include "edge/cli/load.h"
#include "edge/cli/shelf.h"
#include "format/call_file/call_file.h"
#include "format/words/words.h"

#include <string.h>

enum { MOST_CONFIRMED = 8, SHORT_ID = 8 };

/* What was confirmed is a fault of this appliance, or nothing wrong at all. */
static bool check_confirmed(const Shelf *shelf, const DeskCall *found, const CallFileReason *reason,
                            Error *error)
{
    Appliance appliance;
    Call call;
    if (reason->confirmed_count == 0) return true;
    DeskSource source;
    if (!desk_source(shelf->store, found, NULL, shelf->arena, &source, error) ||
        !desk_read_call(&source, shelf->arena, &appliance, &call, error))
        return false;
    for (int c = 0; c < reason->confirmed_count; c++)
        if (!text_equal(reason->confirmed[c], "nothing-wrong") &&
            appliance_find_fault(&appliance, reason->confirmed[c]) < 0)
            return error_set(error, ERROR_UNKNOWN_WORD, reason->confirmed[c],
                             "a fault of this appliance, as bake-element.open, or nothing-wrong");
    return true;
}

/* The number of records before the first repair that stands; all of them without one. */
static int before_repair(const DeskCall *found)
{
    for (int r = 0; r < found->trail.count; r++)
        if (!found->state.is_struck[r] && found->trail.records[r]->kind == TRAIL_ENTRY &&
            text_equal(found->trail.records[r]->subject, "repair"))
            return r;
    return found->trail.count;
}

/* The most probable of suspects and 'nothing wrong', as it stood then. */
static bool find_said(Invocation *invocation, const Shelf *shelf, DeskCall found, CallFileReason *reason,
                      Error *error)
{
    PlanTerms costs;
    HistoryTerms history;
    DeskSource source;
    DeskStanding stands;
    TextBuilder fault = text_builder(shelf->arena, 400), probability = text_builder(shelf->arena, 40);
    if (!load_terms(invocation, &costs, &history, error) ||
        !desk_replay(&found, before_repair(&found), shelf->arena, error) ||
        !desk_source(shelf->store, &found, &history, shelf->arena, &source, error) ||
        !desk_stand(&source, NULL, 0, NULL, shelf->arena, &invocation->notes, &stands, error))
        return false;
    const Standing *standing = &stands.standing;
    const Suspect *leading = &standing->nothing_wrong;
    if (standing->suspect_count > 0 && standing->suspects[0].probability > leading->probability)
        leading = &standing->suspects[0];
    words_name_group(stands.model, leading->group, &fault);
    text_addf(&probability, "%.4f", leading->probability);
    reason->said_fault = leading->group ? text_string(&fault) : "nothing-wrong";
    reason->said_probability = text_string(&probability);
    return !fault.is_cut || error_memory(error);
}

/* `strikes`: the number of the record that is struck; NULL. */
static bool add(Invocation *invocation, const Shelf *shelf, TrailKind kind, CallFileReason *reason,
                const char *strikes, Error *error)
{
    DeskCall found;
    const char *content;
    int added, number = 0;
    if (!desk_find_call(shelf->store, invocation->arguments[0], shelf->arena, &found, error) ||
        !check_confirmed(shelf, &found, reason, error) ||
        (kind == TRAIL_CLOSED && !find_said(invocation, shelf, found, reason, error)) ||
        !call_file_write_reason(reason, shelf->arena, &content, error) ||
        (strikes && !shelf_read_number(strikes, &found, &number, error)))
        return false;
    TrailRecord record = shelf_record(shelf, &found, kind, "", content);
    if (strikes) memcpy(record.strikes, found.trail.records[number - 1]->id, TRAIL_ID_SIZE);
    if (kind == TRAIL_CLOSED && found.state.phase == TRAIL_IS_CLOSED)
        return error_set(error, ERROR_INCONSISTENT, "a call that is closed",
                         "`call reopen` before it is closed again");
    if (kind == TRAIL_REOPENED && found.state.phase != TRAIL_IS_CLOSED)
        return error_set(error, ERROR_INCONSISTENT, "a call that is not closed", "a closed one");
    if (!store_append(shelf->store, &record, 1, &added, error)) return false;
    text_addf(&invocation->out, "call %s, %s\n", found.call + TRAIL_ID_SIZE - 1 - SHORT_ID,
              trail_kind_name(kind));
    return true;
}

static bool open_and_add(Invocation *invocation, TrailKind kind, CallFileReason *reason, const char *strikes,
                         Error *error)
{
    Shelf shelf;
    if (kind != TRAIL_CLOSED && !reason->why)
        return error_set(error, ERROR_USAGE, "no reason", "--why TEXT, for those who read it later");
    if (!shelf_open(invocation, false, &shelf, error)) return false;
    const bool went_well = add(invocation, &shelf, kind, reason, strikes, error);
    shelf_close(&shelf);
    return went_well;
}

bool cli__call_close(Invocation *invocation, Error *error)
{
    const char *confirmed[MOST_CONFIRMED];
    CallFileReason reason = {.why = cli__option(invocation, OPTION_WHY, NULL),
                             .minutes = cli__option(invocation, OPTION_MINUTES, NULL),
                             .visits = cli__option(invocation, OPTION_VISITS, NULL),
                             .confirmed = confirmed};
    double minutes = 0;
    if (reason.minutes &&
        (!text_read_number(text_of(reason.minutes), &minutes) || minutes < 0 || minutes > 10000))
        return error_set(error, ERROR_USAGE, reason.minutes, "minutes from 0 to 10000, a plain number");
    double visits = 1;
    if (reason.visits && (!text_read_number(text_of(reason.visits), &visits) || visits < 1 || visits > 100 ||
                          visits != (double)(int)visits))
        return error_set(error, ERROR_USAGE, reason.visits, "visits from 1 to 100, a whole number");
    for (int i = 0; i < invocation->option_count; i++) {
        if (invocation->options[i].code != OPTION_FAULT) continue;
        if (reason.confirmed_count == MOST_CONFIRMED)
            return error_set(error, ERROR_USAGE, "--fault", "at most %d of them", MOST_CONFIRMED);
        confirmed[reason.confirmed_count++] = invocation->options[i].words[0];
    }
    return open_and_add(invocation, TRAIL_CLOSED, &reason, NULL, error);
}

bool cli__call_reopen(Invocation *invocation, Error *error)
{
    CallFileReason reason = {.why = cli__option(invocation, OPTION_WHY, NULL)};
    return open_and_add(invocation, TRAIL_REOPENED, &reason, NULL, error);
}

bool cli__call_strike(Invocation *invocation, Error *error)
{
    CallFileReason reason = {.why = cli__option(invocation, OPTION_WHY, NULL)};
    return open_and_add(invocation, TRAIL_STRUCK, &reason, invocation->arguments[1], error);
}
