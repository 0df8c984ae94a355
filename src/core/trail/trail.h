/* trail.h: what was put on record about a call, by whom, and what of it holds.
 *
 * Lives here: the record, how two collections of records become one, what a strike does, whether a call is
 * open or closed, where two people contradict each other. Not here: what an entry means (call), how a record
 * is written down (format), where it is kept (edge).
 *
 * A record is made once and never changed. Who wants to correct something makes another that strikes it. So
 * collections that grew apart become one by union, in any order and as often as one likes: a grow-only set,
 * the simplest of the replicated data types (M. Shapiro et al., 'A comprehensive study of convergent and
 * commutative replicated data types', INRIA RR-7506, 2011, section 3.3). Everything else is worked out from
 * the set anew, so two stores with the same records never disagree.
 *
 * Units: milliseconds since 1970-01-01 UTC. Ownership: records are plain values whose texts live where they
 * were read; what is returned lives in the caller's arena and points to the same texts. */
#ifndef CORE_TRAIL_H
#define CORE_TRAIL_H

#include <stdint.h>

#include "base/arena.h"
#include "base/error.h"

enum { TRAIL_ID_SIZE = 37, TRAIL_HASH_SIZE = 65 }; /* with the NUL: UUID as text, SHA-256 as hex digits */
enum { TRAIL_MOST_NAME = 200 };                    /* bytes of an author, a device, a subject */

#define TRAIL_KIND_LIST(X)                                                                                   \
    X(OPENED, "opened")                                                                                      \
    X(CHANGED, "changed") X(ENTRY, "entry") X(STRUCK, "struck") X(CLOSED, "closed") X(REOPENED, "reopened")
typedef enum {
#define X(code, name) TRAIL_##code,
    TRAIL_KIND_LIST(X)
#undef X
        TRAIL_KIND_COUNT
} TrailKind;

const char *trail_kind_name(TrailKind kind);
bool trail_kind_of(const char *name, TrailKind *kind); /* false: no such kind; `kind` untouched */

typedef struct {
    char id[TRAIL_ID_SIZE];   /* made where the record was made: UUID (RFC 9562) in small letters */
    char call[TRAIL_ID_SIZE]; /* which call it belongs to */
    /* By the maker's clock, but later than every record of the call that the maker had seen: so whoever
     * strikes something comes after it, however wrong the clocks are (L. Lamport, Commun. ACM 21 (1978) 558).
     */
    int64_t made_millisecond;
    const char *author, *device; /* UTF-8, never empty */
    TrailKind kind;
    const char *subject;         /* entry: its kind in a call file; changed: the field; else "" */
    const char *payload;         /* JSON; the core does not look inside */
    char strikes[TRAIL_ID_SIZE]; /* struck: what; changed: the change that was seen before it, if any; else ""
                                  */
    /* Of an entry a log or photo; of what names an appliance its description; "" when there is none. */
    char attachment[TRAIL_HASH_SIZE];
} TrailRecord;

/* What later records must be made after: one more than the latest, or `now` where that is later. */
int64_t trail_time_after(const TrailRecord *records, int count, int64_t now_millisecond);

/* May the record stand by itself? Identifiers and hashes well formed, a maker, a subject and something to
 * strike where the kind wants one and none where it does not. The error says which. */
bool trail_check(const TrailRecord *record, Error *error) MUST_CHECK;

/* By time, then by identifier: the one order that everybody sees. Negative, 0, positive. */
int trail_compare(const TrailRecord *a, const TrailRecord *b);

typedef struct {
    const TrailRecord **records; /* in order, each identifier once */
    int count;
} Trail;

/* Everything that is in either, in order. The same record twice is one; the same identifier with another
 * content is no merge but a forgery or a defect, and an error that names it. Each may itself be in any order
 * and hold records more than once. */
bool trail_merge(const TrailRecord *a, int a_count, const TrailRecord *b, int b_count, Arena *arena,
                 Trail *trail, Error *error) MUST_CHECK;

typedef enum {
    TRAIL_TWO_VALUES, /* a field was changed by two who had not seen each other's change: the later one counts
                       */
    TRAIL_TWICE_CLOSED, /* closed by two, and not reopened between: the later one counts */
    TRAIL_AFTER_CLOSE,  /* an entry made after the call was closed, without reopening it */
    TRAIL_NOTHING_THERE /* strikes what is not in this call, or not before it: it does nothing */
} TrailConflictKind;

/* Nobody's work is overwritten: what contradicts is shown, and goes when one of the two is struck. */
typedef struct {
    TrailConflictKind kind;
    int first, second; /* record numbers of the trail; first is -1 where nothing is there */
} TrailConflict;

typedef enum { TRAIL_IS_NOTHING, TRAIL_IS_OPEN, TRAIL_IS_CLOSED, TRAIL_IS_REOPENED } TrailPhase;
const char *trail_phase_name(TrailPhase phase); /* '-', 'open', 'closed', 'reopened' */

/* What a trail of one call comes to. */
typedef struct {
    bool *is_struck; /* [count]: stays in the trail, counts no more */
    TrailPhase phase;
    int opened, closed; /* record that opened the call, that closed it last; -1 */
    int reopened_count;
    const TrailConflict *conflicts; /* in the order of their second records */
    int conflict_count;
} TrailState;

/* What held after the first `count` records of the trail, which all belong to one call: the whole trail with
 * trail->count, an earlier moment with less. A strike that is itself struck does nothing. */
bool trail_replay(const Trail *trail, int count, Arena *arena, TrailState *state, Error *error) MUST_CHECK;

/* The record that gives a field its value: the last change of it that is not struck; -1. */
int trail_find_field(const Trail *trail, const TrailState *state, int count, const char *field);

#endif
