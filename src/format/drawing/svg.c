/* svg.c: single elements of the drawing, one a line; colours and line widths stand here and nowhere else.
 *
 * Text from the outside goes through drawing__add_escaped and nowhere else, so no name in a file can end an
 * element. Coordinates are whole numbers: no rounding differs from one machine to the next. */
#include "format/drawing/drawing_private.h"

#include <assert.h>
#include <string.h>

#define INK         "#26262b"
#define LIVE        "#b0470e" /* dark enough to stay dark in grey print; width and dashes say it there */
#define ENERGISED   "#f0b785"
#define LIVE_STROKE "stroke=\"" LIVE "\" stroke-width=\"4\" stroke-dasharray=\"13 3\""

void drawing__add_escaped(TextBuilder *out, const char *text)
{
    for (const char *at = text; *at; at++) {
        switch (*at) {
        case '&': text_add(out, "&amp;"); break;
        case '<': text_add(out, "&lt;"); break;
        case '>': text_add(out, "&gt;"); break;
        case '"': text_add(out, "&quot;"); break;
        default:
            if ((unsigned char)*at < ' ') /* XML has no place for the others */
                text_add(out, " ");
            else
                text_add_bytes(out, at, 1);
        }
    }
}

/* y is the baseline, as SVG has it. */
void drawing__add_text(TextBuilder *out, int x, int y, int size, Align align, bool is_bold, const char *text)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    if (!*text) return;
    text_addf(out, "<text x=\"%d\" y=\"%d\" font-size=\"%d\" text-anchor=\"%s\"%s>", x, y, size,
              anchors[align], is_bold ? " font-weight=\"bold\"" : "");
    drawing__add_escaped(out, text);
    text_add(out, "</text>\n");
}

/* The words that fit into one line, at least one. */
static size_t line_length(const char *text, int width, int size)
{
    const size_t most = (size_t)(width * 10 / (size * 6));
    size_t length = 0, characters = 0;
    for (size_t i = 0;; i++) {
        if (text[i] == ' ' || text[i] == '\0') {
            if (characters > most && length > 0) return length;
            length = i;
        }
        if (text[i] == '\0') return i <= length || characters <= most ? i : length;
        characters += ((unsigned char)text[i] & 0xC0) != 0x80;
    }
}

/* SVG breaks no lines by itself. A word that is wider than the line goes out over its end: better than
 * being cut. */
int drawing__add_wrapped(TextBuilder *out, int x, int y, int width, int size, const char *text)
{
    while (*text) {
        const size_t length = line_length(text, width, size);
        assert(length > 0);
        text_addf(out, "<text x=\"%d\" y=\"%d\" font-size=\"%d\" text-anchor=\"start\">", x, y, size);
        for (size_t i = 0; i < length; i++) drawing__add_escaped(out, (char[]){text[i], '\0'});
        text_add(out, "</text>\n");
        text += length;
        while (*text == ' ') text++;
        y += size + 5;
    }
    return y;
}

/* A line of no length would be a dot in some renderers. */
void drawing__add_line(TextBuilder *out, int x1, int y1, int x2, int y2, bool is_live)
{
    if (x1 == x2 && y1 == y2) return;
    text_addf(out, "<path d=\"M%d %dL%d %d\"%s/>\n", x1, y1, x2, y2, is_live ? " " LIVE_STROKE : "");
}

void drawing__add_dot(TextBuilder *out, int x, int y)
{
    text_addf(out, "<circle cx=\"%d\" cy=\"%d\" r=\"3\" fill=\"" INK "\"/>\n", x, y);
}

void drawing__add_ring(TextBuilder *out, int x, int y)
{
    text_addf(out,
              "<circle cx=\"%d\" cy=\"%d\" r=\"10\" fill=\"none\" stroke=\"#b03a00\" stroke-width=\"3.5\" "
              "data-probe=\"yes\"/>\n",
              x, y);
}

void drawing__add_mark(TextBuilder *out, int x, int y, const char *name)
{
    text_add(out, "<g data-mark=\"");
    drawing__add_escaped(out, name);
    text_add(out, "\">\n");
    drawing__add_dot(out, x, y);
}

void drawing__begin_symbol(TextBuilder *out, int x, int y, bool is_upright, bool is_live, bool is_energised)
{
    text_addf(out, "<g transform=\"translate(%d %d)%s\" fill=\"%s\"%s>", x, y,
              is_upright ? " rotate(90)" : "", is_energised ? ENERGISED : "#ffffff",
              is_live ? " stroke=\"" LIVE "\" stroke-width=\"2.4\"" : "");
}
