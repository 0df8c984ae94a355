/* quantity.c: reading spelled quantities; see quantity.h. Writing lives in quantity_format.c.
 *
 * A quantity is a number and a suffix, and a suffix is one row of a table. SI = (number + add) * times / by:
 * the factors are whole powers of ten, so that 12mV is the double nearest to 0.012, as typed by hand.
 *
 * Policy: what is read is read whole or not at all. A unit is never guessed from the size of a number, a
 * decimal comma never taken for a point, and a figure without a unit is refused where a unit is expected:
 * 23.1 for 231 V is a mistake that costs an oven. Every refusal says what was typed, what would be right,
 * and how it is spelled. Nothing here asks for a locale, so the same file reads alike on every machine.
 *
 * Bad at: compound units (W/K, ohm/m), which no file needs; currencies beyond the short list in
 * minor_units. */
#include "base/quantity.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct {
    const char *spelling;
    Unit unit;
    double add, times, by;
} Suffix;

static const Suffix SUFFIXES[] = {
    /* Temperatures, then differences of temperatures under the same spellings: find_suffix takes one or the
     * other. */
    {"", UNIT_NONE, 0, 1, 1},
    {"C", UNIT_CELSIUS, 0, 1, 1},
    {"F", UNIT_CELSIUS, -32, 5, 9},
    {"K", UNIT_CELSIUS, -273.15, 1, 1}, /* absolute */
    {"\u00b0C", UNIT_CELSIUS, 0, 1, 1},
    {"\u00b0F", UNIT_CELSIUS, -32, 5, 9},
    {"C", UNIT_KELVIN, 0, 1, 1},
    {"F", UNIT_KELVIN, 0, 5, 9},
    {"K", UNIT_KELVIN, 0, 1, 1},
    {"\u00b0C", UNIT_KELVIN, 0, 1, 1},
    {"\u00b0F", UNIT_KELVIN, 0, 5, 9},
    {"ohm", UNIT_OHM, 0, 1, 1},
    {"mohm", UNIT_OHM, 0, 1, 1e3},
    {"kohm", UNIT_OHM, 0, 1e3, 1},
    {"Mohm", UNIT_OHM, 0, 1e6, 1},
    {"\u03a9", UNIT_OHM, 0, 1, 1}, /* capital omega, and below the ohm sign */
    {"k\u03a9", UNIT_OHM, 0, 1e3, 1},
    {"M\u03a9", UNIT_OHM, 0, 1e6, 1},
    {"\u2126", UNIT_OHM, 0, 1, 1},
    {"k\u2126", UNIT_OHM, 0, 1e3, 1},
    {"M\u2126", UNIT_OHM, 0, 1e6, 1},
    {"V", UNIT_VOLT, 0, 1, 1},
    {"mV", UNIT_VOLT, 0, 1, 1e3},
    {"kV", UNIT_VOLT, 0, 1e3, 1},
    {"A", UNIT_AMPERE, 0, 1, 1},
    {"mA", UNIT_AMPERE, 0, 1, 1e3},
    {"W", UNIT_WATT, 0, 1, 1},
    {"kW", UNIT_WATT, 0, 1e3, 1},
    {"s", UNIT_SECOND, 0, 1, 1},
    {"ms", UNIT_SECOND, 0, 1, 1e3},
    {"min", UNIT_SECOND, 0, 60, 1},
    {"h", UNIT_SECOND, 0, 3600, 1},
    {"m", UNIT_METRE, 0, 1, 1},
    {"mm", UNIT_METRE, 0, 1, 1e3},
    {"cm", UNIT_METRE, 0, 1, 1e2},
    {"in", UNIT_METRE, 0, 254, 1e4}, /* 25.4 mm, by definition */
    {"L", UNIT_CUBIC_METRE, 0, 1, 1e3},
    {"kg", UNIT_KILOGRAM, 0, 1, 1},
    {"g", UNIT_KILOGRAM, 0, 1, 1e3},
    {"Hz", UNIT_HERTZ, 0, 1, 1},
    {"%", UNIT_RATIO, 0, 1, 1e2},
};
enum { SUFFIX_COUNT = sizeof SUFFIXES / sizeof SUFFIXES[0] };

static const double ABSOLUTE_ZERO = -273.15; /* celsius */

const char *quantity_unit_says(Unit unit)
{
    static const char *const says[] = {
#define X(name, words, example) words,
        UNIT_LIST(X)
#undef X
    };
    assert(unit >= 0 && unit < UNIT_COUNT);
    return says[unit];
}

