/* read.c: an archive from anywhere, read whole or refused whole.
 *
 * First everything that the archive says of itself is looked at, so that nothing is unpacked for one that is
 * refused anyway. Then each entry is unpacked to exactly its declared size: a byte less or more is a lie, and
 * a bomb that declares what it is has been refused before. Records come first, since they say which
 * attachments are wanted. The call file is unpacked as well, only to see that it can be: the archive is sound
 * as a whole, or it is not. */
#include "format/archive/archive_private.h"

#include <assert.h>
#include <string.h>
#include <zip.h>

#include "format/record_text/record_text.h"

/* Less than any record takes: two identifiers, a moment, and the keys. */
enum { SHORTEST_RECORD = 128 };

typedef struct {
    const char *source;
    zip_t *zip;
    Arena *arena;
    Archive *archive;
    const ArchiveEntry *entries; /* by name: attachments in the order of their hashes, call file, records */
    int count;
} Reading;

static bool refuse(const Reading *reading, ErrorCode code, Text found, const char *expected, Error *error)
{
    return archive__refuse(reading->source, code, found, expected, error);
}

/* ---- one entry */

/* libzip must mean the same entry: it lets an extra field give another name. */
static zip_file_t *open_entry(const Reading *reading, const ArchiveEntry *entry)
{
    const zip_uint64_t index = (zip_uint64_t)entry->index;
    zip_stat_t stat;
    if (zip_stat_index(reading->zip, index, ZIP_FL_ENC_RAW, &stat) != 0 || !(stat.valid & ZIP_STAT_NAME) ||
        !(stat.valid & ZIP_STAT_SIZE) || stat.size != entry->size || !text_is(entry->name, stat.name))
        return NULL;
    return zip_fopen_index(reading->zip, index, 0);
}

/* Exactly as many bytes as were declared, and then the end, where libzip holds the check sum against them. */
static bool read_exactly(zip_file_t *file, char *bytes, uint64_t size)
{
    char more;
    uint64_t done = 0;
    for (zip_int64_t count; done < size; done += (uint64_t)count) {
        count = zip_fread(file, bytes + done, size - done);
        if (count <= 0) return false;
        assert((uint64_t)count <= size - done);
    }
    return zip_fread(file, &more, 1) == 0;
}

static bool unpack(const Reading *reading, const ArchiveEntry *entry, Text *bytes, Error *error)
{
    char *copy = arena_take(reading->arena, entry->size + 1);
    if (!copy) return error_memory(error);
    zip_file_t *file = open_entry(reading, entry);
    const bool is_read = file && read_exactly(file, copy, entry->size);
    const zip_error_t *why = file ? zip_file_get_error(file) : zip_get_error(reading->zip);
    const bool is_memory = !is_read && zip_error_code_zip(why) == ZIP_ER_MEMORY;
    if (file) zip_fclose(file);
    if (is_memory) return error_memory(error);
    *bytes = (Text){copy, entry->size};
    return is_read || refuse(reading, ERROR_SYNTAX, entry->name,
                             "an entry of the size and check sum that it declares", error);
}

/* ---- all of them */

/* Room for records is taken by lines, so that lines without any are counted first. */
static bool read_records(const Reading *reading, Error *error)
{
    const ArchiveEntry *entry = &reading->entries[reading->count - 1];
    Text text;
    size_t lines = 0;
    if (!unpack(reading, entry, &text, error)) return false;
    for (size_t i = 0; i < text.length; i++) lines += text.bytes[i] == '\n';
    if (lines > text.length / SHORTEST_RECORD + 1)
        return refuse(reading, ERROR_SYNTAX, text_of("lines too short for a record in " ARCHIVE__RECORDS),
                      "one record a line", error);
    return record_text_read_lines(reading->source, text, reading->arena, &reading->archive->records,
                                  &reading->archive->record_count, error);
}

static bool name_attachments(const Reading *reading, Error *error)
{
    Archive *archive = reading->archive;
    const size_t prefix = strlen(ARCHIVE__ATTACHMENT);
    archive->attachments = ARENA_ARRAY(reading->arena, ArchiveAttachment, (size_t)reading->count);
    if (!archive->attachments) return error_memory(error);
    for (int e = 0; e < reading->count && reading->entries[e].name.bytes[0] == 'a'; e++) {
        assert(reading->entries[e].name.length == prefix + TRAIL_HASH_SIZE - 1);
        memcpy(archive->attachments[e].hash, reading->entries[e].name.bytes + prefix, TRAIL_HASH_SIZE - 1);
        archive->attachment_count++;
    }
    return true;
}

static bool read_attachments(const Reading *reading, Error *error)
{
    for (int a = 0; a < reading->archive->attachment_count; a++) {
        ArchiveAttachment *attachment = &reading->archive->attachments[a];
        if (!unpack(reading, &reading->entries[a], &attachment->bytes, error) ||
            !archive__check_hash(reading->source, attachment, error))
            return false;
    }
    return true;
}

static bool check_call_file(const Reading *reading, Error *error)
{
    const int at = reading->archive->attachment_count;
    Text for_people;
    return !text_is(reading->entries[at].name, ARCHIVE__CALL) ||
           unpack(reading, &reading->entries[at], &for_people, error);
}

static bool read_all(const Reading *reading, Error *error)
{
    return read_records(reading, error) && name_attachments(reading, error) &&
           archive__check_match(reading->source, reading->archive, reading->arena, error) &&
           check_call_file(reading, error) && read_attachments(reading, error);
}

/* ---- the archive */

static bool open_zip(Reading *reading, Text bytes, Error *error)
{
    zip_error_t why;
    zip_error_init(&why);
    zip_source_t *buffer = zip_source_buffer_create(bytes.bytes, bytes.length, 0, &why);
    reading->zip = buffer ? zip_open_from_source(buffer, ZIP_RDONLY | ZIP_CHECKCONS, &why) : NULL;
    if (buffer && !reading->zip) zip_source_free(buffer);
    const bool is_memory = !reading->zip && zip_error_code_zip(&why) == ZIP_ER_MEMORY;
    zip_error_fini(&why);
    if (is_memory) return error_memory(error);
    return reading->zip ||
           refuse(reading, ERROR_SYNTAX, text_of("an archive whose headers contradict each other"),
                  "what `call export --archive` wrote", error);
}

bool archive_read(const char *source, Text bytes, Arena *arena, Archive *archive, Error *error)
{
    ArchiveEntry *entries;
    Reading reading = {.source = source, .arena = arena, .archive = archive};
    *archive = (Archive){.record_count = 0};
    if (!archive__read_directory(source, bytes, arena, &entries, &reading.count, error) ||
        !archive__check_entries(source, entries, reading.count, error) || !open_zip(&reading, bytes, error))
        return false;
    reading.entries = entries;
    const bool is_read = read_all(&reading, error);
    zip_discard(reading.zip);
    if (!is_read) *archive = (Archive){.record_count = 0}; /* never half */
    return is_read;
}
