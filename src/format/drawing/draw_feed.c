/* draw_feed.c: what lies between the house and the rails, drawn from the top down, and the rails themselves.
 *
 * The feed is drawn upright, since that is how a supply comes down to an appliance: the house at the top,
 * the terminal block at the bottom, parts that carry several conductors level on all of them with a broken
 * line between. */
#include "format/drawing/drawing_private.h"

#include <string.h>

static const Branch *feed_branch(const Sheet *sheet, const Rail *rail, int i)
{
    return &sheet->appliance->branches[rail->feed[i]];
}

/* Upright piece of wire between two heights, with the symbol of the branch in its middle. */
static void add_step(const Sheet *sheet, const Rail *rail, int i, int y1, int y2, int symbol_y,
                     TextBuilder *out)
{
    const int number = rail->feed[i], below = rail->feed_mark[i];
    const int above = i > 0 ? rail->feed_mark[i - 1] : below;
    const Symbol symbol = drawing__symbol(sheet->appliance, number);
    const int half = drawing__symbol_half(symbol);
    const bool live_above = sheet->is_live[above], live_below = sheet->is_live[below];
    drawing__add_line(out, rail->x, y1, rail->x, symbol_y - half, live_above);
    drawing__add_line(out, rail->x, symbol_y + half, rail->x, y2, live_below);
    text_add(out, "<g data-part=\"");
    drawing__add_escaped(out, sheet->appliance->parts[feed_branch(sheet, rail, i)->part].name);
    text_add(out, "\" data-way=\"");
    drawing__add_escaped(out, feed_branch(sheet, rail, i)->name);
    text_add(out, "\">");
    drawing__begin_symbol(out, rail->x, symbol_y, true, live_above && live_below, false);
    text_addf(out, "%s</g></g>\n", drawing__symbol_shape(symbol, sheet->is_closed[number]));
}

static void add_named_mark(const Sheet *sheet, int mark, int x, int y, TextBuilder *out)
{
    const char *name = sheet->appliance->marks[mark].name;
    drawing__add_mark(out, x, y, name);
    if (sheet->is_probed && sheet->is_probed[mark]) drawing__add_ring(out, x, y);
    drawing__add_text(out, x + 8, y + 4, TEXT_SIZE, ALIGN_START, true, name);
    text_add(out, "</g>\n");
}

/* Symbols first and marks on top of them, so that a dot is never half under a line. A rail without a feed
 * still has its name. */
static void add_feed(const Sheet *sheet, const Rail *rail, TextBuilder *out)
{
    int y = sheet->top;
    for (int i = 0; i < rail->feed_count; i++) {
        const int bottom = drawing__feed_y(sheet, rail, i);
        add_step(sheet, rail, i, y, bottom, bottom - FEED_HEIGHT / 2, out);
        y = bottom;
    }
    for (int i = 0; i < rail->feed_count; i++)
        add_named_mark(sheet, rail->feed_mark[i], rail->x, drawing__feed_y(sheet, rail, i), out);
    if (rail->feed_count == 0) add_named_mark(sheet, rail->mark, rail->x, rail->top, out);
}

/* The name of one part beside the first of its symbols, above the broken line that joins them all. */
static void add_name(const Sheet *sheet, int part, TextBuilder *out)
{
    int first = -1, last = -1, branch = -1;
    for (int r = 0; r < sheet->rail_count; r++)
        for (int i = 0; i < sheet->rails[r].feed_count; i++) {
            if (feed_branch(sheet, &sheet->rails[r], i)->part != part) continue;
            branch = sheet->rails[r].feed[i];
            last = sheet->rails[r].x;
            if (first < 0) first = last;
        }
    if (first < 0) return;
    const bool is_left = first == LEFT_RAIL;
    const int y = sheet->top + FEED_HEIGHT * sheet->level[part] + FEED_HEIGHT / 2;
    if (last > first)
        text_addf(out, "<path d=\"M%d %dH%d\" stroke-width=\"0.8\" stroke-dasharray=\"2 4\"/>\n", first + 20,
                  y, last - 20);
    drawing__add_text(out, is_left ? first + 42 : first - 22, y - 6, TEXT_SIZE,
                      is_left ? ALIGN_START : ALIGN_END, false, sheet->labels[branch].name);
}

void drawing__add_feeds(const Sheet *sheet, TextBuilder *out)
{
    for (int r = 0; r < sheet->rail_count; r++) {
        const Rail *rail = &sheet->rails[r];
        drawing__add_line(out, rail->x, rail->top, rail->x, rail->bottom, sheet->is_live[rail->mark]);
        add_feed(sheet, rail, out);
        if (rail->mark != sheet->appliance->frame) continue;
        drawing__begin_symbol(out, rail->x, rail->bottom, true, false, false);
        text_addf(out, "%s</g>\n", drawing__symbol_shape(SYMBOL_GROUND, false));
    }
    for (int p = 0; p < sheet->appliance->part_count; p++) add_name(sheet, p, out);
}
