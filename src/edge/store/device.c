/* device.c: who may use the server of this store, and what has come to it. */
#include "edge/store/store_private.h"

#include <string.h>

enum { MOST_DEVICES = 1000 };

#define DEVICE_COLUMNS "id, made, name, may, is_revoked"

bool store_count_records(Store *store, const char *call, int *count, Error *error)
{
    const StoreValue values[] = {store__text(call)};
    int64_t records = 0;
    const bool went_well =
        store__ask(store, "SELECT records FROM call WHERE id = $1", values, 1, &records, error);
    *count = (int)records;
    return went_well;
}

bool store_last_arrival(Store *store, int64_t *arrival, Error *error)
{
    *arrival = 0;
    return store__ask(store, "SELECT arrival FROM record ORDER BY arrival DESC LIMIT 1", NULL, 0, arrival,
                      error);
}

bool store_add_device(Store *store, const char *token, const StoreDevice *device, Error *error)
{
    const StoreValue values[] = {store__text(token), store__text(device->name), store__text(device->may),
                                 store__number(device->made_millisecond)};
    return store__run(store, "INSERT INTO device (token, name, may, made) VALUES ($1, $2, $3, $4)", values, 4,
                      NULL, NULL, NULL, error);
}

typedef struct {
    Arena *arena;
    StoreDevice *devices;
    int count, room;
} Reading;

static bool take_device(void *context, const StoreValue *columns, Error *error)
{
    Reading *reading = context;
    if (reading->count == reading->room) return true;
    StoreDevice *device = &reading->devices[reading->count++];
    *device = (StoreDevice){.id = columns[0].number,
                            .made_millisecond = columns[1].number,
                            .name = arena_copy_text(reading->arena, columns[2].text, columns[2].length),
                            .may = arena_copy_text(reading->arena, columns[3].text, columns[3].length),
                            .is_revoked = columns[4].number != 0};
    return (device->name && device->may) || error_memory(error);
}

bool store_find_device(Store *store, const char *token, Arena *arena, StoreDevice *device, Error *error)
{
    const StoreValue values[] = {store__text(token)};
    Reading reading = {.arena = arena, .devices = device, .room = 1};
    *device = (StoreDevice){.id = 0, .name = "", .may = ""};
    return store__run(store, "SELECT " DEVICE_COLUMNS " FROM device WHERE token = $1", values, 1, take_device,
                      &reading, NULL, error);
}

bool store_list_devices(Store *store, Arena *arena, StoreDevice **devices, int *count, Error *error)
{
    Reading reading = {.arena = arena, .room = MOST_DEVICES};
    const StoreValue values[] = {store__number(MOST_DEVICES)};
    reading.devices = ARENA_ARRAY(arena, StoreDevice, (size_t)reading.room);
    if (!reading.devices) return error_memory(error);
    if (!store__run(store, "SELECT " DEVICE_COLUMNS " FROM device ORDER BY id DESC LIMIT $1", values, 1,
                    take_device, &reading, NULL, error))
        return false;
    *devices = reading.devices;
    *count = reading.count;
    return true;
}

bool store_revoke_device(Store *store, int64_t id, Error *error)
{
    const StoreValue values[] = {store__number(id)};
    int changed = 0;
    if (!store__run(store, "UPDATE device SET is_revoked = 1 WHERE id = $1", values, 1, NULL, NULL, &changed,
                    error))
        return false;
    return changed == 1 ||
           error_set(error, ERROR_UNKNOWN_WORD, "a device of that number", "one that is listed");
}
