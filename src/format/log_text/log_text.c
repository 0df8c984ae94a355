/* log_text.c: the order of the work: decode, lay out, read. */
#include "format/log_text/log_text_private.h"

#include <assert.h>

#define X(code, word) word,
static const char *const assumption_words[] = {LOG_TEXT_ASSUMPTION_LIST(X)};
#undef X

const char *log_text_assumption_word(LogTextAssumption assumption)
{
    assert((int)assumption >= 0 && assumption < LOG_TEXT_ASSUMPTION_COUNT);
    return assumption_words[assumption];
}

/* What concerns the whole file is said of its first row of values, if it has one. */
bool log_text_read(const char *file, Text bytes, const LogTextTerms *terms, Arena *arena, LogText *log,
                   Error *error)
{
    Text text;
    LogLayout layout = {0};
    *log = (LogText){.column = -1};
    const bool is_read = log_text__decode(bytes, arena, &text, error) &&
                         log_text__lay_out(text, terms, log, arena, &layout, error) &&
                         log_text__read_rows(text, file, &layout, arena, log, error);
    return is_read ? true : error_at(error, file, layout.first_line > 0 ? layout.first_line : 1, 1);
}
