/* record.c: one record by itself: its kinds, its form, its order. */
#include "core/trail/trail.h"

#include <string.h>

#include "base/text.h"

static const char *const kind_names[] = {
#define X(code, name) name,
    TRAIL_KIND_LIST(X)
#undef X
};

const char *trail_kind_name(TrailKind kind) { return kind_names[kind]; }

const char *trail_phase_name(TrailPhase phase)
{
    static const char *const names[] = {[TRAIL_IS_NOTHING] = "-",
                                        [TRAIL_IS_OPEN] = "open",
                                        [TRAIL_IS_CLOSED] = "closed",
                                        [TRAIL_IS_REOPENED] = "reopened"};
    return names[phase];
}

bool trail_kind_of(const char *name, TrailKind *kind)
{
    for (int k = 0; k < TRAIL_KIND_COUNT; k++) {
        if (!text_equal(name, kind_names[k])) continue;
        *kind = (TrailKind)k;
        return true;
    }
    return false;
}

int trail_compare(const TrailRecord *a, const TrailRecord *b)
{
    if (a->made_millisecond != b->made_millisecond) return a->made_millisecond < b->made_millisecond ? -1 : 1;
    return strcmp(a->id, b->id);
}

int64_t trail_time_after(const TrailRecord *records, int count, int64_t now_millisecond)
{
    int64_t after = now_millisecond;
    for (int r = 0; r < count; r++)
        if (records[r].made_millisecond >= after && records[r].made_millisecond < INT64_MAX)
            after = records[r].made_millisecond + 1;
    return after;
}

/* ---- form */

static bool is_hex(char letter)
{
    return (letter >= '0' && letter <= '9') || (letter >= 'a' && letter <= 'f');
}

/* The bytes behind a text's end are not looked at: a record read from anywhere may hold anything there. */
static bool is_id(const char id[TRAIL_ID_SIZE])
{
    for (int i = 0; i < TRAIL_ID_SIZE - 1; i++) {
        const bool is_dash = i == 8 || i == 13 || i == 18 || i == 23;
        if (is_dash ? id[i] != '-' : !is_hex(id[i])) return false;
    }
    return id[TRAIL_ID_SIZE - 1] == '\0';
}

static bool is_hash(const char hash[TRAIL_HASH_SIZE])
{
    for (int i = 0; i < TRAIL_HASH_SIZE - 1; i++)
        if (!is_hex(hash[i])) return false;
    return hash[TRAIL_HASH_SIZE - 1] == '\0';
}

static bool is_empty(const char *text) { return !text || text[0] == '\0'; }

static bool is_long(const char *text) { return text && strlen(text) > TRAIL_MOST_NAME; }

/* What each kind of record must have (+), must not have (-), or may have (0). */
typedef struct {
    int subject, strikes, attachment;
} Wants;

static const Wants wants[] = {
    [TRAIL_OPENED] = {-1, -1, 0},  [TRAIL_CHANGED] = {+1, 0, 0},  [TRAIL_ENTRY] = {+1, -1, 0},
    [TRAIL_STRUCK] = {-1, +1, -1}, [TRAIL_CLOSED] = {-1, -1, -1}, [TRAIL_REOPENED] = {-1, -1, -1}};

static bool hold_want(const TrailRecord *record, int want, bool has, const char *what, Error *error)
{
    if ((want >= 0 || !has) && (want <= 0 || has)) return true;
    return error_set(error, want > 0 ? ERROR_MISSING : ERROR_INCONSISTENT, kind_names[record->kind],
                     "a record of this kind %s %s", want > 0 ? "with" : "without", what);
}

static bool check_identity(const TrailRecord *record, Error *error)
{
    static const char form[] = "36 characters like 01890a5d-ac96-774b-bcce-b302099a8057, small letters";
    if (!is_id(record->id)) return error_set(error, ERROR_WRONG_KIND, "identifier of a record", form);
    if (!is_id(record->call)) return error_set(error, ERROR_WRONG_KIND, "identifier of its call", form);
    if (record->strikes[0] && !is_id(record->strikes))
        return error_set(error, ERROR_WRONG_KIND, "identifier of what is struck", form);
    if (record->attachment[0] && !is_hash(record->attachment))
        return error_set(error, ERROR_WRONG_KIND, "hash of an attachment",
                         "64 hexadecimal digits, small letters");
    if (strcmp(record->strikes, record->id) == 0)
        return error_set(error, ERROR_INCONSISTENT, record->id, "a record that does not strike itself");
    return true;
}

bool trail_check(const TrailRecord *record, Error *error)
{
    if (record->kind < 0 || record->kind >= TRAIL_KIND_COUNT)
        return error_set(error, ERROR_UNKNOWN_WORD, "kind of a record",
                         "opened, changed, entry, struck, closed or reopened");
    if (!check_identity(record, error)) return false;
    if (record->made_millisecond < 0)
        return error_set(error, ERROR_OUT_OF_RANGE, "time of a record", "a moment after 1970-01-01");
    if (is_empty(record->author)) return error_set(error, ERROR_MISSING, "author of a record", "a name");
    if (is_empty(record->device)) return error_set(error, ERROR_MISSING, "device of a record", "a name");
    if (is_empty(record->payload))
        return error_set(error, ERROR_MISSING, "content of a record", "a JSON object");
    if (is_long(record->author) || is_long(record->device) || is_long(record->subject))
        return error_set(error, ERROR_TOO_LARGE, "author, device or subject of a record", "at most %d bytes",
                         TRAIL_MOST_NAME);
    const Wants *want = &wants[record->kind];
    return hold_want(record, want->subject, !is_empty(record->subject), "a subject", error) &&
           hold_want(record, want->strikes, record->strikes[0] != '\0', "something that it strikes", error) &&
           hold_want(record, want->attachment, record->attachment[0] != '\0', "an attachment", error);
}
