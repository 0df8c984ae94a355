/* csv.c: records as a table for a spreadsheet (RFC 4180): CRLF, quotes where a field needs them.
 *
 * A field that begins with =, +, - or @ is run as a formula by spreadsheets, and names are typed by people:
 * those get an apostrophe, which spreadsheets do not show (common practice, no source). It is why a table is
 * not read back. */
#include "format/record_text/record_text.h"

#include <string.h>

static bool needs_quotes(const char *field)
{
    while (*field && !strchr(",\"\r\n", *field)) field++;
    return *field != '\0';
}

static void add_field(TextBuilder *out, const char *field)
{
    if (!needs_quotes(field)) {
        text_add(out, field);
        return;
    }
    text_add(out, "\"");
    for (const char *at = field; *at; at++) {
        if (*at == '"') text_add(out, "\"");
        text_add_bytes(out, at, 1);
    }
    text_add(out, "\"");
}

static void add_typed(TextBuilder *out, const char *field)
{
    if (strchr("=+-@\t\r", field[0]) && field[0]) {
        TextBuilder shown = text_builder(out->arena, out->limit);
        text_add(&shown, "'");
        text_add(&shown, field);
        add_field(out, text_string(&shown));
        return;
    }
    add_field(out, field);
}

void record_text_write_csv_head(TextBuilder *out)
{
    text_add(out, "call,at,by,device,kind,subject,content,id,strikes,attachment\r\n");
}

void record_text_write_csv(const TrailRecord *record, TextBuilder *out)
{
    char at[RECORD_TEXT_TIME_SIZE];
    record_text_write_time(record->made_millisecond, at);
    add_field(out, record->call);
    text_add(out, ",");
    add_field(out, at);
    text_add(out, ",");
    add_typed(out, record->author);
    text_add(out, ",");
    add_typed(out, record->device);
    const char *const rest[] = {trail_kind_name(record->kind),
                                record->subject ? record->subject : "",
                                record->payload,
                                record->id,
                                record->strikes,
                                record->attachment};
    for (size_t i = 0; i < sizeof rest / sizeof rest[0]; i++) {
        text_add(out, ",");
        add_field(out, rest[i]);
    }
    text_add(out, "\r\n");
}
