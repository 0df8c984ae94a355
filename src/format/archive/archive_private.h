/* archive_private.h: what reading and writing share. */
#ifndef FORMAT_ARCHIVE_PRIVATE_H
#define FORMAT_ARCHIVE_PRIVATE_H

#include "format/archive/archive.h"

#define ARCHIVE__RECORDS    "records.jsonl"
#define ARCHIVE__CALL       "call.yaml"
#define ARCHIVE__ATTACHMENT "attachments/"

/* SHA-256 (FIPS 180-4) in hex. */
void archive__hash(Text bytes, char hash[TRAIL_HASH_SIZE]);

#endif