const char *quantity_unit_example(Unit unit)
{
    static const char *const examples[] = {
#define X(name, words, example) example,
        UNIT_LIST(X)
#undef X
    };
    assert(unit >= 0 && unit < UNIT_COUNT);
    return examples[unit];
}

/* A quoted copy for an error: what was typed, cut where it is long, without control characters. */
typedef struct {
    char quoted[60];
} Typed;

static Typed typed(Text text)
{
    Typed copy = {"'"};
    size_t at = 1;
    for (size_t i = 0; i < text.length && at < sizeof copy.quoted - 5; i++)
        copy.quoted[at++] = (unsigned char)text.bytes[i] < ' ' ? '?' : text.bytes[i];
    snprintf(copy.quoted + at, sizeof copy.quoted - at, at <= text.length ? "...'" : "'");
    return copy;
}

/* Displays write it with and without a point; 0L with a zero would be no litres. */
static bool is_over_word(Text text)
{
    return text_is(text, "OL") || text_is(text, "ol") || text_is(text, "O.L");
}

/* The number, and what follows it without the one space that may stand between. */
static bool split(Text text, double *number, Text *suffix, Unit expected, Error *error)
{
    const size_t length = text_number_length(text);
    const char *wanted = expected == UNIT_COUNT ? "a number with its unit" : quantity_unit_says(expected);
    const char *example = quantity_unit_example(expected == UNIT_COUNT ? UNIT_CELSIUS : expected);
    if (length == 0) {
        error_set(error, ERROR_SYNTAX, typed(text).quoted, "%s, such as %s", wanted, example);
        if (text.length && text.bytes[0] == ' ') error_hint(error, "take away the space before the number");
        return false;
    }
    if (!text_read_number((Text){text.bytes, length}, number))
        return error_set(error, ERROR_OUT_OF_RANGE, typed(text).quoted, "a number of ordinary size");
    *suffix = (Text){text.bytes + length, text.length - length};
    if (suffix->length > 1 && suffix->bytes[0] == ' ')
        *suffix = (Text){suffix->bytes + 1, suffix->length - 1};
    if (suffix->length && suffix->bytes[0] == ',') {
        error_set(error, ERROR_SYNTAX, typed(text).quoted, "%s, such as %s", wanted, example);
        return error_hint(error, "write the decimal point as a point: 1.5, not 1,5");
    }
    return true;
}

/* ISO 4217, from memory: most currencies have hundredths, these have none or thousandths. */
static double minor_units(const char *currency)
{
    static const char whole[][4] = {"JPY", "KRW", "VND", "CLP", "ISK"};
    static const char thousandths[][4] = {"BHD", "JOD", "KWD", "OMR", "TND"};
    for (size_t i = 0; i < sizeof whole / sizeof whole[0]; i++)
        if (text_equal(whole[i], currency)) return 1;
    for (size_t i = 0; i < sizeof thousandths / sizeof thousandths[0]; i++)
        if (text_equal(thousandths[i], currency)) return 1000;
    return 100;
}

/* Letters of the two cases differ in one bit; what else that bit joins is in no unit. */
static bool same_but_for_case(Text a, const char *b)
{
    if (strlen(b) != a.length) return false;
    for (size_t i = 0; i < a.length; i++)
        if ((a.bytes[i] | 0x20) != (b[i] | 0x20)) return false;
    return true;
}

static const Suffix *find_but_for_case(Text suffix)
{
    for (int i = 0; i < SUFFIX_COUNT; i++)
        if (suffix.length && same_but_for_case(suffix, SUFFIXES[i].spelling)) return &SUFFIXES[i];
    return NULL;
}

/* Three capitals, unless they are a unit in capitals: 12OHM is a slip of the shift key. */
static bool is_currency(Text suffix)
{
    if (suffix.length != 3) return false;
    for (size_t i = 0; i < 3; i++)
        if (suffix.bytes[i] < 'A' || suffix.bytes[i] > 'Z') return false;
    return !find_but_for_case(suffix);
}

/* Money is counted in its smallest coin, so that sums of it are exact. */
static bool read_money(Text text, double number, Text suffix, Quantity *quantity, Error *error)
{
    Quantity read = {.unit = UNIT_MONEY};
    memcpy(read.currency, suffix.bytes, 3);
    const double minor = number * minor_units(read.currency);
    read.value = floor(minor + 0.5);
    if (fabs(read.value) > 1e15)
        return error_set(error, ERROR_OUT_OF_RANGE, typed(text).quoted, "less than 1e13 %s", read.currency);
    if (fabs(minor - read.value) > 1e-6)
        return error_set(error, ERROR_SYNTAX, typed(text).quoted, "no fraction below the smallest coin of %s",
                         read.currency);
    *quantity = read;
    return true;
}

