/* call_file.h: from a call file to the contents of records, and back.
 *
 * Lives here: the head and the entries of a call file (doc/interface.md) as JSON objects, which is how
 * records keep them; the file that a trail comes to. Not here: whether an entry may stand (call_yaml reads
 * the file with the appliance and judges), records and what holds of them (core/trail), files and clocks.
 *
 * JSON's lists and mappings are YAML's flow style, so an entry goes into the file as it was kept. Every
 * scalar is kept as its letters: `350F` and `yes` are texts. Ownership: the caller's arena or builder. */
#ifndef FORMAT_CALL_FILE_H
#define FORMAT_CALL_FILE_H

#include "base/text.h"
#include "core/trail/trail.h"

typedef struct {
    const char *content; /* one JSON object, compact */
    const char *subject; /* its first key: 'reading', 'look'; of the head 'call' */
    const char *log;     /* of a run: the file's name as written; NULL */
} CallFilePiece;

/* The head without its entries, and each entry. ERROR_SYNTAX and the like with file and line; an entry must
 * be a mapping. */
bool call_file_read(const char *file, Text bytes, Arena *arena, CallFilePiece *head,
                    const CallFilePiece **entries, int *count, Error *error) MUST_CHECK;

/* The content of a head with another name for its appliance. */
bool call_file_name_appliance(const char *head, const char *name, Arena *arena, const char **content,
                              Error *error) MUST_CHECK;

/* One entry alone, as `{look: bake-element, sees: dark}`. */
bool call_file_read_entry(const char *file, Text bytes, Arena *arena, CallFilePiece *entry,
                          Error *error) MUST_CHECK;

/* Why something was struck, closed or reopened; of a closing what was confirmed, how long and how many visits
 * it took, and which fault the program had named, with its probability. NULL and 0: not said. */
typedef struct {
    const char *why, *minutes, *visits, *said_fault, *said_probability;
    const char *const *confirmed;
    int confirmed_count;
} CallFileReason;

/* That as the content of a record. ERROR_SYNTAX for what is no UTF-8. */
bool call_file_write_reason(const CallFileReason *reason, Arena *arena, const char **content,
                            Error *error) MUST_CHECK;

/* The call file that the first `count` records of a trail come to: the head with its changes, and the entries
 * that are not struck, in order. entry_records[count] gets the record number of each entry; returns how many
 * through `entry_count`. ERROR_INCONSISTENT when the call was never opened. */
bool call_file_write(const Trail *trail, const TrailState *state, int count, TextBuilder *out,
                     int *entry_records, int *entry_count, Error *error) MUST_CHECK;

#endif
