/* files.h: files, outside and inside the program.
 *
 * Lives here: whole files in, whole answers out, the only place that opens a file or writes to standard
 * output; the files of data/ and of the page, which travel inside the program. Not here: what the bytes mean,
 * stores (edge/store). Ownership: what is read lives in the caller's arena; what is inside belongs to the
 * program. */
#ifndef EDGE_FILES_H
#define EDGE_FILES_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"

/* ---- outside */

/* All of the file, at most `limit` bytes, with a NUL behind. ERROR_IO when it cannot be read,
 * ERROR_TOO_LARGE beyond the limit. */
bool files_read(const char *path, size_t limit, Arena *arena, Text *text, Error *error) MUST_CHECK;

/* Writes all of `text` to the file, or to standard output when `path` is NULL. ERROR_IO when any of it could
 * not be written; what had been written stays. */
bool files_write(const char *path, Text text, Error *error) MUST_CHECK;

/* A file that is written piece by piece and has its name only once it is whole; NULL: standard output. Taken
 * by files_begin, given back by files_end, which throws away what was not written well. */
typedef struct {
    int file;
    const char *path;
    char unfinished[4096];
} FilesWriter;
bool files_begin(const char *path, FilesWriter *writer, Error *error) MUST_CHECK;
bool files_add(FilesWriter *writer, Text text, Error *error) MUST_CHECK;
bool files_end(FilesWriter *writer, bool went_well, Error *error) MUST_CHECK;

/* ---- inside */

typedef struct {
    const char *name;  /* 'appliances/range-208.yaml' */
    const char *bytes; /* a NUL stands behind the last one */
    size_t length;
} FilesAsset;

/* The file of that name, or NULL. */
const FilesAsset *files_find_asset(const char *name);

/* The files whose name begins with `folder` ('appliances/'), sorted by name: the first of *count that stand
 * one behind the other. */
const FilesAsset *files_list_assets(const char *folder, size_t *count);

#endif
