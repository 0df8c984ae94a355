/* shelf.h: the store of this user, and records made by this user, here and now.
 *
 * Lives here: which store is meant, who is at the keyboard on which device, the clock. Not here: what a store
 * does (edge/store), what a record may be (core/trail). Ownership: a Shelf is closed by who opened it; texts
 * live in the invocation's arena. */
#ifndef EDGE_CLI_SHELF_H
#define EDGE_CLI_SHELF_H

#include "edge/cli/answer_call.h"

typedef struct {
    Store *store;
    Arena *arena;
    const char *author, *device;
} Shelf;

/* --store, else OVENWRIGHT_STORE, else calls.db in the user's data folder (XDG), which is made. `may_create`:
 * else a store that is not there is an error. */
typedef bool ShelfWork(Invocation *invocation, const Shelf *shelf, Error *error);

/* Opens, does it, closes. */
bool shelf_do(Invocation *invocation, bool may_create, ShelfWork *work, Error *error) MUST_CHECK;
bool shelf_open(const Invocation *invocation, bool may_create, Shelf *shelf, Error *error) MUST_CHECK;
void shelf_close(Shelf *shelf);

/* A call of the store by the end of its identifier, with its trail. */
typedef struct {
    char call[TRAIL_ID_SIZE];
    TrailRecord *records;
    int count;
    Trail trail;
    TrailState state; /* after `upto` records */
    int upto;
} ShelfCall;

bool shelf_find(const Shelf *shelf, const char *ending, ShelfCall *found, Error *error) MUST_CHECK;

/* The number of a record, from 1, as `call show` has it. */
bool shelf_read_number(const char *typed, const ShelfCall *found, int *number, Error *error) MUST_CHECK;

/* The call as it stood after that many records. */
bool shelf_replay(const Shelf *shelf, ShelfCall *found, int upto, Error *error) MUST_CHECK;

/* The call as it stood, read with its appliance, as `diagnose` reads a file. */
bool shelf_read(const Shelf *shelf, const ShelfCall *found, Appliance *appliance, Call *call,
                Error *error) MUST_CHECK;

/* The call as it stood, as a source for answer_call: with the logs that are attached to its records and,
 * where `history` is given, the chances that the store's closed calls teach. Texts and the source's context
 * live in the shelf's arena. */
bool shelf_source(const Shelf *shelf, const ShelfCall *found, const HistoryTerms *history,
                  AnswerSource *source, Error *error) MUST_CHECK;

int64_t shelf_now(void); /* milliseconds since 1970-01-01 UTC */

/* A record that comes after everything of the call; `content` is a JSON object. */
TrailRecord shelf_record(const Shelf *shelf, const ShelfCall *of, TrailKind kind, const char *subject,
                         const char *content);

#endif
