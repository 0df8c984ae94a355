/* customer.c: whose oven it is, apart from what was done to it.
 *
 * A customer's data may have to go while the record of the work stays. So it is in a table of its own, in no
 * record, no word and no archive, and is really gone once erased. That it was erased is kept, so that no
 * other device brings it back. */
#include "edge/store/store_private.h"

#include <string.h>

enum { PAGE = 200, MOST_TEXT = 1000 };

static bool check_customer(const StoreCustomer *customer, Error *error)
{
    const char *const texts[] = {customer->name, customer->address, customer->phone};
    for (int t = 0; t < 3; t++)
        if (strlen(texts[t]) > MOST_TEXT)
            return error_set(error, ERROR_TOO_LARGE, "a name, address or phone of that length",
                             "at most %d letters", MOST_TEXT);
    return true;
}

/* Of two the later one stays, of two of one moment the one that sorts last: so it does not matter who tells
 * whom first. An erasure stays whatever comes. */
static bool put(Store *store, const char *call, int64_t made, const StoreCustomer *customer, int *changed,
                Error *error)
{
    const StoreValue values[] = {store__text(call),
                                 store__number(made),
                                 store__text(customer->name),
                                 store__text(customer->address),
                                 store__text(customer->phone),
                                 store__number(customer->is_erased)};
    return store__run(
        store,
        "INSERT INTO customer (call, made, arrival, name, address, phone, is_erased)"
        " VALUES ($1, $2, (SELECT coalesce(max(arrival), 0) + 1 FROM customer), $3, $4, $5, $6)"
        " ON CONFLICT (call) DO UPDATE SET made = excluded.made, arrival = excluded.arrival,"
        " name = excluded.name, address = excluded.address, phone = excluded.phone,"
        " is_erased = excluded.is_erased WHERE customer.is_erased = 0 AND (excluded.is_erased = 1 OR"
        " (excluded.made, excluded.name, excluded.address, excluded.phone) >"
        " (customer.made, customer.name, customer.address, customer.phone))",
        values, 6, NULL, NULL, changed, error);
}

static bool is_call(Store *store, const char *call, Error *error)
{
    const StoreValue values[] = {store__text(call)};
    int64_t count = 0;
    return store__ask(store, "SELECT count(*) FROM call WHERE id = $1", values, 1, &count, error) &&
           (count > 0 || error_set(error, ERROR_UNKNOWN_WORD, call, "a call of the store"));
}

static bool set(Store *store, const char *call, int64_t made, const StoreCustomer *customer, Error *error)
{
    const StoreValue values[] = {store__text(call)};
    int64_t is_erased = 0;
    int changed;
    if (!is_call(store, call, error) ||
        !store__ask(store, "SELECT is_erased FROM customer WHERE call = $1", values, 1, &is_erased, error))
        return false;
    if (is_erased && !customer->is_erased)
        return error_set(error, ERROR_INCONSISTENT, "a call whose customer was erased",
                         "another call, where somebody wants to be known again");
    return put(store, call, made, customer, &changed, error);
}

bool store_set_customer(Store *store, const char *call, int64_t made, const StoreCustomer *customer,
                        Error *error)
{
    return check_customer(customer, error) && store__begin(store, error) &&
           store__end(store, set(store, call, made, customer, error), error);
}

bool store_erase_customer(Store *store, const char *call, int64_t made, Error *error)
{
    const StoreCustomer nobody = {.name = "", .address = "", .phone = "", .is_erased = true};
    return store_set_customer(store, call, made, &nobody, error) &&
           store->engine->forget(store->engine, error);
}

/* ---- reading */

typedef struct {
    Arena *arena;
    char (*calls)[TRAIL_ID_SIZE];
    StoreCustomer *customers;
    int64_t *mades;
    int64_t last;
    int count, room;
} Reading;

static bool take_customer(void *context, const StoreValue *columns, Error *error)
{
    Reading *reading = context;
    if (reading->count == reading->room) return true;
    StoreCustomer *customer = &reading->customers[reading->count];
    const char **texts[] = {&customer->name, &customer->address, &customer->phone};
    if (columns[0].length >= TRAIL_ID_SIZE)
        return error_set(error, ERROR_IO, "a damaged identifier", "a customer of the store");
    memcpy(reading->calls[reading->count], columns[0].text, columns[0].length);
    for (int t = 0; t < 3; t++) {
        *texts[t] = arena_copy_text(reading->arena, columns[2 + t].text, columns[2 + t].length);
        if (!*texts[t]) return error_memory(error);
    }
    customer->is_erased = columns[5].number != 0;
    reading->mades[reading->count++] = columns[1].number;
    reading->last = columns[6].number;
    return true;
}

static bool read_some(Store *store, const char *sql, const StoreValue *values, int value_count,
                      Reading *reading, Error *error)
{
    reading->calls = arena_take_array(reading->arena, (size_t)reading->room, TRAIL_ID_SIZE);
    reading->customers = ARENA_ARRAY(reading->arena, StoreCustomer, (size_t)reading->room);
    reading->mades = ARENA_ARRAY(reading->arena, int64_t, (size_t)reading->room);
    if (!reading->calls || !reading->customers || !reading->mades) return error_memory(error);
    return store__run(store, sql, values, value_count, take_customer, reading, NULL, error);
}

#define CUSTOMER_COLUMNS "call, made, name, address, phone, is_erased, arrival"

bool store_read_customer(Store *store, const char *call, Arena *arena, StoreCustomer *customer, Error *error)
{
    const StoreValue values[] = {store__text(call)};
    Reading reading = {.arena = arena, .room = 1};
    *customer = (StoreCustomer){.name = "", .address = "", .phone = ""};
    if (!read_some(store, "SELECT " CUSTOMER_COLUMNS " FROM customer WHERE call = $1", values, 1, &reading,
                   error))
        return false;
    if (reading.count == 1) *customer = reading.customers[0];
    return true;
}

/* ---- from one store to another */

/* Each page is one transaction. An erasure that comes from elsewhere leaves no trace here either. */
static bool move_page(Store *to, const Reading *reading, Error *error)
{
    bool went_well = store__begin(to, error), has_erased = false;
    if (!went_well) return false;
    for (int c = 0; c < reading->count && went_well; c++) {
        int changed = 0;
        went_well = put(to, reading->calls[c], reading->mades[c], &reading->customers[c], &changed, error);
        has_erased |= changed && reading->customers[c].is_erased;
    }
    return store__end(to, went_well, error) && (!has_erased || to->engine->forget(to->engine, error));
}

bool store__move_customers(Store *from, Store *to, int64_t after, int64_t *last, Error *error)
{
    bool went_well = true;
    int count = 1;
    for (*last = after; count > 0 && went_well;) {
        Arena arena = arena_new((size_t)PAGE << 13);
        Reading reading = {.arena = &arena, .room = PAGE, .last = *last};
        const StoreValue values[] = {store__number(*last), store__number(PAGE)};
        went_well = read_some(from,
                              "SELECT " CUSTOMER_COLUMNS
                              " FROM customer WHERE arrival > $1 ORDER BY arrival LIMIT $2",
                              values, 2, &reading, error) &&
                    move_page(to, &reading, error);
        *last = reading.last;
        count = reading.count;
        arena_free(&arena);
    }
    return went_well;
}
