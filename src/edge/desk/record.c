/* record.c: a call of a store, laid out as a call file is. */
#include "edge/desk/desk_private.h"

#include "format/call_file/call_file.h"
#include "format/call_yaml/call_yaml.h"

#include <string.h>

enum { FILE_LIMIT = 4 << 20 };

bool desk_replay(DeskCall *found, int upto, Arena *arena, Error *error)
{
    found->upto = upto;
    return trail_replay(&found->trail, upto, arena, &found->state, error);
}

bool desk_find_call(Store *store, const char *ending, Arena *arena, DeskCall *found, Error *error)
{
    return store_find(store, ending, found->call, error) &&
           store_read_call(store, found->call, arena, &found->records, &found->count, error) &&
           trail_merge(found->records, found->count, NULL, 0, arena, &found->trail, error) &&
           desk_replay(found, found->trail.count, arena, error);
}

typedef struct {
    Store *store;
    const DeskCall *found;
    Arena *arena;
    const int *numbers; /* record of each entry */
    HistoryTerms history;
    DeskLearned learned;
} Attached;

static bool read_attached(void *context, const char *name, int entry, Arena *arena, Text *bytes,
                          const char **source, Error *error)
{
    const Attached *attached = context;
    const TrailRecord *record = attached->found->trail.records[attached->numbers[entry]];
    *source = name;
    if (!record->attachment[0])
        return error_set(error, ERROR_IO, name, "a log that is attached to the record");
    return store_read_attachment(attached->store, record->attachment, arena, bytes, error) &&
           (bytes->bytes || error_set(error, ERROR_IO, name, "an attachment that is in the store"));
}

static bool teach(const DeskSource *source, const Call *call, Appliance *appliance, Error *error)
{
    const Attached *attached = source->context;
    return desk__learn(attached->store, &attached->history, call->appliance_name, attached->arena, appliance,
                       source->learned, error);
}

/* What came with the name of the appliance, at the opening or when it was last changed. */
static bool read_description(Store *store, const DeskCall *found, Arena *arena, Text *bytes, Error *error)
{
    const int changed = trail_find_field(&found->trail, &found->state, found->upto, "appliance");
    const int named = changed >= 0 ? changed : found->state.opened;
    const char *hash = named >= 0 ? found->trail.records[named]->attachment : "";
    if (!hash[0]) return true;
    return store_read_attachment(store, hash, arena, bytes, error) &&
           (bytes->bytes || error_set(error, ERROR_MISSING, hash, "a description that is in the store"));
}

bool desk_source(Store *store, const DeskCall *found, const HistoryTerms *history, Arena *arena,
                 DeskSource *source, Error *error)
{
    TextBuilder file = text_builder(arena, FILE_LIMIT);
    int count, *numbers = ARENA_ARRAY(arena, int, (size_t)found->count);
    Attached *attached = ARENA_ARRAY(arena, Attached, 1);
    if (!numbers || !attached) return error_memory(error);
    *attached = (Attached){.store = store, .found = found, .arena = arena, .numbers = numbers};
    if (history) attached->history = *history;
    if (!call_file_write(&found->trail, &found->state, found->upto, &file, numbers, &count, error))
        return false;
    *source = (DeskSource){.name = "the call on record",
                           .bytes = {text_string(&file), file.length},
                           .read = read_attached,
                           .teach = history ? teach : NULL,
                           .learned = history ? &attached->learned : NULL,
                           .context = attached};
    return read_description(store, found, arena, &source->description, error);
}

bool desk_judge_entry(Store *store, const DeskCall *found, const char *entry, Arena *arena, Error *error)
{
    Appliance appliance;
    Call call;
    DeskSource source;
    return desk_source(store, found, NULL, arena, &source, error) &&
           desk_read_call(&source, arena, &appliance, &call, error) &&
           call_yaml_imagine("the entry", text_of(entry), &appliance, arena, &call, error);
}

bool desk_add_record(const DeskCall *found, const TrailRecord *record, Arena *arena, DeskCall *with,
                     Error *error)
{
    *with = *found;
    with->count = found->count + 1;
    with->records = ARENA_ARRAY(arena, TrailRecord, (size_t)with->count);
    if (!with->records) return error_memory(error);
    for (int r = 0; r < found->count; r++) with->records[r] = found->records[r];
    with->records[found->count] = *record;
    memcpy(with->call, record->call, sizeof with->call);
    return trail_merge(with->records, with->count, NULL, 0, arena, &with->trail, error) &&
           desk_replay(with, with->trail.count, arena, error);
}
