/* replay.c: what a trail comes to: strikes, open or closed, contradictions.
 *
 * A strike counts if it stands later than what it strikes and is not struck itself. Later records decide
 * about earlier ones only, so one pass from the end settles all strikes, and two that strike each other
 * cannot be.
 *
 * Bad at: thousands of records in one call. What is struck is looked for one by one: a call has some dozens.
 */
#include "core/trail/trail.h"

#include <string.h>

#include "base/text.h"

static int find_before(const Trail *trail, int number, const char *id)
{
    for (int r = number - 1; r >= 0; r--)
        if (strcmp(trail->records[r]->id, id) == 0) return r;
    return -1;
}

static void find_struck(const Trail *trail, int count, bool *is_struck)
{
    for (int r = count - 1; r >= 0; r--) {
        if (trail->records[r]->kind != TRAIL_STRUCK || is_struck[r]) continue;
        const int struck = find_before(trail, r, trail->records[r]->strikes);
        if (struck >= 0) is_struck[struck] = true;
    }
}

/* ---- open or closed */

static void find_phase(const Trail *trail, int count, TrailState *state)
{
    state->opened = state->closed = -1;
    for (int r = 0; r < count; r++) {
        if (state->is_struck[r]) continue;
        switch (trail->records[r]->kind) {
        case TRAIL_OPENED:
            if (state->opened < 0) state->opened = r;
            if (state->phase == TRAIL_IS_NOTHING) state->phase = TRAIL_IS_OPEN;
            break;
        case TRAIL_CLOSED:
            state->closed = r;
            state->phase = TRAIL_IS_CLOSED;
            break;
        case TRAIL_REOPENED:
            state->reopened_count += state->phase == TRAIL_IS_CLOSED;
            state->phase = TRAIL_IS_REOPENED;
            break;
        default: break;
        }
    }
}

/* ---- contradictions */

typedef struct {
    const Trail *trail;
    const TrailState *state;
    TrailConflict *conflicts; /* [count]: a record is the second of one at most */
    int count;
} Finding;

static void add_conflict(Finding *finding, TrailConflictKind kind, int first, int second)
{
    finding->conflicts[finding->count++] = (TrailConflict){kind, first, second};
}

/* Had the maker of the change seen that other one: made it on top of it, or on top of what was made on top of
 * it? Each step goes to an earlier record, so this ends. */
static bool has_seen(const Trail *trail, int number, const char *other)
{
    for (int at = number; at >= 0; at = find_before(trail, at, trail->records[at]->strikes))
        if (strcmp(trail->records[at]->strikes, other) == 0) return true;
    return false;
}

/* The change of the same field that would hold without this one, if its maker had not seen it; -1. */
static int find_rival(const Finding *finding, int number)
{
    const Trail *trail = finding->trail;
    for (int r = number - 1; r >= 0; r--) {
        const TrailRecord *other = trail->records[r];
        if (other->kind == TRAIL_CHANGED && !finding->state->is_struck[r] &&
            text_equal(other->subject, trail->records[number]->subject))
            return has_seen(trail, number, other->id) ? -1 : r;
    }
    return -1;
}

/* `closed` is the closing that holds at this point; -1. */
static void look_for(Finding *finding, int number, int closed)
{
    const TrailRecord *record = finding->trail->records[number];
    int rival = -1;
    if (record->kind == TRAIL_STRUCK && find_before(finding->trail, number, record->strikes) < 0)
        add_conflict(finding, TRAIL_NOTHING_THERE, -1, number);
    else if (record->kind == TRAIL_CHANGED && (rival = find_rival(finding, number)) >= 0)
        add_conflict(finding, TRAIL_TWO_VALUES, rival, number);
    else if (record->kind == TRAIL_CLOSED && closed >= 0)
        add_conflict(finding, TRAIL_TWICE_CLOSED, closed, number);
    else if (record->kind == TRAIL_ENTRY && closed >= 0)
        add_conflict(finding, TRAIL_AFTER_CLOSE, closed, number);
}

static bool find_conflicts(const Trail *trail, int count, Arena *arena, TrailState *state, Error *error)
{
    Finding finding = {
        .trail = trail, .state = state, .conflicts = ARENA_ARRAY(arena, TrailConflict, (size_t)count)};
    int closed = -1;
    if (!finding.conflicts) return error_memory(error);
    for (int r = 0; r < count; r++) {
        if (state->is_struck[r]) continue;
        look_for(&finding, r, closed);
        if (trail->records[r]->kind == TRAIL_CLOSED) closed = r;
        if (trail->records[r]->kind == TRAIL_REOPENED) closed = -1;
    }
    state->conflicts = finding.conflicts;
    state->conflict_count = finding.count;
    return true;
}

bool trail_replay(const Trail *trail, int count, Arena *arena, TrailState *state, Error *error)
{
    *state = (TrailState){.is_struck = ARENA_ARRAY(arena, bool, (size_t)count)};
    if (!state->is_struck) return error_memory(error);
    find_struck(trail, count, state->is_struck);
    find_phase(trail, count, state);
    return find_conflicts(trail, count, arena, state, error);
}

int trail_find_field(const Trail *trail, const TrailState *state, int count, const char *field)
{
    for (int r = count - 1; r >= 0; r--)
        if (trail->records[r]->kind == TRAIL_CHANGED && !state->is_struck[r] &&
            text_equal(trail->records[r]->subject, field))
            return r;
    return -1;
}
