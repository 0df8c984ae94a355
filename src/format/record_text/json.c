/* json.c: a record as one JSON object on a line.
 *
 * The content goes through jansson on its way in and on its way out, in one form: no spaces, keys in the
 * order in which they were written, 17 digits. So a line that this program wrote is read and written again
 * without a byte changed, whoever else has formatted it in between. */
#include "format/record_text/record_text.h"

#include <jansson.h>
#include <string.h>

static const size_t writing = JSON_COMPACT | JSON_PRESERVE_ORDER | JSON_REAL_PRECISION(17);
static const size_t reading = JSON_REJECT_DUPLICATES;

static int add_piece(const char *bytes, size_t length, void *builder)
{
    text_add_bytes(builder, bytes, length);
    return 0;
}

/* ---- out */

static bool set_text(json_t *object, const char *key, const char *value)
{
    return json_object_set_new(object, key, json_string(value)) == 0;
}

static bool fill(const TrailRecord *record, json_t *line)
{
    char at[RECORD_TEXT_TIME_SIZE];
    record_text_write_time(record->made_millisecond, at);
    bool went_well = set_text(line, "id", record->id) && set_text(line, "call", record->call) &&
                     set_text(line, "at", at) && set_text(line, "by", record->author) &&
                     set_text(line, "device", record->device) &&
                     set_text(line, "kind", trail_kind_name(record->kind));
    if (record->subject && record->subject[0])
        went_well = went_well && set_text(line, "subject", record->subject);
    if (record->strikes[0]) went_well = went_well && set_text(line, "strikes", record->strikes);
    if (record->attachment[0]) went_well = went_well && set_text(line, "attachment", record->attachment);
    return went_well;
}

bool record_text_write_json(const TrailRecord *record, TextBuilder *out, Error *error)
{
    json_t *line = json_object();
    json_t *content = json_loads(record->payload, reading, NULL);
    const bool is_filled = line && json_is_object(content) && fill(record, line) &&
                           json_object_set(line, "content", content) == 0;
    const bool is_written = is_filled && json_dump_callback(line, add_piece, out, writing) == 0;
    const bool is_content_bad = !json_is_object(content);
    json_decref(content);
    json_decref(line);
    if (is_content_bad)
        return error_set(error, ERROR_DEFECT, record->id, "a record whose content is a JSON object");
    text_add(out, "\n");
    return is_written && !out->is_cut ? true : error_memory(error);
}

/* ---- in */

typedef struct {
    const char *source;
    int line;
    json_t *object;
    Arena *arena;
    Error *error;
} Reading;

static bool fail(const Reading *at, ErrorCode code, const char *found, const char *expected)
{
    error_set(at->error, code, found, "%s", expected);
    return error_at(at->error, at->source, at->line, 0);
}

/* NULL, with the error set, when a key that must be there is not, or is no text. */
static const char *find_text(const Reading *at, const char *key, bool is_needed)
{
    const json_t *value = json_object_get(at->object, key);
    if (!value && !is_needed) return "";
    if (json_is_string(value)) return json_string_value(value);
    fail(at, value ? ERROR_WRONG_KIND : ERROR_MISSING, key, "a text under this key");
    return NULL;
}

static bool copy_text(const Reading *at, const char *key, bool is_needed, const char **copy)
{
    const char *text = find_text(at, key, is_needed);
    if (!text) return false;
    *copy = arena_copy_text(at->arena, text, strlen(text));
    return *copy ? true : error_memory(at->error);
}

/* Into an array of fixed size; what is too long is left to trail_check to name, by its first characters. */
static bool copy_fixed(const Reading *at, const char *key, bool is_needed, char *out, size_t size)
{
    const char *text = find_text(at, key, is_needed);
    if (!text) return false;
    if (strlen(text) >= size)
        return fail(at, ERROR_TOO_LARGE, key, "an identifier of 36 characters, a hash of 64");
    memcpy(out, text, strlen(text) + 1);
    return true;
}

