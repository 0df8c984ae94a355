/* read.c: an archive from anywhere, read whole or refused whole.
 *
 * First every entry's name and declared size is looked at, so that nothing is unpacked for an archive that is
 * refused anyway. Then each is unpacked to exactly its declared size: a byte less or more is a lie, and a
 * bomb that declares what it is has been refused before. Last, records and attachments must need each other.
 */
#include "format/archive/archive_private.h"

#include <stdio.h>
#include <string.h>
#include <zip.h>

#include "format/record_text/record_text.h"

enum { MOST_CALL_BYTES = 1 << 20 };

typedef struct {
    const char *source;
    zip_t *zip;
    Arena *arena;
    Archive *archive;
    Text lines; /* records.jsonl */
    bool has_records, has_call;
    zip_uint64_t total;
} Reading;

static bool refuse(const Reading *reading, ErrorCode code, const char *found, const char *expected,
                   Error *error)
{
    error_set(error, code, found, "%s", expected);
    error_hint(error, "Nothing of it was taken.");
    return error_at(error, reading->source, 0, 0);
}

/* ---- what it says of itself */

static bool is_hash(const char *text)
{
    size_t length = 0;
    while ((text[length] >= '0' && text[length] <= '9') || (text[length] >= 'a' && text[length] <= 'f'))
        length++;
    return length == TRAIL_HASH_SIZE - 1 && text[length] == '\0';
}

/* The limit of an entry of that name; 0: there is no such name. */
static zip_uint64_t limit_of(const char *name)
{
    if (text_equal(name, ARCHIVE__RECORDS)) return ARCHIVE_MOST_RECORDS_BYTES;
    if (text_equal(name, ARCHIVE__CALL)) return MOST_CALL_BYTES;
    const size_t prefix = strlen(ARCHIVE__ATTACHMENT);
    return strncmp(name, ARCHIVE__ATTACHMENT, prefix) == 0 && is_hash(name + prefix) ? ARCHIVE_MOST_FILE_BYTES
                                                                                     : 0;
}

static bool is_twice(const Reading *reading, const char *name)
{
    for (int a = 0; a < reading->archive->attachment_count; a++)
        if (text_equal(name + strlen(ARCHIVE__ATTACHMENT), reading->archive->attachments[a].hash))
            return true;
    return false;
}

/* Takes the name down, once. */
static bool note_name(Reading *reading, const char *name)
{
    bool *const has = text_equal(name, ARCHIVE__RECORDS) ? &reading->has_records : &reading->has_call;
    if (name[0] != 'a') {
        const bool is_first = !*has;
        *has = true;
        return is_first;
    }
    if (is_twice(reading, name)) return false;
    ArchiveAttachment *attachment = &reading->archive->attachments[reading->archive->attachment_count++];
    snprintf(attachment->hash, sizeof attachment->hash, "%s", name + strlen(ARCHIVE__ATTACHMENT));
    return true;
}

static bool look_at(Reading *reading, zip_uint64_t index, Error *error)
{
    const zip_uint64_t wanted =
        ZIP_STAT_NAME | ZIP_STAT_SIZE | ZIP_STAT_COMP_METHOD | ZIP_STAT_ENCRYPTION_METHOD;
    zip_stat_t stat;
    if (zip_stat_index(reading->zip, index, ZIP_FL_ENC_RAW, &stat) != 0 || (stat.valid & wanted) != wanted)
        return refuse(reading, ERROR_SYNTAX, "a damaged entry", "entries with name, size and method", error);
    const zip_uint64_t limit = limit_of(stat.name);
    if (limit == 0)
        return refuse(
            reading, ERROR_UNKNOWN_WORD, stat.name[0] ? stat.name : "an entry without a name",
            ARCHIVE__RECORDS ", " ARCHIVE__CALL ", and attachments/ with a SHA-256 in small letters", error);
    if (stat.encryption_method != ZIP_EM_NONE)
        return refuse(reading, ERROR_SYNTAX, "an encrypted entry", "entries that anybody can read", error);
    if (stat.comp_method != ZIP_CM_STORE && stat.comp_method != ZIP_CM_DEFLATE)
        return refuse(reading, ERROR_SYNTAX, "an unusual compression", "entries stored or deflated", error);
    reading->total += stat.size < limit ? stat.size : limit;
    if (stat.size > limit || reading->total > ARCHIVE_MOST_BYTES)
        return refuse(reading, ERROR_TOO_LARGE, stat.name,
                      "at most 64 MiB a file and 256 MiB in all, unpacked", error);
    return note_name(reading, stat.name) ||
           refuse(reading, ERROR_INCONSISTENT, stat.name, "each name once", error);
}

