/* command_call_export.c: `ovenwright call export` and `import`: calls for other people and programs. A call
 * file holds what holds of a call; lines of JSON hold every record, struck ones too, and come back the same;
 * an archive has what is attached to them as well. The customer is in none of them. */
#include "edge/cli/shelf.h"
#include "edge/files/files.h"
#include "format/archive/archive.h"
#include "format/call_file/call_file.h"
#include "format/record_text/record_text.h"

#include <string.h>

enum { FILE_LIMIT = 32 << 20, ARCHIVE_LIMIT = 300 << 20 };

/* ---- out */

static bool write_call_file(const DeskCall *found, Arena *arena, TextBuilder *text, Error *error)
{
    int count, *numbers = ARENA_ARRAY(arena, int, (size_t)found->count);
    return numbers ? call_file_write(&found->trail, &found->state, found->upto, text, numbers, &count, error)
                   : error_memory(error);
}

/* One record names it or several: it goes in once. */
static bool add_attachment(const Shelf *shelf, Archive *archive, const char *hash, Error *error)
{
    for (int a = 0; a < archive->attachment_count; a++)
        if (text_equal(archive->attachments[a].hash, hash)) return true;
    ArchiveAttachment *attachment = &archive->attachments[archive->attachment_count++];
    memcpy(attachment->hash, hash, TRAIL_HASH_SIZE);
    return store_read_attachment(shelf->store, hash, shelf->arena, &attachment->bytes, error) &&
           (attachment->bytes.bytes ||
            error_set(error, ERROR_IO, hash, "an attachment that is in the store"));
}

/* Records in the order of the trail, so that the same call gives the same archive. */
static bool write_archive(const Shelf *shelf, const DeskCall *found, Text *bytes, Error *error)
{
    TextBuilder file = text_builder(shelf->arena, FILE_LIMIT);
    Archive archive = {.records = found->records, .record_count = found->count};
    archive.attachments = ARENA_ARRAY(shelf->arena, ArchiveAttachment, (size_t)found->count);
    if (!archive.attachments) return error_memory(error);
    for (int r = 0; r < found->count; r++)
        if (found->records[r].attachment[0] &&
            !add_attachment(shelf, &archive, found->records[r].attachment, error))
            return false;
    if (!write_call_file(found, shelf->arena, &file, error)) return false;
    archive.call_file = (Text){text_string(&file), file.length};
    return archive_write(&archive, shelf->arena, bytes, error);
}

static bool write_records(const Invocation *invocation, const DeskCall *found, TextBuilder *text,
                          Error *error)
{
    const bool is_table = cli__has_option(invocation, OPTION_CSV);
    if (is_table) record_text_write_csv_head(text);
    for (int r = 0; r < found->trail.count; r++) {
        if (is_table)
            record_text_write_csv(found->trail.records[r], text);
        else if (!record_text_write_json(found->trail.records[r], text, error))
            return false;
    }
    return true;
}

static bool write_out(Invocation *invocation, Text bytes, Error *error)
{
    const char *path = cli__option(invocation, OPTION_OUTPUT, NULL);
    if (path) return files_write(path, bytes, error);
    text_add_bytes(&invocation->out, bytes.bytes, bytes.length);
    return true;
}

static bool export(Invocation *invocation, const Shelf *shelf, Error *error)
{
    const bool is_lines = cli__has_option(invocation, OPTION_JSON) || cli__has_option(invocation, OPTION_CSV);
    DeskCall found;
    TextBuilder text = text_builder(shelf->arena, FILE_LIMIT);
    Text bytes;
    if (!desk_find_call(shelf->store, invocation->arguments[0], shelf->arena, &found, error)) return false;
    if (cli__has_option(invocation, OPTION_ARCHIVE))
        return write_archive(shelf, &found, &bytes, error) && write_out(invocation, bytes, error);
    if (!(is_lines ? write_records(invocation, &found, &text, error)
                   : write_call_file(&found, shelf->arena, &text, error)))
        return false;
    return text.is_cut ? error_memory(error)
                       : write_out(invocation, (Text){text_string(&text), text.length}, error);
}

bool cli__call_export(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, export, error);
}

/* ---- in */

/* Everything or nothing: the store takes it in one transaction. */
static bool import(Invocation *invocation, const Shelf *shelf, const Archive *archive, Error *error)
{
    int added;
    Text *bytes = ARENA_ARRAY(shelf->arena, Text, (size_t)archive->attachment_count);
    if (!bytes) return error_memory(error);
    for (int a = 0; a < archive->attachment_count; a++) bytes[a] = archive->attachments[a].bytes;
    if (!store_append_attached(shelf->store, archive->records, archive->record_count, bytes,
                               archive->attachment_count, &added, error))
        return false;
    text_addf(&invocation->out, "%d records read, %d added\n", archive->record_count, added);
    return true;
}

bool cli__call_import(Invocation *invocation, Error *error)
{
    const char *path = invocation->arguments[0];
    Archive archive = {.record_count = 0};
    Text bytes;
    Shelf shelf;
    if (!files_read(path, ARCHIVE_LIMIT, invocation->arena, &bytes, error)) return false;
    const bool is_read = archive_is(bytes)
                             ? archive_read(path, bytes, invocation->arena, &archive, error)
                             : record_text_read_lines(path, bytes, invocation->arena, &archive.records,
                                                      &archive.record_count, error);
    if (!is_read || !shelf_open(invocation, true, &shelf, error)) return false;
    const bool went_well = import(invocation, &shelf, &archive, error);
    shelf_close(&shelf);
    return went_well;
}
