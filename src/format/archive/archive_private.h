/* archive_private.h: what reading and writing share. */
#ifndef FORMAT_ARCHIVE_PRIVATE_H
#define FORMAT_ARCHIVE_PRIVATE_H

#include <stdint.h>

#include "format/archive/archive.h"

#define ARCHIVE__RECORDS    "records.jsonl"
#define ARCHIVE__CALL       "call.yaml"
#define ARCHIVE__ATTACHMENT "attachments/"

enum { ARCHIVE__NAME_SIZE = sizeof ARCHIVE__ATTACHMENT + TRAIL_HASH_SIZE };

/* An entry as the directory has it. */
typedef struct {
    Text name;           /* in the archive's own bytes; may hold any byte */
    int index;           /* place in the directory */
    unsigned flags;      /* APPNOTE.TXT 4.4.4 */
    unsigned method;     /* 4.4.5; 0 stored, 8 deflated */
    uint64_t start, end; /* of local header and packed bytes; end is the byte behind */
    uint64_t packed, size;
} ArchiveEntry;

/* ---- directory.c */

/* The entries by name, once they are known to lie one behind the other with nothing between, before or over
 * each other. Takes no more memory than ARCHIVE_MOST_ENTRIES need. */
bool archive__read_directory(const char *source, Text bytes, Arena *arena, ArchiveEntry **entries, int *count,
                             Error *error) MUST_CHECK;

/* ---- check.c */

/* Always false. `found` may hold any byte: what would disturb a terminal is shown as `?`. */
bool archive__refuse(const char *source, ErrorCode code, Text found, const char *expected, Error *error);

/* Are all names such as an archive of calls has, each once, with the records among them, and is everything
 * small enough and readable? `entries` by name. */
bool archive__check_entries(const char *source, const ArchiveEntry *entries, int count,
                            Error *error) MUST_CHECK;

/* Do the records name all attachments and no other? The attachments in the order of their hashes. */
bool archive__check_match(const char *source, const Archive *archive, Arena *arena, Error *error) MUST_CHECK;

/* Is the attachment what its hash (SHA-256, FIPS 180-4) says? */
bool archive__check_hash(const char *source, const ArchiveAttachment *attachment, Error *error) MUST_CHECK;

#endif
