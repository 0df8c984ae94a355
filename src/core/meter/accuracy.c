/* accuracy.c: an accuracy as its data sheet prints it; see meter.h.
 *
 * Both figures are needed: the percentage rules large readings and the counts small ones. An element of 20
 * ohm on the lowest range of 6000 counts is off by 0.16 ohm for 0.8 % and by 0.3 ohm for three counts. */
#include "core/meter/meter.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* One sentence for whatever is wrong with it: the reader has the data sheet in hand, not a grammar. */
static bool refuse(Text text, Error *error)
{
    char found[60];
    snprintf(found, sizeof found, "'%.*s'", text.length < 50 ? (int)text.length : 50, text.bytes);
    error_set(error, ERROR_SYNTAX, found, "an accuracy such as 0.8%%+3: per cent of the reading and counts");
    return error_hint(error, "both stand in the meter's data sheet, for each position of the dial");
}

/* Spaces, brackets and a leading plus-minus say nothing: what is left is PERCENT% or PERCENT%+COUNTS. */
static Text strip(Text text, char *out, size_t size)
{
    const char plus_minus[] = "\u00b1";
    size_t length = 0;
    for (size_t i = 0; i < text.length && length < size; i++) {
        if (text.length - i >= 2 && memcmp(text.bytes + i, plus_minus, 2) == 0)
            i++;
        else if (length == 0 && text.length - i >= 2 && memcmp(text.bytes + i, "+-", 2) == 0)
            i++;
        else if (!strchr(" ()", text.bytes[i]) || !text.bytes[i])
            out[length++] = text.bytes[i];
    }
    return (Text){out, length};
}

bool meter_read_accuracy(Text text, MeterAccuracy *accuracy, Error *error)
{
    char bytes[40];
    const Text plain = strip(text, bytes, sizeof bytes);
    const size_t length = text_number_length(plain);
    double percent, counts = 0;
    if (!text_read_number((Text){plain.bytes, length}, &percent)) return refuse(text, error);
    if (length >= plain.length || plain.bytes[length] != '%') return refuse(text, error);
    const Text rest = {plain.bytes + length + 1, plain.length - length - 1};
    if (rest.length &&
        (rest.bytes[0] != '+' || rest.length < 2 || rest.bytes[1] < '0' || rest.bytes[1] > '9'))
        return refuse(text, error);
    if (rest.length && !text_read_number(rest, &counts)) return refuse(text, error);
    /* Worse meters than that are not carried; it is the point that slipped. */
    if (!(percent >= 0 && percent <= 50 && counts <= 1000)) {
        refuse(text, error);
        return error_hint(error, "0 to 50 per cent and 0 to 1000 counts are possible");
    }
    *accuracy = (MeterAccuracy){.ratio = percent / 100, .counts = counts};
    return true;
}
