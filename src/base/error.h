/* error.h: an error is a value in the caller's hands.
 *
 * Lives here: the one list of error codes with their exit status, and the Error
 * struct: code, place (file, line, column), what was found, what was expected,
 * what to do. Not here: printing (edge), translation (format/words).
 * Ownership: an Error owns its text; nothing is allocated. */
#ifndef BASE_ERROR_H
#define BASE_ERROR_H

#include <stdbool.h>
#include <stddef.h>

#define MUST_CHECK                       __attribute__((warn_unused_result))
#define PRINTF_LIKE(format_index, first) __attribute__((format(printf, format_index, first)))

/* Code, exit status of the program, status of a server's answer (RFC 9110, section 15), what kind of trouble.
 */
#define ERROR_LIST(X)                                                                                        \
    X(NONE, 0, 200, "no error")                                                                              \
    X(USAGE, 2, 400, "wrong usage")                                                                          \
    X(SYNTAX, 3, 400, "cannot be read")                                                                      \
    X(UNKNOWN_WORD, 3, 422, "unknown word")                                                                  \
    X(MISSING, 3, 422, "something is missing")                                                               \
    X(WRONG_KIND, 3, 422, "wrong kind of value")                                                             \
    X(OUT_OF_RANGE, 3, 422, "out of range")                                                                  \
    X(INCONSISTENT, 3, 409, "does not fit together")                                                         \
    X(TOO_LARGE, 3, 413, "too large")                                                                        \
    X(IO, 4, 503, "file cannot be used")                                                                     \
    X(MEMORY, 70, 503, "out of memory")                                                                      \
    X(DEFECT, 70, 500, "defect in the program")

typedef enum {
#define X(code, status, http, says) ERROR_##code,
    ERROR_LIST(X)
#undef X
        ERROR_COUNT
} ErrorCode;

typedef struct {
    ErrorCode code;
    char file[160];     /* file name or other source; empty when there is none */
    int line, column;   /* 1-based; 0 when not known */
    char found[200];    /* what was found, in the words of the input */
    char expected[400]; /* what was expected instead */
    char hint[300];     /* what to do; may be empty */
} Error;

/* Fills `error` (which may be NULL) and returns false, so that a caller can write
 * `return error_set(error, ...)`. `expected` is a printf format. */
bool error_set(Error *error, ErrorCode code, const char *found, const char *expected, ...) PRINTF_LIKE(4, 5);

/* Adds a place to an error that has none yet; returns false like error_set. */
bool error_at(Error *error, const char *file, int line, int column);

/* Adds the hint, a printf format; returns false like error_set. */
bool error_hint(Error *error, const char *hint, ...) PRINTF_LIKE(2, 3);

/* Out of memory; returns false like error_set. */
bool error_memory(Error *error);

int error_exit_status(ErrorCode code);  /* 0, 2, 3, 4 or 70 */
int error_http_status(ErrorCode code);  /* 200, 400, 409, 413, 422, 500 or 503 */
const char *error_says(ErrorCode code); /* a few words, never NULL */

/* One line (two with a hint): `file:line:column: what was found; expected ...`. Writes at most
 * `size` bytes with the final NUL and returns the length that it would have had. */
size_t error_line(const Error *error, char *out, size_t size);

#endif
