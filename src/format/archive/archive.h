/* archive.h: whole calls with what is attached to them, as one file.
 *
 * Lives here: a zip archive (ISO/IEC 21320-1: stored or deflated, nothing encrypted) of `records.jsonl`, one
 * record a line as format/record_text has it, of each attachment as `attachments/<SHA-256>`, and for people
 * `call.yaml`. Not here: what a record means (core/trail), files and stores (edge).
 *
 * An archive comes from anywhere. It is read whole or refused whole: by the names, sizes and hashes that are
 * expected, never by what it says of itself, and nothing is unpacked beyond the limits below. Ownership: what
 * is read or written lives in the caller's arena. */
#ifndef FORMAT_ARCHIVE_H
#define FORMAT_ARCHIVE_H

#include "base/text.h"
#include "core/trail/trail.h"

enum {
    ARCHIVE_MOST_ENTRIES = 2000,
    ARCHIVE_MOST_RECORDS_BYTES = 32 << 20, /* of records.jsonl */
    ARCHIVE_MOST_CALL_BYTES = 1 << 20,     /* of call.yaml */
    ARCHIVE_MOST_FILE_BYTES = 64 << 20,    /* of one attachment */
    ARCHIVE_MOST_BYTES = 256 << 20         /* of all, unpacked */
};

typedef struct {
    char hash[TRAIL_HASH_SIZE];
    Text bytes;
} ArchiveAttachment;

/* What an archive holds. */
typedef struct {
    TrailRecord *records;
    ArchiveAttachment *attachments;
    int record_count, attachment_count;
    Text call_file; /* for people; bytes NULL: none. It is not read back */
} Archive;

/* Does it begin as a zip archive does? */
bool archive_is(Text bytes);

/* The same content gives the same bytes, whenever and wherever it is written, and in whatever order the
 * attachments come. ERROR_TOO_LARGE beyond the limits; refused is also what archive_read would refuse: an
 * attachment that is not what its hash says, that no record names, that stands twice or is missing. */
bool archive_write(const Archive *archive, Arena *arena, Text *bytes, Error *error) MUST_CHECK;

/* `source` is the name for messages; attachments come in the order of their hashes. Refused, with `archive`
 * left empty: what is no such archive or is damaged, entries that overlap or leave bytes between them, a name
 * that is none of the above or stands twice, sizes beyond the limits or other than declared, an attachment
 * that is not what its name says, that no record names or that is missing, a line that is no record. */
bool archive_read(const char *source, Text bytes, Arena *arena, Archive *archive, Error *error) MUST_CHECK;

#endif
