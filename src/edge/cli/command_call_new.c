/* command_call_new.c: `ovenwright call new CALL.yaml` and `call add C ENTRY`: onto the record, once it has
 * been judged as `diagnose` would judge it. The temperature log that a run names is attached, so that the
 * call is whole wherever it goes. */
#include "edge/cli/answer_call.h"
#include "edge/cli/shelf.h"
#include "edge/files/files.h"
#include "format/call_file/call_file.h"
#include "format/call_yaml/call_yaml.h"
#include "format/log_text/log_text.h"

#include <string.h>

enum { CALL_LIMIT = 1 << 20, SHORT_ID = 8 };

/* A log that cannot be read now leaves the entry without it, with a line on standard error. */
static bool attach_log(Invocation *invocation, const Shelf *shelf, const char *beside,
                       const CallFilePiece *piece, TrailRecord *record, Error *error)
{
    Text bytes;
    const char *source;
    char line[1400];
    if (!piece->log || text_equal(piece->log, "by-hand")) return true;
    if (desk_read_log_beside((void *)beside, piece->log, 0, shelf->arena, &bytes, &source, error))
        return store_attach(shelf->store, bytes, record->attachment, error);
    if (error->code != ERROR_IO) return false;
    error_hint(error, "the run is on record without its log");
    error_line(error, line, sizeof line);
    text_addf(&invocation->notes, "ovenwright: %s\n", line);
    *error = (Error){.code = ERROR_NONE};
    return true;
}

/* One entry has one attachment. */
static bool attach_file(const Invocation *invocation, const Shelf *shelf, TrailRecord *record, Error *error)
{
    const char *path = cli__option(invocation, OPTION_ATTACH, NULL);
    Text bytes;
    if (!path) return true;
    if (record->attachment[0])
        return error_set(error, ERROR_USAGE, path, "no --attach with a run, whose log is attached by itself");
    return files_read(path, STORE_MOST_ATTACHMENT, shelf->arena, &bytes, error) &&
           store_attach(shelf->store, bytes, record->attachment, error);
}

static void say_added(Invocation *invocation, const DeskCall *of, int added)
{
    text_addf(&invocation->out, "call %s, %d record%s added\n", of->call + TRAIL_ID_SIZE - 1 - SHORT_ID,
              added, added == 1 ? "" : "s");
}

/* An appliance of one's own goes with the call, under its own name, so that the call is whole wherever it
 * goes. */
static bool attach_description(const Shelf *shelf, const Call *call, const Appliance *appliance,
                               TrailRecord *opened, Error *error)
{
    const char *file, *content;
    Text bytes;
    if (desk_is_shipped(call->appliance_name)) return true;
    if (!desk_appliance_bytes(call->appliance_name, shelf->arena, &file, &bytes, error) ||
        !call_file_name_appliance(opened->payload, appliance->name, shelf->arena, &content, error))
        return false;
    opened->payload = content;
    return store_attach(shelf->store, bytes, opened->attachment, error);
}

static bool add_all(Invocation *invocation, const Shelf *shelf, const DeskSource *source, const Call *call,
                    const Appliance *appliance, Error *error)
{
    CallFilePiece head;
    const CallFilePiece *entries;
    DeskCall fresh = {.count = 0};
    int count, added;
    if (!call_file_read(source->name, source->bytes, shelf->arena, &head, &entries, &count, error))
        return false;
    TrailRecord *records = ARENA_ARRAY(shelf->arena, TrailRecord, (size_t)count + 1);
    if (!records) return error_memory(error);
    store_new_id(
        trail_time_after(NULL, 0, shelf_record(shelf, &fresh, TRAIL_OPENED, "", "{}").made_millisecond),
        fresh.call);
    fresh.records = records;
    for (; fresh.count <= count; fresh.count++) {
        const CallFilePiece *piece = fresh.count ? &entries[fresh.count - 1] : &head;
        records[fresh.count] = shelf_record(shelf, &fresh, fresh.count ? TRAIL_ENTRY : TRAIL_OPENED,
                                            fresh.count ? piece->subject : "", piece->content);
        if (fresh.count && !attach_log(invocation, shelf, source->name, piece, &records[fresh.count], error))
            return false;
    }
    if (!attach_description(shelf, call, appliance, &records[0], error) ||
        !store_append(shelf->store, records, fresh.count, &added, error))
        return false;
    say_added(invocation, &fresh, added);
    return true;
}

bool cli__call_new(Invocation *invocation, Error *error)
{
    const char *path = invocation->arguments[0];
    Appliance appliance;
    Call call;
    DeskSource source = {.name = path};
    Shelf shelf;
    if (!files_read(path, CALL_LIMIT, invocation->arena, &source.bytes, error) ||
        !desk_read_call(&source, invocation->arena, &appliance, &call, error) ||
        !shelf_open(invocation, true, &shelf, error))
        return false;
    const bool went_well = add_all(invocation, &shelf, &source, &call, &appliance, error);
    shelf_close(&shelf);
    return went_well;
}

/* A wrong mark or word is refused before it is on record. */
static bool add_one(Invocation *invocation, const Shelf *shelf, Error *error)
{
    const char *typed = invocation->arguments[1];
    DeskCall found;
    CallFilePiece piece;
    int added;
    if (!desk_find_call(shelf->store, invocation->arguments[0], shelf->arena, &found, error) ||
        !desk_judge_entry(shelf->store, &found, typed, shelf->arena, error) ||
        !call_file_read_entry("the entry", text_of(typed), shelf->arena, &piece, error))
        return false;
    TrailRecord record = shelf_record(shelf, &found, TRAIL_ENTRY, piece.subject, piece.content);
    if (!attach_log(invocation, shelf, "", &piece, &record, error) ||
        !attach_file(invocation, shelf, &record, error) ||
        !store_append(shelf->store, &record, 1, &added, error))
        return false;
    say_added(invocation, &found, added);
    return true;
}

bool cli__call_add(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, add_one, error);
}
