/* shelf.h: the store of this user, and records made by this user, here and now.
 *
 * Lives here: which store is meant, who is at the keyboard on which device, the clock. Not here: what a store
 * does (edge/store), what a record may be (core/trail). Ownership: a Shelf is closed by who opened it; texts
 * live in the invocation's arena. */
#ifndef EDGE_CLI_SHELF_H
#define EDGE_CLI_SHELF_H

#include "edge/cli/command.h"
#include "edge/desk/desk.h"

typedef struct {
    Store *store;
    Arena *arena;
    const char *author, *device;
} Shelf;

/* --store, else OVENWRIGHT_STORE, else calls.db in the user's data folder (XDG), which is made. `may_create`:
 * else a store that is not there is an error. */
/* Where that is; NULL with an error. */
const char *shelf_path(const Invocation *invocation, Error *error);

typedef bool ShelfWork(Invocation *invocation, const Shelf *shelf, Error *error);

/* Opens, does it, closes. */
bool shelf_do(Invocation *invocation, bool may_create, ShelfWork *work, Error *error) MUST_CHECK;
bool shelf_open(const Invocation *invocation, bool may_create, Shelf *shelf, Error *error) MUST_CHECK;
void shelf_close(Shelf *shelf);

/* The number of a record, from 1, as `call show` has it. */
bool shelf_read_number(const char *typed, const DeskCall *found, int *number, Error *error) MUST_CHECK;

int64_t shelf_now(void); /* milliseconds since 1970-01-01 UTC */

/* A record that comes after everything of the call; `content` is a JSON object. */
TrailRecord shelf_record(const Shelf *shelf, const DeskCall *of, TrailKind kind, const char *subject,
                         const char *content);

#endif
