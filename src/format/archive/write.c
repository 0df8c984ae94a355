/* write.c: an archive out of records and attachments.
 *
 * No clock and no owner goes in, and attachments go in the order of their hashes, so that two who archive the
 * same call get the same file. */
#include "format/archive/archive_private.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

#include "format/record_text/record_text.h"

enum { FIRST_DAY = 33 }; /* 1980-01-01, as APPNOTE.TXT 4.4.6 counts days */

bool archive_is(Text bytes) { return bytes.length >= 4 && memcmp(bytes.bytes, "PK\3\4", 4) == 0; }

void archive__hash(Text bytes, char hash[TRAIL_HASH_SIZE])
{
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, (const unsigned char *)(bytes.bytes ? bytes.bytes : ""), bytes.length);
    sodium_bin2hex(hash, TRAIL_HASH_SIZE, digest, sizeof digest);
}

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

static int by_hash(const void *a, const void *b)
{
    return strcmp((*(const ArchiveAttachment *const *)a)->hash, (*(const ArchiveAttachment *const *)b)->hash);
}

static bool add_attachments(zip_t *zip, const Archive *archive, Arena *arena)
{
    const size_t count = (size_t)archive->attachment_count;
    const ArchiveAttachment **sorted = ARENA_ARRAY(arena, const ArchiveAttachment *, count);
    if (!sorted) return false;
    for (size_t a = 0; a < count; a++) sorted[a] = &archive->attachments[a];
    qsort(sorted, count, sizeof *sorted, by_hash);
    for (size_t a = 0; a < count; a++) {
        char name[sizeof ARCHIVE__ATTACHMENT + TRAIL_HASH_SIZE];
        snprintf(name, sizeof name, "%s%s", ARCHIVE__ATTACHMENT, sorted[a]->hash);
        if (!add_file(zip, name, sorted[a]->bytes)) return false;
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
                     add_attachments(zip, archive, arena);
    if (!went_well || zip_close(zip) != 0) {
        zip_discard(zip);
        went_well = false;
    }
    went_well = went_well && copy_source(source, arena, bytes);
    zip_source_free(source);
    return went_well;
}

bool archive_write(const Archive *archive, Arena *arena, Text *bytes, Error *error)
{
    TextBuilder lines = text_builder(arena, ARCHIVE_MOST_RECORDS_BYTES);
    size_t total = archive->call_file.length;
    for (int r = 0; r < archive->record_count; r++)
        if (!record_text_write_json(&archive->records[r], &lines, error)) return false;
    for (int a = 0; a < archive->attachment_count; a++) total += archive->attachments[a].bytes.length;
    if (lines.is_cut || lines.length + total > ARCHIVE_MOST_BYTES ||
        archive->attachment_count > ARCHIVE_MOST_ENTRIES - 2)
        return error_set(error, ERROR_TOO_LARGE, "a call with so much attached",
                         "at most %d MiB and %d files", ARCHIVE_MOST_BYTES >> 20, ARCHIVE_MOST_ENTRIES - 2);
    return pack(archive, (Text){text_string(&lines), lines.length}, arena, bytes) || error_memory(error);
}
