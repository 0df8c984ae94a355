/* time.c: moments as RFC 3339 writes them.
 *
 * Days to dates and back by counting years from March, so that the leap day is the last of its year (after H.
 * Hinnant, 'chrono-compatible low-level date algorithms', from memory). No locale and no clock is asked. */
#include "format/record_text/record_text.h"

#include <stdio.h>

enum { DAY_SECONDS = 86400, ERA_DAYS = 146097, DAYS_TO_EPOCH = 719468 }; /* 0000-03-01 to 1970-01-01 */

static int64_t floor_divide(int64_t a, int64_t b) { return a / b - (a % b < 0); }

static int64_t days_of(int year, int month, int day)
{
    const int64_t from_march = year - (month <= 2);
    const int64_t era = floor_divide(from_march, 400), year_of_era = from_march - era * 400;
    const int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * ERA_DAYS + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year -
           DAYS_TO_EPOCH;
}

static void date_of(int64_t days, int *year, int *month, int *day)
{
    const int64_t shifted = days + DAYS_TO_EPOCH, era = floor_divide(shifted, ERA_DAYS);
    const int64_t day_of_era = shifted - era * ERA_DAYS;
    const int64_t year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    const int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    const int64_t from_march = (5 * day_of_year + 2) / 153;
    *day = (int)(day_of_year - (153 * from_march + 2) / 5 + 1);
    *month = (int)(from_march < 10 ? from_march + 3 : from_march - 9);
    *year = (int)(year_of_era + era * 400 + (*month <= 2));
}

void record_text_write_time(int64_t millisecond, char out[RECORD_TEXT_TIME_SIZE])
{
    int year, month, day;
    const int64_t second = floor_divide(millisecond, 1000), days = floor_divide(second, DAY_SECONDS);
    const int left = (int)(second - days * DAY_SECONDS);
    date_of(days, &year, &month, &day);
    char line[80];
    snprintf(line, sizeof line, "%04d-%02d-%02dT%02d:%02d:%02d.%03dZ", year, month, day, left / 3600,
             left / 60 % 60, left % 60, (int)(millisecond - second * 1000));
    snprintf(out, RECORD_TEXT_TIME_SIZE, "%.24s", line);
}

/* ---- reading */

typedef struct {
    const char *at, *end;
} Cursor;

static bool take(Cursor *cursor, char wanted)
{
    if (cursor->at == cursor->end || *cursor->at != wanted) return false;
    cursor->at++;
    return true;
}

static bool take_letter(Cursor *cursor, char small)
{
    return take(cursor, small) || take(cursor, (char)(small - 'a' + 'A'));
}

static bool take_digits(Cursor *cursor, int count, int low, int high, int *value)
{
    int sum = 0;
    for (int i = 0; i < count; i++, cursor->at++) {
        if (cursor->at == cursor->end || *cursor->at < '0' || *cursor->at > '9') return false;
        sum = 10 * sum + (*cursor->at - '0');
    }
    *value = sum;
    return sum >= low && sum <= high;
}

static int days_in(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    const bool is_leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && is_leap);
}

static bool take_date(Cursor *cursor, int64_t *days)
{
    int year, month, day;
    if (!take_digits(cursor, 4, 0, 9999, &year) || !take(cursor, '-') ||
        !take_digits(cursor, 2, 1, 12, &month) || !take(cursor, '-') ||
        !take_digits(cursor, 2, 1, days_in(year, month), &day))
        return false;
    *days = days_of(year, month, day);
    return true;
}

static bool take_fraction(Cursor *cursor, int *millisecond)
{
    int digits = 0, digit = 0, sum = 0;
    *millisecond = 0;
    if (!take(cursor, '.')) return true;
    while (cursor->at < cursor->end && *cursor->at >= '0' && *cursor->at <= '9') {
        if (!take_digits(cursor, 1, 0, 9, &digit) || ++digits > 9) return false;
        if (digits <= 3) sum = 10 * sum + digit;
    }
    for (int i = digits; i < 3; i++) sum *= 10;
    *millisecond = sum;
    return digits > 0;
}

static bool take_clock(Cursor *cursor, int *second)
{
    int hour, minute, of_minute;
    if (!take_digits(cursor, 2, 0, 23, &hour) || !take(cursor, ':') ||
        !take_digits(cursor, 2, 0, 59, &minute) || !take(cursor, ':') ||
        !take_digits(cursor, 2, 0, 60, &of_minute))
        return false;
    *second = 3600 * hour + 60 * minute + of_minute;
    return true;
}

static bool take_offset(Cursor *cursor, int *second)
{
    int hour, minute;
    *second = 0;
    if (take_letter(cursor, 'z')) return true;
    const bool is_west = take(cursor, '-');
    if (!is_west && !take(cursor, '+')) return false;
    if (!take_digits(cursor, 2, 0, 23, &hour) || !take(cursor, ':') ||
        !take_digits(cursor, 2, 0, 59, &minute))
        return false;
    *second = (is_west ? -1 : 1) * (3600 * hour + 60 * minute);
    return true;
}

bool record_text_read_time(Text text, int64_t *millisecond)
{
    Cursor cursor = {text.bytes, text.bytes + text.length};
    int64_t days;
    int second, fraction, offset;
    if (!take_date(&cursor, &days) || !take_letter(&cursor, 't') || !take_clock(&cursor, &second) ||
        !take_fraction(&cursor, &fraction) || !take_offset(&cursor, &offset) || cursor.at != cursor.end)
        return false;
    *millisecond = (days * DAY_SECONDS + second - offset) * 1000 + fraction;
    return true;
}
