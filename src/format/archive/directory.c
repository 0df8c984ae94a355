/* directory.c: what stands where in an archive, before anything of it is unpacked.
 *
 *     local header, name, extra, packed bytes [, descriptor]   an entry, APPNOTE.TXT 4.3.7 to 4.3.9
 *     ...
 *     central header, name, extra, comment                     the directory, 4.3.12: one for each entry
 *     ...
 *     end of the directory                                     4.3.16: the last 22 bytes
 *
 * libzip finds an entry by what the directory says and holds both headers of it against each other; it does
 * not ask whether two entries share their bytes, whether bytes belong to none, or how much memory a directory
 * of millions of entries takes. So that is asked here first, in one walk: (1) the directory ends with the
 * archive and has at most ARCHIVE_MOST_ENTRIES; (2) the first entry begins with the archive, each following
 * one where the last has ended, the directory behind the last.
 *
 * Bad at: archives of 4 GiB and more (zip64), with a comment, or with a program in front. No archive of calls
 * is one. */
#include "format/archive/archive_private.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

enum { LOCAL_SIZE = 30, CENTRAL_SIZE = 46, END_SIZE = 22 };
enum { HAS_DESCRIPTOR = 1 << 3, LEAST_DESCRIPTOR = 12, MOST_DESCRIPTOR = 24 };

/* Of `width` bytes, the lowest first. */
static uint64_t number(Text bytes, uint64_t at, int width)
{
    uint64_t value = 0;
    assert(width > 0 && at + (uint64_t)width <= bytes.length);
    for (int b = width - 1; b >= 0; b--) value = value << 8 | (unsigned char)bytes.bytes[at + (uint64_t)b];
    return value;
}

static bool is_mark(Text bytes, uint64_t at, const char *mark)
{
    assert(at + 4 <= bytes.length);
    return memcmp(bytes.bytes + at, mark, 4) == 0;
}

/* One disk, no comment, and the directory right before its end. */
static bool read_end(Text bytes, uint64_t *directory, uint64_t *count)
{
    if (bytes.length < END_SIZE) return false;
    const uint64_t end = bytes.length - END_SIZE;
    if (!is_mark(bytes, end, "PK\5\6")) return false;
    *count = number(bytes, end + 10, 2);
    *directory = number(bytes, end + 16, 4);
    const bool is_one_disk = number(bytes, end + 4, 4) == 0 && number(bytes, end + 8, 2) == *count;
    const bool has_comment = number(bytes, end + 20, 2) != 0;
    return is_one_disk && !has_comment && *directory + number(bytes, end + 12, 4) == end;
}

/* The central header at `at`, which moves on behind it. */
static bool read_central(Text bytes, uint64_t *at, ArchiveEntry *entry)
{
    const uint64_t end = bytes.length - END_SIZE, from = *at;
    assert(from <= end);
    if (end - from < CENTRAL_SIZE || !is_mark(bytes, from, "PK\1\2")) return false;
    const uint64_t name = number(bytes, from + 28, 2);
    const uint64_t behind = name + number(bytes, from + 30, 2) + number(bytes, from + 32, 2);
    if (end - from - CENTRAL_SIZE < behind) return false;
    entry->name = (Text){bytes.bytes + from + CENTRAL_SIZE, (size_t)name};
    entry->flags = (unsigned)number(bytes, from + 8, 2);
    entry->method = (unsigned)number(bytes, from + 10, 2);
    entry->packed = number(bytes, from + 20, 4);
    entry->size = number(bytes, from + 24, 4);
    entry->start = number(bytes, from + 42, 4);
    *at = from + CENTRAL_SIZE + behind;
    return true;
}

/* Where the entry ends is known only from its local header, which has an extra field of its own. */
static bool read_local(Text bytes, uint64_t directory, ArchiveEntry *entry)
{
    const uint64_t from = entry->start;
    if (from > directory || directory - from < LOCAL_SIZE || !is_mark(bytes, from, "PK\3\4")) return false;
    entry->end =
        from + LOCAL_SIZE + number(bytes, from + 26, 2) + number(bytes, from + 28, 2) + entry->packed;
    return entry->end <= directory;
}

static int by_start(const void *a, const void *b)
{
    const uint64_t first = ((const ArchiveEntry *)a)->start, second = ((const ArchiveEntry *)b)->start;
    return (first > second) - (first < second);
}

static int by_name(const void *a, const void *b)
{
    const Text first = ((const ArchiveEntry *)a)->name, second = ((const ArchiveEntry *)b)->name;
    const size_t common = first.length < second.length ? first.length : second.length;
    const int order = memcmp(first.bytes, second.bytes, common);
    return order ? order : (first.length > second.length) - (first.length < second.length);
}

/* Who wrote without knowing the size beforehand adds it behind, in one of several lengths (4.3.9). */
static bool is_room(const ArchiveEntry *entry, uint64_t next)
{
    if (next <= entry->end) return next == entry->end;
    const uint64_t room = next - entry->end;
    return (entry->flags & HAS_DESCRIPTOR) && room >= LEAST_DESCRIPTOR && room <= MOST_DESCRIPTOR;
}

/* Invariant 2; the entries by their start. */
static bool is_laid_out(const ArchiveEntry *entries, int count, uint64_t directory)
{
    if ((count ? entries[0].start : directory) != 0) return false;
    for (int e = 0; e < count; e++)
        if (!is_room(&entries[e], e + 1 < count ? entries[e + 1].start : directory)) return false;
    return true;
}

static bool read_entries(Text bytes, uint64_t directory, ArchiveEntry *entries, int count)
{
    uint64_t at = directory;
    for (int e = 0; e < count; e++) {
        entries[e].index = e;
        if (!read_central(bytes, &at, &entries[e]) || !read_local(bytes, directory, &entries[e]))
            return false;
    }
    qsort(entries, (size_t)count, sizeof *entries, by_start);
    return at == bytes.length - END_SIZE && is_laid_out(entries, count, directory);
}

bool archive__read_directory(const char *source, Text bytes, Arena *arena, ArchiveEntry **entries, int *count,
                             Error *error)
{
    uint64_t directory, said;
    const char *const expected = "what `call export --archive` wrote, whole and as it was written";
    if (!read_end(bytes, &directory, &said))
        return archive__refuse(source, ERROR_SYNTAX, text_of("no zip archive, or not all of it"), expected,
                               error);
    if (said > ARCHIVE_MOST_ENTRIES)
        return archive__refuse(source, ERROR_TOO_LARGE, text_of("so many entries"), "at most 2000", error);
    *count = (int)said;
    *entries = ARENA_ARRAY(arena, ArchiveEntry, (size_t)said);
    if (!*entries) return error_memory(error);
    if (!read_entries(bytes, directory, *entries, *count))
        return archive__refuse(source, ERROR_SYNTAX, text_of("entries that are damaged or overlap"), expected,
                               error);
    qsort(*entries, (size_t)said, sizeof **entries, by_name);
    return true;
}
