/* yaml_bytes.c: is a file text at all?
 *
 * Lives here: the look at raw bytes before any of them reaches the YAML library: size, UTF-8 (RFC 3629,
 * section 4) and control characters, each refusal with its line and column; and the quoting of a piece of
 * the input in a message. Not here: anything that knows YAML.
 *
 * Why before the library: an error of bytes is said in one way whatever comes after, with a line that an
 * editor finds, and nothing behind this look can put a control character into a message on somebody's
 * terminal. Columns count letters, not bytes, as people do. */
#include "format/yaml/yaml_private.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

/* Bytes of the UTF-8 letter at the start of `bytes`; 0 when it is none: a stray or missing follower, an
 * overlong form, a surrogate, a number above U+10FFFF. */
static size_t letter_length(const unsigned char *bytes, size_t left)
{
    assert(left > 0);
    const unsigned char first = bytes[0];
    if (first < 0x80) return 1;
    if (first < 0xC2 || first > 0xF4) return 0;
    const size_t length = first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
    if (length > left) return 0;
    for (size_t i = 1; i < length; i++)
        if ((bytes[i] & 0xC0) != 0x80) return 0;
    const unsigned char second = bytes[1];
    if ((first == 0xE0 && second < 0xA0) || (first == 0xED && second > 0x9F)) return 0;
    if ((first == 0xF0 && second < 0x90) || (first == 0xF4 && second > 0x8F)) return 0;
    return length;
}

/* Tabs and line ends are text; everything else below the space, and DEL, is not. */
static bool is_control(unsigned char c)
{
    return (c < 0x20 && c != '\t' && c != '\n' && c != '\r') || c == 0x7F;
}

/* The hint guesses what has happened from the first byte that is wrong. */
static bool refuse_byte(unsigned char byte, Error *error)
{
    char found[40];
    snprintf(found, sizeof found, "byte 0x%02X", byte);
    error_set(error, ERROR_SYNTAX, found, "text in UTF-8 without control characters");
    if (byte == 0) return error_hint(error, "this looks like a binary file");
    if (byte >= 0x80) return error_hint(error, "save the file as UTF-8");
    return error_hint(error, "delete this character");
}

/* One pass, whatever the bytes: a file of a mebibyte that is wrong at its end costs no more than a good
 * one. */
bool yaml__check_bytes(const char *file, Text bytes, Error *error)
{
    if (bytes.length > YAML_MOST_BYTES) {
        error_set(error, ERROR_TOO_LARGE, "a larger file", "at most %d bytes", YAML_MOST_BYTES);
        return error_at(error, file, 1, 1);
    }
    const unsigned char *at = (const unsigned char *)bytes.bytes;
    const unsigned char *const end = at + bytes.length;
    int line = 1, column = 1;
    while (at < end) {
        const size_t length = letter_length(at, (size_t)(end - at));
        if (length == 0 || is_control(*at)) {
            refuse_byte(*at, error);
            return error_at(error, file, line, column);
        }
        column++;
        if (*at == '\n') {
            line++;
            column = 1;
        }
        at += length;
    }
    return true;
}

/* Line ends can stand in a quoted text; in a message they would look like its end. */
void yaml__quote(const char *text, char *out, size_t size)
{
    static const char more[] = "...";
    assert(size >= 16);
    const size_t room = size - sizeof more - 2; /* the dots with their NUL, and two quotes */
    size_t length = strlen(text);
    const bool is_cut = length > room;
    if (is_cut) {
        length = room;
        while (length > 0 && ((unsigned char)text[length] & 0xC0) == 0x80) length--; /* never half a letter */
    }
    snprintf(out, size, "'%.*s%s'", (int)length, text, is_cut ? more : "");
    for (char *c = out; *c; c++)
        if (is_control((unsigned char)*c) || *c == '\n' || *c == '\r' || *c == '\t') *c = ' ';
}
