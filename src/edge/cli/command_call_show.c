/* command_call_show.c: `ovenwright call show C [--at N]`: what is on record, with its number, and then what
 * `diagnose` says of the call as it stood. */
#include "edge/cli/answer_call.h"
#include "edge/cli/load.h"
#include "edge/cli/shelf.h"
#include "format/record_text/record_text.h"

#include <stdio.h>
#include <stdlib.h>

enum { TO_THE_MINUTE = 16, NUMBER_LENGTH = 16, MOST_LETTERS = 90 };

/* ---- what is on record */

/* `look: bake-element, sees: dark` of {"look":"bake-element","sees":"dark"}: as people write it, in one line.
 */
static void say_content(const char *content, TextBuilder *out)
{
    int letters = 0;
    bool is_quoted = false;
    for (const char *at = content; *at; at++) {
        const bool is_outer = (at == content && *at == '{') || (*at == '}' && at[1] == '\0');
        if (*at == '\\' && at[1])
            at++;
        else if (*at == '"')
            is_quoted = !is_quoted;
        if (is_outer || *at == '"') continue;
        if (((unsigned char)*at & 0xc0) != 0x80 && ++letters > MOST_LETTERS) {
            text_add(out, " ...");
            return;
        }
        text_add_bytes(out, at, 1);
        if (!is_quoted && (*at == ',' || *at == ':')) text_add(out, " ");
    }
}

static void say_record(Invocation *invocation, const DeskCall *found, int number)
{
    const TrailRecord *record = found->trail.records[number];
    char at[RECORD_TEXT_TIME_SIZE];
    record_text_write_time(record->made_millisecond, at);
    at[10] = ' ';
    text_addf(&invocation->out, "%4d  %.*s  %-10s  ", number + 1, TO_THE_MINUTE, at, record->author);
    if (record->kind != TRAIL_ENTRY) text_addf(&invocation->out, "%s: ", trail_kind_name(record->kind));
    say_content(record->payload, &invocation->out);
    if (record->attachment[0]) text_add(&invocation->out, "  (attached)");
    text_add(&invocation->out, found->state.is_struck[number] ? "  (struck)\n" : "\n");
}

static void say_conflict(Invocation *invocation, const Words *words, const TrailConflict *conflict)
{
    static const char *const keys[] = {[TRAIL_TWO_VALUES] = "record.two-values",
                                       [TRAIL_TWICE_CLOSED] = "record.twice-closed",
                                       [TRAIL_AFTER_CLOSE] = "record.after-close",
                                       [TRAIL_NOTHING_THERE] = "record.nothing-there"};
    char first[NUMBER_LENGTH], second[NUMBER_LENGTH];
    snprintf(first, sizeof first, "%d", conflict->first + 1);
    snprintf(second, sizeof second, "%d", conflict->second + 1);
    words_say(words, &invocation->out, keys[conflict->kind],
              (WordValue[]){{"first", first}, {"second", second}}, 2);
    text_add(&invocation->out, "\n");
}

static bool say_trail(Invocation *invocation, const DeskCall *found, Error *error)
{
    Words words;
    if (!desk_load_words(cli__language(), invocation->arena, &words, error)) return false;
    for (int r = 0; r < found->upto; r++) say_record(invocation, found, r);
    for (int c = 0; c < found->state.conflict_count; c++)
        say_conflict(invocation, &words, &found->state.conflicts[c]);
    text_add(&invocation->out, "\n");
    return true;
}

/* ---- */

static bool read_moment(const Invocation *invocation, const DeskCall *found, int *upto, Error *error)
{
    const char *typed = cli__option(invocation, OPTION_AT, NULL);
    *upto = found->trail.count;
    return !typed || shelf_read_number(typed, found, upto, error);
}

static bool show(Invocation *invocation, const Shelf *shelf, Error *error)
{
    const bool is_text = !cli__has_option(invocation, OPTION_JSON);
    DeskCall found;
    DeskSource source;
    PlanTerms costs;
    HistoryTerms history;
    int upto;
    return load_terms(invocation, &costs, &history, error) &&
           desk_find_call(shelf->store, invocation->arguments[0], shelf->arena, &found, error) &&
           read_moment(invocation, &found, &upto, error) && desk_replay(&found, upto, shelf->arena, error) &&
           (!is_text || say_trail(invocation, &found, error)) &&
           desk_source(shelf->store, &found, &history, shelf->arena, &source, error) &&
           answer_call(invocation, &source, error);
}

bool cli__call_show(Invocation *invocation, Error *error) { return shelf_do(invocation, false, show, error); }
