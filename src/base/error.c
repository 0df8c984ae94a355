/* error.c: see error.h.
 *
 * Text that is too long is cut, never refused: an error must be possible when there is no memory, which is
 * one of the errors. A NULL `error` is allowed everywhere, for callers who only want to know whether it
 * went well. */
#include "base/error.h"

#include <stdarg.h>
#include <stdio.h>

static const struct {
    int status, http;
    const char *says;
} rows[ERROR_COUNT] = {
#define X(code, status, http, says) {status, http, says},
    ERROR_LIST(X)
#undef X
};

/* Starts from an empty error: place and hint of an earlier attempt would speak of something else. */
bool error_set(Error *error, ErrorCode code, const char *found, const char *expected, ...)
{
    if (!error) return false;
    *error = (Error){.code = code};
    snprintf(error->found, sizeof error->found, "%s", found ? found : "");
    va_list arguments;
    va_start(arguments, expected);
    vsnprintf(error->expected, sizeof error->expected, expected, arguments);
    va_end(arguments);
    return false;
}

bool error_at(Error *error, const char *file, int line, int column)
{
    if (!error) return false;
    /* The innermost place is the best one: whoever was nearer has set it already. */
    if (!error->file[0] && file) snprintf(error->file, sizeof error->file, "%s", file);
    if (!error->line) {
        error->line = line;
        error->column = column;
    }
    return false;
}

bool error_hint(Error *error, const char *hint, ...)
{
    if (!error) return false;
    va_list arguments;
    va_start(arguments, hint);
    vsnprintf(error->hint, sizeof error->hint, hint, arguments);
    va_end(arguments);
    return false;
}

bool error_memory(Error *error)
{
    return error_set(error, ERROR_MEMORY, "no memory left", "a smaller input or a larger limit");
}

/* A code that is not in the list is a defect of ours, and 70 says so. */
int error_exit_status(ErrorCode code) { return code >= 0 && code < ERROR_COUNT ? rows[code].status : 70; }

int error_http_status(ErrorCode code)
{
    return code >= ERROR_NONE && code < ERROR_COUNT ? rows[code].http : rows[ERROR_DEFECT].http;
}

const char *error_says(ErrorCode code)
{
    return code >= 0 && code < ERROR_COUNT ? rows[code].says : "unknown error";
}

/* A column without its line, or a line without its file, would send the reader nowhere: the place is said
 * as far as it is whole. */
size_t error_line(const Error *error, char *out, size_t size)
{
    char place[220] = "";
    if (error->file[0] && error->line > 0 && error->column > 0)
        snprintf(place, sizeof place, "%s:%d:%d: ", error->file, error->line, error->column);
    else if (error->file[0] && error->line > 0)
        snprintf(place, sizeof place, "%s:%d: ", error->file, error->line);
    else if (error->file[0])
        snprintf(place, sizeof place, "%s: ", error->file);
    const int length = snprintf(out, size, "%s%s: %s; expected %s%s%s", place, error_says(error->code),
                                error->found, error->expected, error->hint[0] ? "\n  " : "", error->hint);
    return length > 0 ? (size_t)length : 0;
}
