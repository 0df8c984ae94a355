/* moments.c: times and dates as they are written.
 *
 *   630   630.5   12:30   12:30:05.2   1:05 PM   2026-04-03   2026-04-03T12:30:05Z   3.4.2026 12:30   4/3/26
 * 1:05 pm
 *
 * A zone at the end is left out: within one log it is the same. Whether 3/4 is in March or in April, and
 * whether 5:10 is minutes and seconds, one cell cannot tell; rows.c and time.c look at all of them. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <math.h>

typedef struct {
    const char *at, *end;
} Reader;

static bool take(Reader *reader, char c)
{
    if (reader->at >= reader->end || *reader->at != c) return false;
    reader->at++;
    return true;
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* One to `most` digits. */
static bool take_number(Reader *reader, int most, int *value)
{
    const char *from = reader->at;
    *value = 0;
    while (reader->at < reader->end && is_digit(*reader->at) && reader->at - from < most)
        *value = *value * 10 + (*reader->at++ - '0');
    return reader->at > from && (reader->at == reader->end || !is_digit(*reader->at));
}

static void skip_blanks(Reader *reader)
{
    while (take(reader, ' ')) {
    }
}

/* am, pm, a.m., p.m. in any case; true when there is none either. */
static bool take_half(Reader *reader, LogMoment *moment, int hour)
{
    skip_blanks(reader);
    if (reader->at == reader->end) return true;
    const char c = (char)(*reader->at | 0x20);
    if (c != 'a' && c != 'p') return true;
    reader->at++;
    take(reader, '.');
    if (reader->at == reader->end || (*reader->at | 0x20) != 'm' || hour < 1 || hour > 12) return false;
    reader->at++;
    take(reader, '.');
    moment->has_half = true;
    moment->value += (c == 'p' ? 43200 : 0) - (hour == 12 ? 43200 : 0);
    return true;
}

/* Z, +02, +02:00, -0500. */
static bool take_zone(Reader *reader)
{
    int part;
    skip_blanks(reader);
    if (take(reader, 'Z') || reader->at == reader->end) return true;
    if (!take(reader, '+') && !take(reader, '-')) return false;
    if (!take_number(reader, 4, &part)) return false;
    return !take(reader, ':') || take_number(reader, 2, &part);
}

/* Always true: no fraction is fine. */
static bool take_fraction(Reader *reader, bool has_comma, double *seconds)
{
    if (!take(reader, '.') && !(has_comma && take(reader, ','))) return true;
    double place = 0.1;
    for (; reader->at < reader->end && is_digit(*reader->at); reader->at++, place /= 10)
        *seconds += place * (*reader->at - '0');
    return true;
}

/* `first` is read already, a colon follows. Hours may be many: elapsed time. */
static bool take_clock(Reader *reader, bool has_comma, int first, LogMoment *moment)
{
    int second, third;
    if (!take(reader, ':') || !take_number(reader, 2, &second) || second > 59) return false;
    moment->kind = LOG_MOMENT_TWO_PARTS;
    moment->value = first * 3600.0 + second * 60.0;
    if (take(reader, ':')) {
        double seconds;
        if (!take_number(reader, 2, &third) || third > 60) return false;
        seconds = third;
        if (!take_fraction(reader, has_comma, &seconds)) return false;
        moment->kind = LOG_MOMENT_THREE_PARTS;
        moment->value += seconds;
    }
    return take_half(reader, moment, first);
}

/* `first` is read already, a separator of dates follows. */
static bool take_date(Reader *reader, int first, LogMoment *moment)
{
    const char separator = *reader->at++;
    int second, third;
    if (!take_number(reader, 2, &second) || !take(reader, separator) || !take_number(reader, 4, &third))
        return false;
    moment->has_date = true;
    moment->is_year_first = first > 99;
    moment->is_day_first = separator == '.';
    moment->first = moment->is_year_first ? second : first;
    moment->second = moment->is_year_first ? third : second;
    moment->year = moment->is_year_first ? first : third < 100 ? 2000 + third : third;
    return true;
}

/* An hour above 23 is refused here and allowed in a time alone, which may be elapsed. */
static bool read_date_and_time(Reader *reader, bool has_comma, int first, LogMoment *moment)
{
    if (!take_date(reader, first, moment)) return false;
    moment->kind = LOG_MOMENT_DATE;
    if (reader->at == reader->end) return true;
    take(reader, ',');
    if (!take(reader, 'T')) skip_blanks(reader);
    return take_number(reader, 2, &first) && first < 24 && take_clock(reader, has_comma, first, moment) &&
           take_zone(reader);
}

/* Up to four digits and a sign behind them decide between clock, date and number; a date that fails may still
 * be a number, 2026.5 for example. */
bool log_text__moment(Text cell, bool has_comma, LogMoment *moment)
{
    Reader reader = {cell.bytes, cell.bytes + cell.length};
    int first;
    *moment = (LogMoment){.kind = LOG_MOMENT_NUMBER};
    if (take_number(&reader, 4, &first) && reader.at < reader.end) {
        const char c = *reader.at;
        if (c == ':') return take_clock(&reader, has_comma, first, moment) && reader.at == reader.end;
        const bool is_date = c == '/' || c == '-' || (c == '.' && cell.length >= 6);
        if (is_date && read_date_and_time(&reader, has_comma, first, moment) && reader.at == reader.end)
            return true;
        *moment = (LogMoment){.kind = LOG_MOMENT_NUMBER};
    }
    return log_text__number(cell, has_comma, &moment->value) && isfinite(moment->value);
}

/* Days from civil date, after the usual count of 400-year cycles (Richards, Explanatory Supplement to the
 * Astronomical Almanac, 15.11; from memory). */
bool log_text__day(int year, int month, int day, double *days)
{
    static const int lengths[] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (month < 1 || month > 12 || day < 1 || day > lengths[month - 1] || year < 1900 || year > 2200)
        return false;
    const bool is_leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    if (month == 2 && day == 29 && !is_leap) return false;
    const int y = month > 2 ? year : year - 1, m = month > 2 ? month - 3 : month + 9;
    assert(y >= 1899);
    *days = 365.0 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1;
    return true;
}
