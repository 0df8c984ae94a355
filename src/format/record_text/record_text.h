/* record_text.h: a record as one line of text, for other programs and for spreadsheets.
 *
 * Lives here: one record as a line of JSON Lines, there and back; as a row of a table (RFC 4180), only there;
 * moments as RFC 3339 writes them. Not here: whether a record may stand (core/trail says so), what its
 * content means (call_yaml), which records belong together, files.
 *
 * A line is one JSON object (RFC 8259) with `id`, `call`, `at`, `by`, `device`, `kind`, `content`, and where
 * there is one `subject`, `strikes`, `attachment`; nothing else. Text that goes out and comes back is the
 * same to the byte, so that a record keeps its content wherever it travels.
 *
 * Units: milliseconds since 1970-01-01 UTC. Ownership: what is read lives in the caller's arena; what is
 * written, in the builder's. */
#ifndef FORMAT_RECORD_TEXT_H
#define FORMAT_RECORD_TEXT_H

#include "base/text.h"
#include "core/trail/trail.h"

/* Of a line that is read; of its content, in the form in which it is written, so that what was read can be
 * written and read again. */
enum { RECORD_TEXT_MOST_BYTES = 1 << 18, RECORD_TEXT_MOST_CONTENT = RECORD_TEXT_MOST_BYTES - (1 << 13) };
enum { RECORD_TEXT_TIME_SIZE = 25 };

/* `2026-11-26T18:00:00.250Z`, with the NUL: UTC, always with three digits of the second. Years 0 to 9999. */
void record_text_write_time(int64_t millisecond, char out[RECORD_TEXT_TIME_SIZE]);

/* Any date-time of RFC 3339, section 5.6: other offsets from UTC, no or up to nine digits of the second (what
 * lies below a millisecond is cut off). A leap second is the first of the next minute. False for anything
 * else, `millisecond` untouched. */
bool record_text_read_time(Text text, int64_t *millisecond) MUST_CHECK;

/* One line, with its end. Memory is the only failure, as long as the content is a JSON object. */
bool record_text_write_json(const TrailRecord *record, TextBuilder *out, Error *error) MUST_CHECK;

/* One line, with or without its end; checked by trail_check. `source` and `line` say where it stood. Refused
 * whole: what is not JSON, not an object, longer than RECORD_TEXT_MOST_BYTES, has a key twice, an unknown one
 * or a value of the wrong kind. */
bool record_text_read_json(const char *source, int line, Text text, Arena *arena, TrailRecord *record,
                           Error *error) MUST_CHECK;

/* Every line of a text, empty ones passed over; all or none, with the line that was wrong. */
bool record_text_read_lines(const char *source, Text text, Arena *arena, TrailRecord **records, int *count,
                            Error *error) MUST_CHECK;

/* The heading of the table, and a row of it. A name that a spreadsheet would take for a formula gets an
 * apostrophe in front. */
void record_text_write_csv_head(TextBuilder *out);
void record_text_write_csv(const TrailRecord *record, TextBuilder *out);

#endif