static bool check_keys(const Reading *at)
{
    static const char *const known[] = {"id",   "call",    "at",      "by",      "device",
                                        "kind", "subject", "content", "strikes", "attachment"};
    const char *key;
    json_t *value;
    json_object_foreach(at->object, key, value)
    {
        bool is_known = false;
        for (size_t k = 0; k < sizeof known / sizeof known[0]; k++) is_known |= text_equal(key, known[k]);
        if (!is_known)
            return fail(at, ERROR_UNKNOWN_WORD, key,
                        "id, call, at, by, device, kind, subject, content, strikes or attachment");
    }
    return true;
}

static bool read_moment(const Reading *at, TrailRecord *record)
{
    const char *text = find_text(at, "at", true);
    if (!text) return false;
    if (record_text_read_time(text_of(text), &record->made_millisecond)) return true;
    return fail(at, ERROR_WRONG_KIND, text, "a moment like 2026-11-26T18:00:00.250Z (RFC 3339)");
}

static bool read_content(const Reading *at, TrailRecord *record)
{
    const json_t *content = json_object_get(at->object, "content");
    if (!json_is_object(content))
        return fail(at, ERROR_WRONG_KIND, "content", "a JSON object under this key");
    TextBuilder out = text_builder(at->arena, RECORD_TEXT_MOST_CONTENT);
    if (json_dump_callback(content, add_piece, &out, writing) != 0) return error_memory(at->error);
    if (out.is_cut)
        return fail(at, ERROR_TOO_LARGE, "content",
                    "less than 253952 bytes; logs and photos are attached apart");
    record->payload = text_string(&out);
    return true;
}

static bool read_fields(const Reading *at, TrailRecord *record)
{
    const char *kind = find_text(at, "kind", true);
    *record = (TrailRecord){.kind = TRAIL_KIND_COUNT};
    if (!kind || !check_keys(at)) return false;
    if (!trail_kind_of(kind, &record->kind))
        return fail(at, ERROR_UNKNOWN_WORD, kind, "opened, changed, entry, struck, closed or reopened");
    return copy_fixed(at, "id", true, record->id, sizeof record->id) &&
           copy_fixed(at, "call", true, record->call, sizeof record->call) &&
           copy_fixed(at, "strikes", false, record->strikes, sizeof record->strikes) &&
           copy_fixed(at, "attachment", false, record->attachment, sizeof record->attachment) &&
           copy_text(at, "by", true, &record->author) && copy_text(at, "device", true, &record->device) &&
           copy_text(at, "subject", false, &record->subject) && read_moment(at, record) &&
           read_content(at, record);
}

bool record_text_read_json(const char *source, int line, Text text, Arena *arena, TrailRecord *record,
                           Error *error)
{
    json_error_t place;
    Reading at = {.source = source, .line = line, .arena = arena, .error = error};
    if (text.length > RECORD_TEXT_MOST_BYTES)
        return fail(&at, ERROR_TOO_LARGE, "a line of more than 262144 bytes",
                    "one record, its log or photo attached apart");
    at.object = json_loadb(text.bytes ? text.bytes : "", text.length, reading, &place);
    if (!at.object) {
        error_set(error, ERROR_SYNTAX, place.text, "one JSON object, each key once");
        return error_at(error, source, line, place.column > 0 ? place.column : 0);
    }
    bool went_well = json_is_object(at.object) ? read_fields(&at, record)
                                               : fail(&at, ERROR_WRONG_KIND, "a list", "one JSON object");
    if (went_well && !trail_check(record, error)) went_well = error_at(error, source, line, 0);
    json_decref(at.object);
    return went_well;
}

bool record_text_read_lines(const char *source, Text text, Arena *arena, TrailRecord **records, int *count,
                            Error *error)
{
    int lines = 0, number = 1;
    for (size_t i = 0; i < text.length; i++) lines += text.bytes[i] == '\n';
    *records = ARENA_ARRAY(arena, TrailRecord, (size_t)lines + 1);
    *count = 0;
    if (!*records) return error_memory(error);
    for (size_t at = 0; at < text.length; number++) {
        const char *end = memchr(text.bytes + at, '\n', text.length - at);
        const size_t length = end ? (size_t)(end - text.bytes) - at : text.length - at;
        const Text line = {text.bytes + at, length};
        if (length > 0 && !record_text_read_json(source, number, line, arena, &(*records)[(*count)++], error))
            return false;
        at += length + 1;
    }
    return true;
}
