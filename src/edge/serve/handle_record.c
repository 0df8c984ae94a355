/* handle_record.c: what devices put on record, and what they attach.
 *
 * A device makes its records itself, with identifiers that nobody else makes, and sends them as lines until
 * they are acknowledged: what is there already is passed over. So a device that was away for an hour sends
 * its queue, and one that never got the answer sends it again. */
#include "edge/serve/serve_private.h"

#include <stdio.h>
#include <string.h>

#include "edge/desk/desk.h"
#include "format/record_text/record_text.h"

/* ---- is it one that may stand? */

/* A call of the store, or none yet. */
static bool find_call(ServeRequest *request, const TrailRecord *record, DeskCall *found, Error *error)
{
    *found = (DeskCall){.count = 0};
    return store_read_call(request->server->store, record->call, &request->arena, &found->records,
                           &found->count, error);
}

/* The call as it would read with the record. */
static bool read_with(ServeRequest *request, const DeskCall *with, Error *error)
{
    Appliance appliance;
    Call call;
    DeskSource source;
    if (with->state.opened < 0) return true; /* its opening is still on the way */
    return desk_source(request->server->store, with, NULL, &request->arena, &source, error) &&
           serve__may_load(&source, &request->arena, error) &&
           desk_read_call(&source, &request->arena, &appliance, &call, error);
}

static bool judge(ServeRequest *request, const TrailRecord *record, Error *error)
{
    DeskCall found, with;
    if (strcmp(record->author, request->device.name) != 0)
        return error_set(error, ERROR_INCONSISTENT, record->author, "the name of this device, %s",
                         request->device.name);
    return find_call(request, record, &found, error) &&
           desk_add_record(&found, record, &request->arena, &with, error) && read_with(request, &with, error);
}

/* ---- lines */

typedef struct {
    int added, known;
} Taken;

/* One after the other, since each is judged by what stood before it: an error leaves the earlier ones. */
static bool take_all(ServeRequest *request, const TrailRecord *records, int count, Taken *taken, Error *error)
{
    for (int r = 0; r < count; r++) {
        int added = 0;
        if (!judge(request, &records[r], error) ||
            !store_append(request->server->store, &records[r], 1, &added, error)) {
            request->failing_record = r + 1;
            return false;
        }
        taken->added += added;
        taken->known += !added;
        if (added) serve__wake(request->server, records[r].call);
    }
    return true;
}

void serve__record_add(ServeRequest *request)
{
    TrailRecord *records;
    int count;
    Taken taken = {0, 0};
    Error error = {.code = ERROR_NONE};
    const Text body = {text_string(&request->body), request->body.length};
    if (record_text_read_lines("records", body, &request->arena, &records, &count, &error) &&
        take_all(request, records, count, &taken, &error))
        serve__answer_tree(request, 200, json_pack("{s:i, s:i}", "added", taken.added, "known", taken.known));
    else
        serve__answer_error(request, &error);
}

/* ---- attachments */

void serve__attachment_add(ServeRequest *request)
{
    char hash[TRAIL_HASH_SIZE];
    Error error = {.code = ERROR_NONE};
    const Text body = {text_string(&request->body), request->body.length};
    if (store_attach(request->server->store, body, hash, &error))
        serve__answer_tree(request, 201,
                           json_pack("{s:s, s:I}", "attachment", hash, "bytes", (json_int_t)body.length));
    else
        serve__answer_error(request, &error);
}

void serve__attachment_show(ServeRequest *request)
{
    Text bytes;
    Error error = {.code = ERROR_NONE};
    if (!store_read_attachment(request->server->store, request->parameter, &request->arena, &bytes, &error)) {
        serve__answer_error(request, &error);
        return;
    }
    if (!bytes.bytes) {
        serve__refuse(request, 404, request->parameter, "the SHA-256 of something that is attached");
        return;
    }
    request->status = 200;
    request->type = "application/octet-stream";
    request->is_download = true;
    request->answer = bytes;
}
