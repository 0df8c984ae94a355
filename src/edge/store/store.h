/* store.h: where calls are kept.
 *
 * Lives here: records, attachments and what is worked out of them for lists, on disk, so that what was
 * acknowledged is there after any crash. Not here: what a record may be and what a trail comes to
 * (core/trail), how it is written for others (format), what the person typed (cli).
 *
 * A store is an append-only set of records; summaries and words of a call are derived from them and can be
 * made anew. Ownership: a Store is closed by who opened it; what is read lives in the caller's arena. One
 * Store is for one thread; several processes may have the same file open. Errors: ERROR_IO with the file and
 * what the database said; ERROR_INCONSISTENT for records that do not fit what is there. */
#ifndef EDGE_STORE_H
#define EDGE_STORE_H

#include "base/text.h"
#include "core/trail/trail.h"

typedef struct Store Store;

enum { STORE_SCHEMA = 2, STORE_MOST_ATTACHMENT = 64 << 20, STORE_MOST_CALL_RECORDS = 100000 };

/* The SQLite file at `path`, or a PostgreSQL database as `postgresql://host/name`; made when it is not there
 * and `may_create`. An older schema is brought up to date, in one piece; a newer one is refused, and what is
 * no store is left as it is. */
bool store_open(const char *path, bool may_create, Store **store, Error *error) MUST_CHECK;
void store_close(Store *store);             /* NULL is nothing to close */
int store_found_schema(const Store *store); /* the schema in which it was found; 0: made now */

/* Adds records, all or none; true once they are on the disk. What is there already is passed over, and
 * `added` says how many were new. Each must pass trail_check, none may differ from one of the same
 * identifier, and what it has attached must be there. */
bool store_append(Store *store, const TrailRecord *records, int count, int *added, Error *error) MUST_CHECK;

/* The same with what is attached to them, all or none. */
bool store_append_attached(Store *store, const TrailRecord *records, int count, const Text *attachments,
                           int attachment_count, int *added, Error *error) MUST_CHECK;

/* All records of a call, in the order of the trail; count 0: no such call. */
bool store_read_call(Store *store, const char *call, Arena *arena, TrailRecord **records, int *count,
                     Error *error) MUST_CHECK;

/* An identifier that nobody else makes: UUID version 7 of RFC 9562, section 5.7: the moment, then 74 random
 * bits. */
void store_new_id(int64_t now_millisecond, char id[TRAIL_ID_SIZE]);

/* The call whose identifier ends so (people type the last few letters); ERROR_UNKNOWN_WORD when there is none
 * or more than one. */
bool store_find(Store *store, const char *ending, char call[TRAIL_ID_SIZE], Error *error) MUST_CHECK;

/* What a list shows of a call. */
typedef struct {
    char call[TRAIL_ID_SIZE];
    const char *title, *appliance, *author; /* "" where nobody said; author: who opened it */
    TrailPhase phase;
    int64_t opened_millisecond, changed_millisecond;
    int record_count, conflict_count;
} StoreSummary;

/* NULLs and zeros ask for nothing. */
typedef struct {
    const char *appliance, *technician;
    const char *part, *fault; /* repaired or replaced; confirmed at the last closing */
    const char *customer;     /* occurs in the name, address or phone of the customer */
    const char *words;        /* all of them occur in what holds of the call: parts, faults, names, notes */
    int64_t from_millisecond, before_millisecond; /* of the last change */
    bool is_open;                                 /* only what is not closed */
    int most;                                     /* 0: a hundred */
} StoreFilter;

/* The calls that pass, the latest changed first. */
bool store_list(Store *store, const StoreFilter *filter, Arena *arena, StoreSummary **summaries, int *count,
                Error *error) MUST_CHECK;

/* ---- customers: apart from the records, so that they can be erased and the records stay */

typedef struct {
    const char *name, *address, *phone; /* "" where nobody said */
    bool is_erased;                     /* for good: a later sync does not bring it back */
} StoreCustomer;

/* Of two that were written on two devices the one made later stays. Refused once erased. */
bool store_set_customer(Store *store, const char *call, int64_t made_millisecond,
                        const StoreCustomer *customer, Error *error) MUST_CHECK;
bool store_erase_customer(Store *store, const char *call, int64_t made_millisecond, Error *error) MUST_CHECK;
/* Empty texts when there is none. */
bool store_read_customer(Store *store, const char *call, Arena *arena, StoreCustomer *customer,
                         Error *error) MUST_CHECK;

/* ---- what closed calls teach (core/history) */

typedef struct {
    const char *appliance, *confirmed; /* at the last closing, one fault to a line; "": nothing confirmed */
    int calls;                         /* that are so */
} StoreConfirmed;
bool store_confirmed(Store *store, Arena *arena, StoreConfirmed **confirmed, int *count,
                     Error *error) MUST_CHECK;

/* Of each call that was ever closed. */
typedef struct {
    const char *appliance;
    int closings, visits;
    double minute, said; /* said: probability of the fault that was named; negative: none was */
    bool came;           /* it was the one */
} StoreOutcome;
bool store_outcomes(Store *store, Arena *arena, StoreOutcome **outcomes, int *count, Error *error) MUST_CHECK;

/* ---- */

/* Keeps the bytes under their SHA-256, which is written to `hash`; the same bytes are kept once. */
bool store_attach(Store *store, Text bytes, char hash[TRAIL_HASH_SIZE], Error *error) MUST_CHECK;
/* The bytes; an empty view with bytes NULL when there are none of that hash. */
bool store_read_attachment(Store *store, const char *hash, Arena *arena, Text *bytes,
                           Error *error) MUST_CHECK;

/* Says each thing that is wrong: the file itself, records that may not stand, attachments that are not what
 * their hash says, summaries that are not what the records come to. `found` counts them. */
typedef void StoreSays(void *context, const char *sentence);
bool store_check(Store *store, StoreSays *says, void *context, int *found, Error *error) MUST_CHECK;

/* A copy of all that was acknowledged, as a new file; a file that is there is never written over. */
bool store_backup(Store *store, const char *path, Error *error) MUST_CHECK;

/* Gets what `from` has and this has not: records with their attachments, customers. `taken` counts records.
 * Interrupted, it is done again and goes on where it was. Only what came since the last time is looked at. */
bool store_take(Store *store, Store *from, int *taken, Error *error) MUST_CHECK;

/* How many records the call has, 0 for none; the number of the last arrival of the whole store. */
bool store_count_records(Store *store, const char *call, int *count, Error *error) MUST_CHECK;
bool store_last_arrival(Store *store, int64_t *arrival, Error *error) MUST_CHECK;

/* ---- devices that may use the server of this store; of this store alone, and never exchanged */

typedef struct {
    int64_t id, made_millisecond; /* id 0: no such device */
    const char *name, *may;       /* whose it is; a word for its rights */
    bool is_revoked;
} StoreDevice;

/* `token` is what the store keeps: a hash of what the device keeps. */
bool store_add_device(Store *store, const char *token, const StoreDevice *device, Error *error) MUST_CHECK;
bool store_find_device(Store *store, const char *token, Arena *arena, StoreDevice *device,
                       Error *error) MUST_CHECK;
bool store_list_devices(Store *store, Arena *arena, StoreDevice **devices, int *count,
                        Error *error) MUST_CHECK;
bool store_revoke_device(Store *store, int64_t id, Error *error) MUST_CHECK; /* for good */

/* Every record in the order of its arrival, some at a time. */
typedef bool StoreEach(void *context, const TrailRecord *records, int count, Error *error);
bool store_each(Store *store, StoreEach *each, void *context, Error *error) MUST_CHECK;

#endif
