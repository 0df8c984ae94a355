/* write.c: an archive out of records and attachments.
 *
 * No clock and no owner goes in, and attachments go in the order of their hashes, so that two who archive the
 * same call get the same file. */
#include "format/archive/archive_private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

#include "format/record_text/record_text.h"

enum { FIRST_DAY = 33 }; /* 1980-01-01, as APPNOTE.TXT 4.4.6 counts days */

bool archive_is(Text bytes) { return bytes.length >= 4 && memcmp(bytes.bytes, "PK\3\4", 4) == 0; }

/* The bytes must stay until the archive is closed. */
static bool add_file(zip_t *zip, const char *name, Text bytes)
{
    zip_source_t *source = zip_source_buffer(zip, bytes.bytes, bytes.length, 0);
    if (!source) return false;
    const zip_int64_t index = zip_file_add(zip, name, source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
        zip_source_free(source);
        return false;
    }
    return zip_set_file_compression(zip, (zip_uint64_t)index, ZIP_CM_DEFLATE, 9) == 0 &&
           zip_file_set_dostime(zip, (zip_uint64_t)index, 0, FIRST_DAY, 0) == 0;
}

static bool add_attachments(zip_t *zip, const Archive *archive)
{
    for (int a = 0; a < archive->attachment_count; a++) {
        char name[ARCHIVE__NAME_SIZE];
        snprintf(name, sizeof name, "%s%s", ARCHIVE__ATTACHMENT, archive->attachments[a].hash);
        if (!add_file(zip, name, archive->attachments[a].bytes)) return false;
    }
    return true;
}

static bool copy_source(zip_source_t *source, Arena *arena, Text *bytes)
{
    zip_stat_t stat;
    if (zip_source_stat(source, &stat) != 0 || !(stat.valid & ZIP_STAT_SIZE) || zip_source_open(source) != 0)
        return false;
    char *copy = arena_take(arena, stat.size + 1);
    const bool is_read = copy && zip_source_read(source, copy, stat.size) == (zip_int64_t)stat.size;
    zip_source_close(source);
    *bytes = (Text){copy, stat.size};
    return is_read;
}

/* Everything that can fail here is memory. */
static bool pack(const Archive *archive, Text lines, Arena *arena, Text *bytes)
{
    zip_source_t *source = zip_source_buffer_create(NULL, 0, 0, NULL);
    zip_t *zip = source ? zip_open_from_source(source, ZIP_CREATE | ZIP_TRUNCATE, NULL) : NULL;
    if (!zip) {
        if (source) zip_source_free(source);
        return false;
    }
    zip_source_keep(source); /* its bytes are wanted once the archive is closed */
    bool went_well = add_file(zip, ARCHIVE__RECORDS, lines) &&
                     (!archive->call_file.bytes || add_file(zip, ARCHIVE__CALL, archive->call_file)) &&
                     add_attachments(zip, archive);
    if (!went_well || zip_close(zip) != 0) {
        zip_discard(zip);
        went_well = false;
    }
    went_well = went_well && copy_source(source, arena, bytes);
    zip_source_free(source);
    return went_well;
}

/* ---- what may be written */

static int by_hash(const void *a, const void *b)
{
    return strcmp(((const ArchiveAttachment *)a)->hash, ((const ArchiveAttachment *)b)->hash);
}

/* The caller's own order stays. */
static bool sort_attachments(Archive *archive, Arena *arena)
{
    const size_t count = (size_t)archive->attachment_count;
    ArchiveAttachment *sorted = ARENA_ARRAY(arena, ArchiveAttachment, count);
    if (!sorted) return false;
    if (count) memcpy(sorted, archive->attachments, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, by_hash);
    archive->attachments = sorted;
    return true;
}

static bool refuse_large(Error *error)
{
    return error_set(error, ERROR_TOO_LARGE, "a call with so much attached",
                     "at most %d files of %d MiB and %d MiB in all, %d MiB of records, %d MiB of a call file",
                     ARCHIVE_MOST_ENTRIES - 2, ARCHIVE_MOST_FILE_BYTES >> 20, ARCHIVE_MOST_BYTES >> 20,
                     ARCHIVE_MOST_RECORDS_BYTES >> 20, ARCHIVE_MOST_CALL_BYTES >> 20);
}

/* Room beyond the limit for one more line, so that what is too large is not taken for a want of memory. */
static bool write_lines(const Archive *archive, TextBuilder *lines, Error *error)
{
    for (int r = 0; r < archive->record_count; r++) {
        if (!record_text_write_json(&archive->records[r], lines, error)) return false;
        if (lines->length > ARCHIVE_MOST_RECORDS_BYTES) return refuse_large(error);
    }
    return true;
}

/* Sizes of things in memory: their sum is far below what 64 bits hold. */
static bool check_sizes(const Archive *archive, size_t lines, Error *error)
{
    uint64_t total = (uint64_t)lines + archive->call_file.length;
    bool is_small = archive->call_file.length <= ARCHIVE_MOST_CALL_BYTES &&
                    archive->attachment_count <= ARCHIVE_MOST_ENTRIES - 2;
    for (int a = 0; a < archive->attachment_count; a++) {
        total += archive->attachments[a].bytes.length;
        is_small = is_small && archive->attachments[a].bytes.length <= ARCHIVE_MOST_FILE_BYTES;
    }
    return (is_small && total <= ARCHIVE_MOST_BYTES) || refuse_large(error);
}

bool archive_write(const Archive *archive, Arena *arena, Text *bytes, Error *error)
{
    TextBuilder lines =
        text_builder(arena, (size_t)ARCHIVE_MOST_RECORDS_BYTES + (size_t)8 * RECORD_TEXT_MOST_BYTES);
    Archive sorted = *archive;
    if (!write_lines(archive, &lines, error) || !check_sizes(archive, lines.length, error)) return false;
    if (!sort_attachments(&sorted, arena)) return error_memory(error);
    if (!archive__check_match(NULL, &sorted, arena, error)) return false;
    for (int a = 0; a < sorted.attachment_count; a++)
        if (!archive__check_hash(NULL, &sorted.attachments[a], error)) return false;
    return pack(&sorted, (Text){text_string(&lines), lines.length}, arena, bytes) || error_memory(error);
}
