/* lines.c: bytes to lines, lines to cells.
 *
 * Invariants: views never leave the bytes they were made from; a line has no line end in it; a cell has no
 * quotes around it and no blanks at its ends. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <string.h>

/* The feed is looked for first, since nearly every file has it and memchr is fast; a lone return inside what
 * is left ends the line of an old file. */
bool log_text__next_line(LogLines *lines, Text *line)
{
    if (lines->at >= lines->end) return false;
    const size_t left = (size_t)(lines->end - lines->at);
    const char *feed = memchr(lines->at, '\n', left);
    const char *stop = feed ? feed : lines->end;
    const char *lone = memchr(lines->at, '\r', (size_t)(stop - lines->at));
    if (lone) stop = lone;
    *line = (Text){lines->at, (size_t)(stop - lines->at)};
    lines->at = stop < lines->end ? stop + 1 : stop;
    if (lone && lines->at < lines->end && *lines->at == '\n') lines->at++;
    lines->number++;
    return true;
}

/* Up to three bytes: what UTF-16 holds in one unit. */
static size_t put_utf8(char *out, unsigned code)
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xc0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3f));
        return 2;
    }
    out[0] = (char)(0xe0 | code >> 12);
    out[1] = (char)(0x80 | (code >> 6 & 0x3f));
    out[2] = (char)(0x80 | (code & 0x3f));
    return 3;
}

/* Characters beyond the first 65,536 become '?': they can only stand in headings. */
static bool turn_utf16(Text bytes, bool is_big, Arena *arena, Text *decoded, Error *error)
{
    char *out = arena_take(arena, bytes.length / 2 * 3 + 1);
    size_t length = 0;
    if (!out) return error_memory(error);
    for (size_t i = 2; i + 1 < bytes.length; i += 2) {
        const unsigned a = (unsigned char)bytes.bytes[i], b = (unsigned char)bytes.bytes[i + 1];
        const unsigned code = is_big ? a << 8 | b : b << 8 | a;
        if (code >= 0xdc00 && code < 0xe000) continue; /* second half of a pair */
        length += put_utf8(out + length, code >= 0xd800 && code < 0xdc00 ? '?' : code);
    }
    *decoded = (Text){out, length};
    return true;
}

/* UTF-16 without a mark is not guessed at: its zero bytes make it no text. */
bool log_text__decode(Text bytes, Arena *arena, Text *decoded, Error *error)
{
    const char *b = bytes.bytes;
    *decoded = bytes;
    if (bytes.length > LOG_TEXT_MOST_BYTES)
        return error_set(error, ERROR_TOO_LARGE, "a longer file", "at most %d bytes", LOG_TEXT_MOST_BYTES);
    if (bytes.length >= 3 && memcmp(b, "\xef\xbb\xbf", 3) == 0) {
        *decoded = (Text){b + 3, bytes.length - 3};
    } else if (bytes.length >= 2 && (memcmp(b, "\xff\xfe", 2) == 0 || memcmp(b, "\xfe\xff", 2) == 0)) {
        if (!turn_utf16(bytes, (unsigned char)b[0] == 0xfe, arena, decoded, error)) return false;
    }
    if (decoded->length > 0 && memchr(decoded->bytes, '\0', decoded->length)) {
        error_set(error, ERROR_SYNTAX, "bytes that are no text", "a log as text");
        return error_hint(error, "export the log as CSV or text from the logger's own program");
    }
    return true;
}

static bool is_blank(char c) { return c == ' ' || c == '\t'; }

/* Blanks are space and tab; other white space is part of a heading. */
static Text trimmed(const char *from, const char *to)
{
    while (from < to && is_blank(*from)) from++;
    while (to > from && is_blank(to[-1])) to--;
    return (Text){from, (size_t)(to - from)};
}

/* Signs that no value begins with; a semicolon only where it separates nothing; #N/A is a cell. */
bool log_text__is_comment(Text line, char separator)
{
    line = trimmed(line.bytes, line.bytes + line.length);
    if (line.length == 0) return true;
    const char c = line.bytes[0];
    if (c == '#' && (line.length < 4 || memcmp(line.bytes, "#N/A", 4) != 0)) return true;
    if (c == '%' || c == '!' || (c == ';' && separator != ';')) return true;
    return line.length >= 2 && c == '/' && line.bytes[1] == '/';
}

/* A quote inside a quoted cell is doubled; the doubles stay, since no value has any. */
static const char *behind_quote(const char *at, const char *end)
{
    for (at++; at < end; at++) {
        if (*at != '"') continue;
        if (at + 1 < end && at[1] == '"')
            at++;
        else
            return at;
    }
    return end;
}

/* Between blanks `1:05 PM` and `350 °F` are two words and one value. Behind a word that begins like a number:
 * the end of what belongs to it too. */
static const char *with_second_word(const char *from, const char *to, const char *end)
{
    static const char *const words[] = {"am", "pm", "a.m.", "p.m.", "f", "c", "degf", "degc"};
    if ((*from < '0' || *from > '9') && *from != '-') return to;
    const char *next = to;
    while (next < end && (is_blank(*next) || (unsigned char)*next >= 0x80)) next++;
    const char *stop = next;
    while (stop < end && !is_blank(*stop)) stop++;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (log_text__is_word((Text){next, (size_t)(stop - next)}, words[i])) return stop;
    return to;
}

/* Behind the last separator of a line there is one more, empty, cell; between blanks there is none. */
bool log_text__next_cell(const char **at, const char *end, char separator, Text *cell)
{
    const char *from = *at;
    if (from > end) return false;
    if (separator == ' ') {
        while (from < end && is_blank(*from)) from++;
        if (from == end) return false;
    }
    const char *start = from;
    while (start < end && is_blank(*start) && *start != separator) start++;
    const char *to = from;
    if (start < end && *start == '"') {
        to = behind_quote(start, end);
        *cell = trimmed(start + 1, to);
        while (to < end && *to != separator && !(separator == ' ' && is_blank(*to))) to++;
    } else {
        if (separator == ' ') {
            while (to < end && !is_blank(*to)) to++;
            to = with_second_word(from, to, end);
        } else {
            while (to < end && *to != separator) to++;
        }
        *cell = trimmed(from, to);
    }
    assert(to <= end && cell->bytes >= from);
    *at = to + 1;
    return true;
}