static bool look_at_all(Reading *reading, Error *error)
{
    const zip_int64_t count = zip_get_num_entries(reading->zip, 0);
    if (count > ARCHIVE_MOST_ENTRIES)
        return refuse(reading, ERROR_TOO_LARGE, "so many entries", "at most 2000", error);
    reading->archive->attachments = ARENA_ARRAY(reading->arena, ArchiveAttachment, (size_t)count + 1);
    if (!reading->archive->attachments) return error_memory(error);
    for (zip_int64_t i = 0; i < count; i++)
        if (!look_at(reading, (zip_uint64_t)i, error)) return false;
    return reading->has_records ||
           refuse(reading, ERROR_MISSING, "no " ARCHIVE__RECORDS, "an archive of calls", error);
}

/* ---- what it holds */

/* Exactly as many bytes as were declared, and then the end, where libzip holds the check sum against them. */
static bool read_exactly(zip_file_t *file, char *bytes, zip_uint64_t size)
{
    char more;
    zip_uint64_t done = 0;
    for (zip_int64_t count; done < size; done += (zip_uint64_t)count) {
        count = zip_fread(file, bytes + done, size - done);
        if (count <= 0) return false;
    }
    return zip_fread(file, &more, 1) == 0;
}

static bool unpack(const Reading *reading, const char *name, Text *bytes, Error *error)
{
    zip_stat_t stat;
    zip_file_t *file = zip_stat(reading->zip, name, ZIP_FL_ENC_RAW, &stat) == 0
                           ? zip_fopen_index(reading->zip, stat.index, 0)
                           : NULL;
    char *copy = file ? arena_take(reading->arena, stat.size + 1) : NULL;
    const bool is_read = copy && read_exactly(file, copy, stat.size);
    if (file) zip_fclose(file);
    if (file && !copy) return error_memory(error);
    if (!is_read)
        return refuse(reading, ERROR_SYNTAX, name, "an entry of the size and check sum that it declares",
                      error);
    *bytes = (Text){copy, stat.size};
    return true;
}

static bool is_named(const Archive *archive, const char *hash)
{
    for (int r = 0; r < archive->record_count; r++)
        if (text_equal(archive->records[r].attachment, hash)) return true;
    return false;
}

static bool is_attached(const Archive *archive, const char *hash)
{
    for (int a = 0; a < archive->attachment_count; a++)
        if (text_equal(archive->attachments[a].hash, hash)) return true;
    return !hash[0];
}

static bool read_attachment(const Reading *reading, ArchiveAttachment *attachment, Error *error)
{
    char name[sizeof ARCHIVE__ATTACHMENT + TRAIL_HASH_SIZE], hash[TRAIL_HASH_SIZE];
    snprintf(name, sizeof name, "%s%s", ARCHIVE__ATTACHMENT, attachment->hash);
    if (!is_named(reading->archive, attachment->hash))
        return refuse(reading, ERROR_INCONSISTENT, attachment->hash, "attachments that a record names",
                      error);
    if (!unpack(reading, name, &attachment->bytes, error)) return false;
    archive__hash(attachment->bytes, hash);
    return text_equal(hash, attachment->hash) || refuse(reading, ERROR_INCONSISTENT, attachment->hash,
                                                        "an attachment that is what its hash says", error);
}

static bool read_all(Reading *reading, Error *error)
{
    const Archive *archive = reading->archive;
    if (!look_at_all(reading, error) || !unpack(reading, ARCHIVE__RECORDS, &reading->lines, error) ||

        !record_text_read_lines(reading->source, reading->lines, reading->arena, &reading->archive->records,
                                &reading->archive->record_count, error))
        return false;
    for (int r = 0; r < archive->record_count; r++)
        if (!is_attached(archive, archive->records[r].attachment))
            return refuse(reading, ERROR_MISSING, archive->records[r].attachment,
                          "every attachment that a record names", error);
    for (int a = 0; a < archive->attachment_count; a++)
        if (!read_attachment(reading, &archive->attachments[a], error)) return false;
    return true;
}

bool archive_read(const char *source, Text bytes, Arena *arena, Archive *archive, Error *error)
{
    zip_source_t *buffer = zip_source_buffer_create(bytes.bytes, bytes.length, 0, NULL);
    Reading reading = {.source = source, .arena = arena, .archive = archive};
    *archive = (Archive){.record_count = 0};
    reading.zip = buffer ? zip_open_from_source(buffer, ZIP_RDONLY | ZIP_CHECKCONS, NULL) : NULL;
    if (!reading.zip) {
        if (buffer) zip_source_free(buffer);
        return refuse(&reading, ERROR_SYNTAX, "no zip archive, or a damaged one",
                      "what `call export --archive` wrote", error);
    }
    const bool is_read = read_all(&reading, error);
    zip_discard(reading.zip);
    return is_read;
}
