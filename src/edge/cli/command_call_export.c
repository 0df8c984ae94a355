/* command_call_export.c: `ovenwright call export` and `import`: calls for other people and programs. A call
 * file holds what holds of a call; lines of JSON hold every record, struck ones too, and come back the same.
 * Logs that are attached travel with `store sync`, not with these. */
#include "edge/cli/files.h"
#include "edge/cli/shelf.h"
#include "format/call_file/call_file.h"
#include "format/record_text/record_text.h"

#include <string.h>

enum { FILE_LIMIT = 32 << 20 };

static bool write_out(Invocation *invocation, const TextBuilder *text, Error *error)
{
    const char *path = cli__option(invocation, OPTION_OUTPUT, NULL);
    if (text->is_cut) return error_memory(error);
    if (path) return files_write(path, (Text){text_string(text), text->length}, error);
    text_add_bytes(&invocation->out, text_string(text), text->length);
    return true;
}

static bool export(Invocation *invocation, const Shelf *shelf, Error *error)
{
    ShelfCall found;
    TextBuilder text = text_builder(shelf->arena, FILE_LIMIT);
    int count;
    if (!shelf_find(shelf, invocation->arguments[0], &found, error)) return false;
    if (cli__has_option(invocation, OPTION_JSON)) {
        for (int r = 0; r < found.trail.count; r++)
            if (!record_text_write_json(found.trail.records[r], &text, error)) return false;
        return write_out(invocation, &text, error);
    }
    int *numbers = ARENA_ARRAY(shelf->arena, int, (size_t)found.count);
    if (!numbers) return error_memory(error);
    return call_file_write(&found.trail, &found.state, found.upto, &text, numbers, &count, error) &&
           write_out(invocation, &text, error);
}

bool cli__call_export(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, export, error);
}

/* All lines or none: the store takes them in one transaction. */
static bool read_lines(const char *path, Text text, Arena *arena, TrailRecord **records, int *count,
                       Error *error)
{
    int lines = 0;
    for (size_t i = 0; i < text.length; i++) lines += text.bytes[i] == '\n';
    *records = ARENA_ARRAY(arena, TrailRecord, (size_t)lines + 1);
    *count = 0;
    if (!*records) return error_memory(error);
    int number = 1;
    for (size_t at = 0; at < text.length; number++) {
        const char *end = memchr(text.bytes + at, '\n', text.length - at);
        const size_t length = end ? (size_t)(end - text.bytes) - at : text.length - at;
        const Text line = {text.bytes + at, length};
        if (length > 0 && !record_text_read_json(path, number, line, arena, &(*records)[(*count)++], error))
            return false;
        at += length + 1;
    }
    return true;
}

bool cli__call_import(Invocation *invocation, Error *error)
{
    const char *path = invocation->arguments[0];
    Text text;
    TrailRecord *records;
    int count, added = 0;
    Shelf shelf;
    if (!files_read(path, FILE_LIMIT, invocation->arena, &text, error) ||
        !read_lines(path, text, invocation->arena, &records, &count, error) ||
        !shelf_open(invocation, true, &shelf, error))
        return false;
    const bool went_well = store_append(shelf.store, records, count, &added, error);
    shelf_close(&shelf);
    if (went_well) text_addf(&invocation->out, "%d records read, %d added\n", count, added);
    return went_well;
}
