/* cells.c: numbers, temperatures and units, one cell at a time.
 *
 * Numbers are read here and not with base/text because a log may have a million of them and a comma in each:
 * up to fifteen digits and 22 places are exact in double arithmetic, one multiplication or division; anything
 * longer goes the slow way. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* With a point in place of the comma, as base/text reads it. */
static bool read_slowly(Text cell, bool has_comma, double *value)
{
    char copy[64];
    if (cell.length >= sizeof copy) return false;
    for (size_t i = 0; i < cell.length; i++)
        copy[i] = has_comma && cell.bytes[i] == ',' ? '.' : cell.bytes[i];
    Text text = {copy, cell.length};
    if (text.length > 1 && copy[0] == '+') text = (Text){copy + 1, cell.length - 1};
    return text_read_number(text, value);
}

/* Digits from *at on; returns how many, and adds them to the value. */
static int take_digits(const char **at, const char *end, uint64_t *value)
{
    const char *from = *at;
    while (*at < end && **at >= '0' && **at <= '9') *value = *value * 10 + (uint64_t)(*(*at)++ - '0');
    return (int)(*at - from);
}

/* No sign of thousands is known: 1.234 is one and a bit, whatever the country. A lone sign is no number. */
bool log_text__number(Text cell, bool has_comma, double *value)
{
    const char *at = cell.bytes, *end = cell.bytes + cell.length;
    const bool is_negative = at < end && *at == '-';
    uint64_t digits = 0;
    int places = 0;
    if (cell.length > 15) return read_slowly(cell, has_comma, value);
    if (at < end && (*at == '-' || *at == '+')) at++;
    const int whole = take_digits(&at, end, &digits);
    if (at < end && *at == (has_comma ? ',' : '.')) {
        at++;
        places = take_digits(&at, end, &digits);
    }
    if (whole + places == 0) return false;
    if (at != end) return read_slowly(cell, has_comma, value);
    assert(places <= 22);
    const double size = (double)digits / powers[places];
    *value = is_negative ? -size : size;
    return true;
}

static char lower(char c) { return c >= 'A' && c <= 'Z' ? (char)(c + 32) : c; }

/* ASCII letters only; what is not ASCII differs from every word here. */
bool log_text__is_word(Text text, const char *word)
{
    size_t i = 0;
    for (; i < text.length && word[i]; i++)
        if (lower(text.bytes[i]) != word[i]) return false;
    return i == text.length && !word[i];
}

/* Words of displays and spreadsheets for 'more than it can show' and for 'nothing there'. */
static bool find_word(Text cell, double *value)
{
    static const char *const over[] = {"ol",         "o.l",       "o.l.",         "over",     "overload",
                                       "over range", "overrange", "over-range",   "ovfl",     "ovf",
                                       "open",       "inf",       "+inf",         "infinity", "hi",
                                       "high",       "burnout",   "open circuit", "open tc"};
    static const char *const none[] = {"nan",   "n/a",     "na",      "#n/a",   "#na",     "null",
                                       "none",  "nil",     "err",     "error",  "fault",   "fail",
                                       "lost",  "missing", "no data", "nodata", "#value!", "#div/0!",
                                       "#num!", "?",       "*",       "."};
    size_t dashes = 0;
    while (dashes < cell.length && (cell.bytes[dashes] == '-' || cell.bytes[dashes] == '_')) dashes++;
    *value = NAN;
    if (dashes == cell.length) return true; /* empty, or a row of dashes */
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        if (log_text__is_word(cell, none[i])) return true;
    *value = INFINITY;
    for (size_t i = 0; i < sizeof over / sizeof *over; i++)
        if (log_text__is_word(cell, over[i])) return true;
    return false;
}

/* One letter is enough behind a number, where nothing else can be meant. */
static LogTextUnit unit_of_letter(char c)
{
    c = lower(c);
    return c == 'c'   ? LOG_TEXT_CELSIUS
           : c == 'f' ? LOG_TEXT_FAHRENHEIT
           : c == 'k' ? LOG_TEXT_KELVIN
                      : LOG_TEXT_UNIT_OPEN;
}

