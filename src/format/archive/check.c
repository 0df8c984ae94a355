/* check.c: what an archive may hold, before it is unpacked and once it is.
 *
 * Both directions ask the same questions, so that nothing is written that would not be read. */
#include "format/archive/archive_private.h"

#include <assert.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

/* APPNOTE.TXT 4.4.4: encrypted, strongly, or with a masked directory. */
enum { IS_ENCRYPTED = 1 << 0 | 1 << 6 | 1 << 13 };
enum { STORED = 0, DEFLATED = 8 }; /* 4.4.5; ISO/IEC 21320-1 allows no other */

/* At its best deflate says 258 bytes with one bit for the length and one for the distance (RFC 1951, section
 * 3.2.5): 1032 bytes in one. Who declares more lies. */
enum { MOST_TO_ONE = 1032 };

bool archive__refuse(const char *source, ErrorCode code, Text found, const char *expected, Error *error)
{
    char shown[sizeof error->found];
    size_t length = 0;
    for (; length < found.length && length + 1 < sizeof shown; length++) {
        const char c = found.bytes[length];
        shown[length] = (char)(c >= ' ' && c <= '~' ? c : '?');
    }
    shown[length] = '\0';
    error_set(error, code, shown, "%s", expected);
    if (source) error_hint(error, "Nothing of it was taken.");
    return error_at(error, source, 0, 0);
}

/* ---- before it is unpacked */

static bool is_hash(Text text)
{
    for (size_t i = 0; i < text.length; i++) {
        const char c = text.bytes[i];
        if (!((c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'))) return false;
    }
    return text.length == TRAIL_HASH_SIZE - 1;
}

/* The limit of an entry of that name; 0: there is no such name. */
static uint64_t limit_of(Text name)
{
    const size_t prefix = strlen(ARCHIVE__ATTACHMENT);
    if (text_is(name, ARCHIVE__RECORDS)) return ARCHIVE_MOST_RECORDS_BYTES;
    if (text_is(name, ARCHIVE__CALL)) return ARCHIVE_MOST_CALL_BYTES;
    if (name.length <= prefix || memcmp(name.bytes, ARCHIVE__ATTACHMENT, prefix) != 0) return 0;
    return is_hash((Text){name.bytes + prefix, name.length - prefix}) ? ARCHIVE_MOST_FILE_BYTES : 0;
}

/* Can the packed bytes come to the declared size? */
static bool is_possible(const ArchiveEntry *entry)
{
    if (entry->method == STORED) return entry->size == entry->packed;
    return entry->size / MOST_TO_ONE <= entry->packed;
}

static bool check_entry(const char *source, const ArchiveEntry *entry, Error *error)
{
    const Text name = entry->name.length ? entry->name : text_of("an entry without a name");
    if (limit_of(entry->name) == 0)
        return archive__refuse(
            source, ERROR_UNKNOWN_WORD, name,
            ARCHIVE__RECORDS ", " ARCHIVE__CALL ", and attachments/ with a SHA-256 in small letters", error);
    if (entry->flags & IS_ENCRYPTED)
        return archive__refuse(source, ERROR_SYNTAX, text_of("an encrypted entry"),
                               "entries that anybody can read", error);
    if (entry->method != STORED && entry->method != DEFLATED)
        return archive__refuse(source, ERROR_SYNTAX, text_of("an unusual compression"),
                               "entries stored or deflated", error);
    if (entry->size > limit_of(entry->name))
        return archive__refuse(
            source, ERROR_TOO_LARGE, name,
            "at most 32 MiB of records, 1 MiB of a call file and 64 MiB of an attachment, unpacked", error);
    return is_possible(entry) ||
           archive__refuse(source, ERROR_SYNTAX, name, "an entry of the size and check sum that it declares",
                           error);
}

bool archive__check_entries(const char *source, const ArchiveEntry *entries, int count, Error *error)
{
    uint64_t total = 0;
    for (int e = 0; e < count; e++) {
        if (!check_entry(source, &entries[e], error)) return false;
        const Text name = entries[e].name, last = entries[e ? e - 1 : 0].name;
        if (e > 0 && name.length == last.length && memcmp(name.bytes, last.bytes, name.length) == 0)
            return archive__refuse(source, ERROR_INCONSISTENT, name, "each name once", error);
        total += entries[e].size; /* at most 2000 times 64 MiB */
    }
    if (total > ARCHIVE_MOST_BYTES)
        return archive__refuse(source, ERROR_TOO_LARGE, text_of("so much in one archive"),
                               "at most 256 MiB, unpacked", error);
    /* The last by name, if it is there at all. */
    return (count > 0 && text_is(entries[count - 1].name, ARCHIVE__RECORDS)) ||
           archive__refuse(source, ERROR_MISSING, text_of("no " ARCHIVE__RECORDS), "an archive of calls",
                           error);
}

/* ---- once it is unpacked */

/* -1: there is none. By halves: records times attachments would be seconds in an archive made for that. */
static int find_attachment(const Archive *archive, const char *hash)
{
    int low = 0, high = archive->attachment_count;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        const int order = strcmp(hash, archive->attachments[middle].hash);
        if (order == 0) return middle;
        if (order < 0)
            high = middle;
        else
            low = middle + 1;
    }
    return -1;
}

bool archive__check_match(const char *source, const Archive *archive, Arena *arena, Error *error)
{
    bool *is_named = ARENA_ARRAY(arena, bool, (size_t)archive->attachment_count);
    if (!is_named) return error_memory(error);
    for (int r = 0; r < archive->record_count; r++) {
        const char *hash = archive->records[r].attachment;
        const int at = hash[0] ? find_attachment(archive, hash) : -1;
        if (hash[0] && at < 0)
            return archive__refuse(source, ERROR_MISSING, text_of(hash),
                                   "every attachment that a record names", error);
        if (at >= 0) is_named[at] = true;
    }
    for (int a = 0; a < archive->attachment_count; a++)
        if (!is_named[a])
            return archive__refuse(source, ERROR_INCONSISTENT, text_of(archive->attachments[a].hash),
                                   "attachments that a record names, each once", error);
    return true;
}

bool archive__check_hash(const char *source, const ArchiveAttachment *attachment, Error *error)
{
    const Text bytes = attachment->bytes;
    unsigned char digest[crypto_hash_sha256_BYTES];
    char hash[TRAIL_HASH_SIZE];
    assert(bytes.bytes || bytes.length == 0);
    crypto_hash_sha256(digest, (const unsigned char *)(bytes.bytes ? bytes.bytes : ""), bytes.length);
    sodium_bin2hex(hash, sizeof hash, digest, sizeof digest);
    return text_equal(hash, attachment->hash) ||
           archive__refuse(source, ERROR_INCONSISTENT, text_of(attachment->hash),
                           "an attachment that is what its hash says", error);
}
