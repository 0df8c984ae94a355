/* legend.c: what the symbols mean; only those that stand on the sheet.
 *
 * Explains what is there and nothing else, so that a small oven has a short legend. Captions of symbols
 * stand in the order of the symbols, and the compiler holds the two lists together. */
#include "format/drawing/drawing_private.h"

enum { LEGEND_LINE = 42, SAMPLE_WIDTH = 72 };

_Static_assert((int)CAPTION_HEATER == (int)SYMBOL_HEATER && (int)CAPTION_GROUND == (int)SYMBOL_GROUND,
               "captions of the symbols stand in the order of the symbols");

static bool has_joint(const Row *row) { return row->begins == END_JOINT || row->ends == END_JOINT; }
static bool has_flag(const Row *row) { return row->begins == END_REPEATED || row->ends == END_REPEATED; }

/* A wire goes past a rail that it does not join. */
static bool has_crossing(const Sheet *sheet)
{
    for (int r = 0; r < sheet->row_count; r++) {
        const Row *row = &sheet->rows[r];
        for (int i = 1; row->ends == END_RAIL && i < sheet->rank[row->marks[row->count]]; i++)
            if (sheet->rails[i].bottom > row->y) return true;
    }
    return false;
}

static void find_used(const Sheet *sheet, bool used[CAPTION_COUNT])
{
    for (int b = 0; b < sheet->appliance->branch_count; b++) {
        if (sheet->appliance->branches[b].type == BRANCH_GAP) continue;
        if (b == sheet->appliance->control_input) continue; /* a box with its name in it */
        const Symbol symbol = drawing__symbol(sheet->appliance, b);
        if (symbol != SYMBOL_WIRE) used[symbol] = true;
        if (sheet->is_closed[b]) used[CAPTION_CLOSED] = true;
        if (sheet->is_energised[b]) used[CAPTION_ENERGISED] = true;
    }
    used[CAPTION_GROUND] = sheet->appliance->frame >= 0;
    used[CAPTION_LIVE] = sheet->has_function;
    for (int r = 0; r < sheet->row_count; r++) {
        used[CAPTION_JOINT] = used[CAPTION_JOINT] || has_joint(&sheet->rows[r]);
        used[CAPTION_REPEATED] = used[CAPTION_REPEATED] || has_flag(&sheet->rows[r]);
    }
    used[CAPTION_CROSSING] = has_crossing(sheet);
}

/* The line-like captions are drawn as they are on the sheet; all others show their symbol. */
static void add_sample(Caption caption, int x, int y, TextBuilder *out)
{
    switch (caption) {
    case CAPTION_JOINT:
        drawing__add_line(out, x - 20, y, x + 20, y, false);
        drawing__add_line(out, x, y, x, y + 12, false);
        drawing__add_dot(out, x, y);
        return;
    case CAPTION_CROSSING:
        drawing__add_line(out, x - 20, y, x + 20, y, false);
        drawing__add_line(out, x, y - 12, x, y + 12, false);
        return;
    case CAPTION_REPEATED:
        text_addf(out, "<path d=\"M%d %dL%d %dH%dV%dH%dZ\" fill=\"#ffffff\"/>\n", x - 16, y, x - 8, y - 9,
                  x + 16, y + 9, x - 8);
        return;
    case CAPTION_LIVE: drawing__add_line(out, x - 24, y, x + 24, y, true); return;
    default: break;
    }
    const bool is_energised = caption == CAPTION_ENERGISED, is_closed = caption == CAPTION_CLOSED;
    const Symbol symbol = is_energised ? SYMBOL_LOAD : is_closed ? SYMBOL_HAND : (Symbol)caption;
    const bool is_tall = symbol == SYMBOL_HAND || symbol == SYMBOL_DRIVEN || symbol == SYMBOL_THERMOSTAT ||
                         symbol == SYMBOL_CUTOUT; /* what works the contact stands above it */
    const bool is_upright = symbol == SYMBOL_GROUND || symbol == SYMBOL_SOURCE;
    drawing__begin_symbol(out, x, is_tall ? y + 9 : y, is_upright, false, is_energised);
    text_addf(out, "%s</g>\n", drawing__symbol_shape(symbol, is_closed));
}

/* Captions behind ENERGISED are words of the head, not of the legend. */
static int widest(const DrawingCaptions *captions, const bool used[CAPTION_COUNT])
{
    int width = 0;
    for (int c = 0; c <= CAPTION_ENERGISED; c++) {
        const int own = used[c] ? drawing__text_width(captions->text[c], TEXT_SIZE) : 0;
        if (own > width) width = own;
    }
    return width;
}

int drawing__add_legend(const Sheet *sheet, const DrawingCaptions *captions, int y, TextBuilder *out)
{
    bool used[CAPTION_COUNT] = {false};
    find_used(sheet, used);
    const int left = LEFT_RAIL - 30, column = SAMPLE_WIDTH + widest(captions, used) + 24;
    const int fit = (sheet->width - 2 * left) / column, columns = fit < 1 ? 1 : fit;
    int count = 0;
    drawing__add_text(out, left, y + 12, 13, ALIGN_START, true, captions->text[CAPTION_LEGEND]);
    y += LEGEND_LINE + 12;
    for (int c = 0; c <= CAPTION_ENERGISED; c++) {
        if (!used[c]) continue;
        const int x = left + (count % columns) * column, line = y + (count / columns) * LEGEND_LINE;
        add_sample((Caption)c, x + SAMPLE_WIDTH / 2 - 6, line, out);
        drawing__add_text(out, x + SAMPLE_WIDTH, line + 4, TEXT_SIZE, ALIGN_START, false, captions->text[c]);
        count++;
    }
    return y + ((count + columns - 1) / columns) * LEGEND_LINE;
}