/* No such unit: says what is expected, and the spelling that was probably meant. */
static bool unknown_unit(Text text, Text suffix, Unit expected, Error *error)
{
    if (expected == UNIT_COUNT)
        error_set(
            error, ERROR_UNKNOWN_WORD, typed(text).quoted,
            "a number with one of C F K ohm kohm Mohm V mV A mA W kW s min h mm m L kg Hz %% or a currency "
            "of three capitals");
    else
        error_set(error, ERROR_UNKNOWN_WORD, typed(text).quoted, "%s, such as %s",
                  quantity_unit_says(expected), quantity_unit_example(expected));
    if (suffix.length && suffix.bytes[suffix.length - 1] == ' ')
        return error_hint(error, "take away the spaces; one may stand between number and unit");
    const Suffix *meant = find_but_for_case(suffix);
    if (meant) return error_hint(error, "write the unit as '%s'", meant->spelling);
    return false;
}

/* The same letters are a temperature in one place and a difference in the other: the rows of one are left
 * out. */
static const Suffix *find_suffix(Text suffix, bool is_difference)
{
    const Unit not_this = is_difference ? UNIT_CELSIUS : UNIT_KELVIN;
    for (int i = 0; i < SUFFIX_COUNT; i++)
        if (SUFFIXES[i].unit != not_this && text_is(suffix, SUFFIXES[i].spelling)) return &SUFFIXES[i];
    return NULL;
}

/* `expected` is UNIT_COUNT when any unit will do. */
static bool read_any(Text text, Unit expected, Quantity *quantity, Error *error)
{
    if (is_over_word(text)) {
        *quantity = (Quantity){.value = INFINITY, .unit = UNIT_NONE, .is_over = true};
        return true;
    }
    double number;
    Text suffix;
    if (!split(text, &number, &suffix, expected, error)) return false;
    if (is_currency(suffix)) return read_money(text, number, suffix, quantity, error);
    const Suffix *row = find_suffix(suffix, expected == UNIT_KELVIN);
    if (!row) return unknown_unit(text, suffix, expected, error);
    const double value = (number + row->add) * row->times / row->by;
    if (!isfinite(value))
        return error_set(error, ERROR_OUT_OF_RANGE, typed(text).quoted, "a number of ordinary size");
    if (row->unit == UNIT_CELSIUS && value < ABSOLUTE_ZERO)
        return error_set(error, ERROR_OUT_OF_RANGE, typed(text).quoted,
                         "a temperature above absolute zero, -273.15C or -459.67F");
    *quantity = (Quantity){.value = value, .unit = row->unit};
    return true;
}

bool quantity_read(Text text, Quantity *quantity, Error *error)
{
    return read_any(text, UNIT_COUNT, quantity, error);
}

bool quantity_read_as(Text text, Unit expected, double *value, Error *error)
{
    assert(expected >= 0 && expected < UNIT_COUNT);
    Quantity read;
    if (!read_any(text, expected, &read, error)) return false;
    if (!read.is_over && read.unit == expected) {
        *value = read.value;
        return true;
    }
    error_set(error, ERROR_WRONG_KIND, typed(text).quoted, "%s, such as %s", quantity_unit_says(expected),
              quantity_unit_example(expected));
    if (read.is_over) return error_hint(error, "OL is something a meter shows; here a value is needed");
    if (read.unit == UNIT_NONE) return error_hint(error, "add the unit");
    return error_hint(error, "this is %s", quantity_unit_says(read.unit));
}

bool quantity_read_difference(Text text, double *kelvin, Error *error)
{
    return quantity_read_as(text, UNIT_KELVIN, kelvin, error);
}

bool quantity_read_range(Text text, Unit expected, double *low, double *high, Error *error)
{
    size_t dots = 0;
    while (dots + 1 < text.length && !(text.bytes[dots] == '.' && text.bytes[dots + 1] == '.')) dots++;
    if (dots + 1 >= text.length) {
        error_set(error, ERROR_SYNTAX, typed(text).quoted, "two of %s with two dots between",
                  quantity_unit_says(expected));
        return error_hint(error, "for example -35F..35F or 0s..51s");
    }
    double from, to;
    const Text second = {text.bytes + dots + 2, text.length - dots - 2};
    if (!quantity_read_as((Text){text.bytes, dots}, expected, &from, error)) return false;
    if (!quantity_read_as(second, expected, &to, error)) return false;
    if (from > to) return error_set(error, ERROR_INCONSISTENT, typed(text).quoted, "the lower end first");
    *low = from;
    *high = to;
    return true;
}