/* What may stand between a number and its unit: blanks, the degree sign in any encoding, 'deg'. */
static size_t without_degree(Text cell, size_t length)
{
    for (;;) {
        const size_t before = length;
        while (length > 0 &&
               (cell.bytes[length - 1] == ' ' || (unsigned char)cell.bytes[length - 1] >= 0x80 ||
                cell.bytes[length - 1] == '.' || cell.bytes[length - 1] == '\''))
            length--;
        if (length >= 3 && log_text__is_word((Text){cell.bytes + length - 3, 3}, "deg")) length -= 3;
        if (length == before) return length;
    }
}

/* Number, then word, then number with unit: in a long log nearly every cell is the first. */
bool log_text__temperature(Text cell, bool has_comma, LogCell *temperature)
{
    temperature->unit = LOG_TEXT_UNIT_OPEN;
    if (log_text__number(cell, has_comma, &temperature->value)) return true;
    if (find_word(cell, &temperature->value)) return true;
    if (cell.length < 2) return false;
    temperature->unit = unit_of_letter(cell.bytes[cell.length - 1]);
    if (temperature->unit == LOG_TEXT_UNIT_OPEN) return false;
    return log_text__number((Text){cell.bytes, without_degree(cell, cell.length - 1)}, has_comma,
                            &temperature->value);
}

static bool is_letter(char c) { return lower(c) >= 'a' && lower(c) <= 'z'; }

/* The last word of a heading: 'Temp (°F)' has F, 'centre_celsius' has celsius, 'deg C' has C. */
static Text last_word(Text heading)
{
    size_t to = heading.length;
    if (to == 0) return (Text){"", 0};
    while (to > 0 && !is_letter(heading.bytes[to - 1])) to--;
    size_t from = to;
    while (from > 0 && is_letter(heading.bytes[from - 1])) from--;
    return (Text){heading.bytes + from, to - from};
}

/* `Type K` is a thermocouple and `Channel C` one of several: a letter behind such a word is no unit. Kelvin
 * is seldom meant, so K alone counts in brackets and behind an underscore only. */
static bool is_name(Text heading, Text letter)
{
    static const char *const words[] = {"type", "channel", "zone", "sensor", "probe", "input", "ch", "tc"};
    const size_t before = (size_t)(letter.bytes - heading.bytes);
    if (letter.length != 1 || before == 0) return false;
    const char sign = letter.bytes[-1];
    if (lower(letter.bytes[0]) == 'k' && sign == ' ') return true;
    const Text word = last_word((Text){heading.bytes, before});
    for (size_t i = 0; i < sizeof words / sizeof *words && sign == ' '; i++)
        if (log_text__is_word(word, words[i])) return true;
    return false;
}

/* The last word only: `Fan (°C)` is Celsius. */
LogTextUnit log_text__unit_of(Text heading)
{
    static const char *const celsius[] = {"c", "celsius", "degc", "centigrade"};
    static const char *const fahrenheit[] = {"f", "fahrenheit", "degf"};
    static const char *const kelvin[] = {"k", "kelvin"};
    const Text word = last_word(heading);
    if (word.length == 0 || is_name(heading, word)) return LOG_TEXT_UNIT_OPEN;
    for (size_t i = 0; i < sizeof celsius / sizeof *celsius; i++)
        if (log_text__is_word(word, celsius[i])) return LOG_TEXT_CELSIUS;
    for (size_t i = 0; i < sizeof fahrenheit / sizeof *fahrenheit; i++)
        if (log_text__is_word(word, fahrenheit[i])) return LOG_TEXT_FAHRENHEIT;
    for (size_t i = 0; i < sizeof kelvin / sizeof *kelvin; i++)
        if (log_text__is_word(word, kelvin[i])) return LOG_TEXT_KELVIN;
    return LOG_TEXT_UNIT_OPEN;
}
