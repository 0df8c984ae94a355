/* text.c: see text.h.
 *
 * Numbers are read here and not by the C library, whose functions follow the machine's locale: with some of
 * them 1.5 is 1. Text from outside is bytes: nothing is decoded, upper and lower case differ, and no
 * character beyond ASCII is a digit or a space. */
#include "base/text.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

Text text_of(const char *string) { return (Text){string ? string : "", string ? strlen(string) : 0}; }

bool text_is(Text text, const char *string)
{
    return strlen(string) == text.length && memcmp(text.bytes, string, text.length) == 0;
}

bool text_equal(const char *a, const char *b)
{
    if (!a || !b) return a == b;
    return strcmp(a, b) == 0;
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* Digits one after the other from `from` on: none of them leaves the caller where it was. */
static size_t count_digits(Text text, size_t from)
{
    size_t at = from;
    while (at < text.length && is_digit(text.bytes[at])) at++;
    return at - from;
}

/*   [sign] digits [. digits] [e [sign] digits], or with the point first
 * What cannot be finished is left behind the number: of '12.' and of '12e' the number is 12, and whoever
 * reads a unit from the rest finds '.' or 'e' there and refuses. */
size_t text_number_length(Text text)
{
    size_t at = text.length && (text.bytes[0] == '-' || text.bytes[0] == '+');
    const size_t whole = count_digits(text, at);
    at += whole;
    size_t fraction = 0;
    if (at < text.length && text.bytes[at] == '.') {
        fraction = count_digits(text, at + 1);
        if (fraction) at += 1 + fraction;
    }
    if (whole + fraction == 0) return 0;
    if (at < text.length && (text.bytes[at] == 'e' || text.bytes[at] == 'E')) {
        size_t exponent = at + 1;
        if (exponent < text.length && (text.bytes[exponent] == '-' || text.bytes[exponent] == '+'))
            exponent++;
        const size_t digits = count_digits(text, exponent);
        if (digits) at = exponent + digits;
    }
    return at;
}

/* Powers of ten up to 22 are exact in a double, so one multiplication rounds once; beyond, each
 * further step rounds once more, which is what 'one unit in the last place' in the header allows for
 * the range of anything that a technician reads (1e-22 to 1e22). */
static double scale_by_ten(double value, int exponent)
{
    static const double exact[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                   1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    while (exponent > 22) {
        value *= 1e22;
        exponent -= 22;
    }
    while (exponent < -22) {
        value /= 1e22;
        exponent += 22;
    }
    return exponent >= 0 ? value * exact[exponent] : value / exact[-exponent];
}

/* Stops counting at 10000, far beyond any double, so that a long row of digits cannot overflow. */
static int read_exponent(Text text, size_t at)
{
    if (at >= text.length) return 0;
    assert(text.bytes[at] == 'e' || text.bytes[at] == 'E');
    const bool negative = text.bytes[++at] == '-';
    if (negative || text.bytes[at] == '+') at++;
    int exponent = 0;
    for (; at < text.length && exponent < 10000; at++) exponent = exponent * 10 + (text.bytes[at] - '0');
    return negative ? -exponent : exponent;
}

/* Eighteen digits are kept, one more than a double can tell apart; those behind them only move the
 * exponent. A number too small for a double is 0, one too large is refused: the first is as good as
 * nothing, the second is a slip. */
bool text_read_number(Text text, double *value)
{
    if (text.length == 0 || text_number_length(text) != text.length) return false;
    uint64_t digits = 0;
    int exponent = 0;
    bool after_point = false;
    size_t at = text.bytes[0] == '-' || text.bytes[0] == '+';
    for (; at < text.length && (is_digit(text.bytes[at]) || text.bytes[at] == '.'); at++) {
        if (text.bytes[at] == '.') {
            after_point = true;
        } else if (digits < UINT64_C(100000000000000000)) {
            digits = digits * 10 + (uint64_t)(text.bytes[at] - '0');
            exponent -= after_point;
        } else {
            exponent += !after_point; /* more digits than a double holds */
        }
    }
    exponent += read_exponent(text, at);
    if (exponent > 330 || exponent < -330) {
        if (digits && exponent > 0) return false;
        digits = 0;
        exponent = 0;
    }
    const double magnitude = scale_by_ten((double)digits, exponent);
    if (!(magnitude <= 1.7e308)) return false;
    *value = text.bytes[0] == '-' ? -magnitude : magnitude;
    return true;
}

TextBuilder text_builder(Arena *arena, size_t limit) { return (TextBuilder){.arena = arena, .limit = limit}; }

/* Doubles, so that n bytes cost at most 2 n moves. A text that was cut once takes nothing more: one with a
 * hole in the middle would be worse than a short one. One byte is kept for the NUL. */
static bool make_room(TextBuilder *builder, size_t more)
{
    if (builder->is_cut || more > builder->limit - builder->length) {
        builder->is_cut = true;
        return false;
    }
    if (builder->length + more + 1 <= builder->size) return true;
    size_t size = builder->size ? builder->size * 2 : 128;
    while (size < builder->length + more + 1) size *= 2;
    char *bytes = arena_take(builder->arena, size);
    if (!bytes) {
        builder->is_cut = true;
        return false;
    }
    if (builder->length) memcpy(bytes, builder->bytes, builder->length);
    builder->bytes = bytes;
    builder->size = size;
    return true;
}

void text_add_bytes(TextBuilder *builder, const char *bytes, size_t length)
{
    if (!make_room(builder, length)) return;
    if (length) memcpy(builder->bytes + builder->length, bytes, length);
    builder->length += length;
    builder->bytes[builder->length] = '\0';
}

void text_add(TextBuilder *builder, const char *string) { text_add_bytes(builder, string, strlen(string)); }

/* Measured first and then written, so that the room is exactly what it takes. */
void text_addf(TextBuilder *builder, const char *format, ...)
{
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, arguments);
    if (length > 0 && make_room(builder, (size_t)length)) {
        vsnprintf(builder->bytes + builder->length, (size_t)length + 1, format, again);
        builder->length += (size_t)length;
    }
    va_end(again);
    va_end(arguments);
}

const char *text_string(const TextBuilder *builder) { return builder->bytes ? builder->bytes : ""; }

/* Fewest letters to be put in, taken out or exchanged to get from a to b (Levenshtein's distance, one row
 * of the table of Wagner and Fischer at a time; from memory). Words here have at most 63 letters; longer
 * ones are as far apart as can be. */
static int edit_distance(const char *a, const char *b)
{
    enum { LONGEST = 63 };
    const size_t m = strlen(a), n = strlen(b);
    if (m > LONGEST || n > LONGEST) return LONGEST;
    int row[LONGEST + 1];
    for (size_t j = 0; j <= n; j++) row[j] = (int)j;
    for (size_t i = 1; i <= m; i++) {
        int diagonal = row[0];
        row[0] = (int)i;
        for (size_t j = 1; j <= n; j++) {
            const int above = row[j];
            int best = diagonal + (a[i - 1] != b[j - 1]);
            if (above + 1 < best) best = above + 1;
            if (row[j - 1] + 1 < best) best = row[j - 1] + 1;
            row[j] = best;
            diagonal = above;
        }
    }
    return row[n];
}

const char *text_nearest(const char *wrong, const char *const *known, size_t count)
{
    const char *best = NULL;
    /* Two edits at the most, and never so many that nothing of the word is left. */
    const size_t length = strlen(wrong);
    int least = length < 3 ? (int)length : 3;
    for (size_t i = 0; i < count; i++) {
        const int distance = edit_distance(wrong, known[i]);
        if (distance < least) {
            least = distance;
            best = known[i];
        }
    }
    return best;
}
