/* draw_rows.c: the rungs: wires with what is live on them, symbols, names, and how each line begins and ends.
 *
 * What is drawn later covers what came before, so the order is: joining lines, then each row with its
 * wires, symbols and marks, then the dots. Every group carries data-part, data-way or data-mark: a page, or
 * a test, finds things by name and not by place. */
#include "format/drawing/drawing_private.h"

#include <string.h>

static const char *mark_name(const Sheet *sheet, int mark) { return sheet->appliance->marks[mark].name; }

static void begin_part(const Sheet *sheet, int number, TextBuilder *out)
{
    const Branch *branch = &sheet->appliance->branches[number];
    text_add(out, "<g data-part=\"");
    drawing__add_escaped(out, sheet->appliance->parts[branch->part].name);
    text_add(out, "\" data-way=\"");
    drawing__add_escaped(out, branch->name);
    text_add(out, "\">\n");
}

/* One branch: its two pieces of wire and the symbol between them. */
static void add_branch(const Sheet *sheet, const Row *row, int at, TextBuilder *out)
{
    const int number = row->branches[at], y = row->y;
    const Symbol symbol = drawing__symbol(sheet->appliance, number);
    const bool live_left = sheet->is_live[row->marks[at]], live_right = sheet->is_live[row->marks[at + 1]];
    const bool is_load = drawing__is_load(&sheet->appliance->branches[number]);
    begin_part(sheet, number, out);
    if (symbol == SYMBOL_WIRE) {
        drawing__add_line(out, row->x[at], y, row->x[at + 1], y, live_left && live_right);
        text_add(out, "</g>\n");
        return;
    }
    const int middle = drawing__symbol_x(sheet, row, at), half = drawing__symbol_half(symbol);
    drawing__add_line(out, row->x[at], y, middle - half, y, live_left);
    drawing__add_line(out, middle + half, y, row->x[at + 1], y, live_right);
    drawing__begin_symbol(out, middle, y, false, !is_load && live_left && live_right,
                          sheet->is_energised[number]);
    text_addf(out, "%s</g>\n", drawing__symbol_shape(symbol, sheet->is_closed[number]));
    drawing__add_text(out, middle, y + 27, TEXT_SIZE, ALIGN_MIDDLE, false, sheet->labels[number].name);
    drawing__add_text(out, middle, y + 41, TEXT_SIZE, ALIGN_MIDDLE, false, sheet->labels[number].note);
    text_add(out, "</g>\n");
}

static void add_mark(const Sheet *sheet, int mark, int x, int y, TextBuilder *out)
{
    drawing__add_mark(out, x, y, mark_name(sheet, mark));
    if (sheet->is_probed && sheet->is_probed[mark]) drawing__add_ring(out, x, y);
    drawing__add_text(out, x, y - 8, TEXT_SIZE, ALIGN_MIDDLE, true, mark_name(sheet, mark));
    text_add(out, "</g>\n");
}

/* A flag pointing at x from the left, or away from it to the right: the same point stands elsewhere. */
static void add_flag(const Sheet *sheet, int mark, int x, int y, bool is_left, TextBuilder *out)
{
    const char *name = mark_name(sheet, mark);
    const int width = drawing__flag_width(name), far = is_left ? x - width : x + width;
    const int neck = is_left ? x - 8 : x + 8;
    text_add(out, "<g data-mark=\"");
    drawing__add_escaped(out, name);
    text_addf(out, "\" data-repeated=\"yes\">\n<path d=\"M%d %dL%d %dH%dV%dH%dZ\" fill=\"#ffffff\"/>\n", x, y,
              neck, y - 10, far, y + 10, neck);
    drawing__add_text(out, (neck + far) / 2, y + 4, TEXT_SIZE, ALIGN_MIDDLE, true, name);
    text_add(out, "</g>\n");
}

/* The sensor's loop ends at the control on both sides: the same box twice, the second time marked as
 * repeated. */
static void add_control(const Sheet *sheet, int mark, int x, int y, bool is_left, TextBuilder *out)
{
    const char *name = sheet->appliance->parts[sheet->appliance->control].name;
    const int width = drawing__control_width(sheet), edge = is_left ? x - 18 : x + 18;
    drawing__add_line(out, x, y, edge, y, sheet->is_live[mark]);
    text_add(out, "<g data-part=\"");
    drawing__add_escaped(out, name);
    text_addf(
        out,
        "\" data-way=\"input\"%s>\n<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"32\" fill=\"#ffffff\"/>\n",
        is_left ? "" : " data-repeated=\"yes\"", is_left ? edge - width : edge, y - 16, width);
    drawing__add_text(out, is_left ? edge - width / 2 : edge + width / 2, y + 4, TEXT_SIZE, ALIGN_MIDDLE,
                      false, name);
    text_add(out, "</g>\n");
}

/* A joint needs nothing of its own, its upright line is drawn already; an open end has nothing to show. */
static void add_end(const Sheet *sheet, const Row *row, bool is_left, TextBuilder *out)
{
    const int at = is_left ? 0 : row->count, mark = row->marks[at];
    switch (is_left ? row->begins : row->ends) {
    case END_RAIL: drawing__add_dot(out, row->x[at], row->y); break;
    case END_REPEATED: add_flag(sheet, mark, row->x[at], row->y, is_left, out); break;
    case END_CONTROL:
        add_control(sheet, mark, row->x[at], row->y, is_left, out);
        add_mark(sheet, mark, row->x[at], row->y, out);
        break;
    default: break;
    }
}

static bool is_joined(const Row *row, int mark)
{
    return (row->begins == END_JOINT && row->marks[0] == mark) ||
           (row->ends == END_JOINT && row->marks[row->count] == mark);
}

/* The vertical line from a mark through all rows that join it. */
static void add_joints(const Sheet *sheet, int mark, TextBuilder *out)
{
    int y = sheet->rows[sheet->row_of[mark]].y;
    const int x = sheet->mark_x[mark];
    for (int r = sheet->row_of[mark] + 1; r < sheet->row_count; r++) {
        if (!is_joined(&sheet->rows[r], mark)) continue;
        drawing__add_line(out, x, y, x, sheet->rows[r].y, sheet->is_live[mark]);
        y = sheet->rows[r].y;
    }
}

/* A dot where that line meets a row and goes on below it; at the mark itself stands the mark's own. */
static void add_joint_dots(const Sheet *sheet, int mark, TextBuilder *out)
{
    const Row *above = NULL;
    for (int r = sheet->row_of[mark] + 1; r < sheet->row_count; r++) {
        if (!is_joined(&sheet->rows[r], mark)) continue;
        if (above) drawing__add_dot(out, sheet->mark_x[mark], above->y);
        above = &sheet->rows[r];
    }
}

void drawing__add_rows(const Sheet *sheet, TextBuilder *out)
{
    const int mark_count = sheet->appliance->mark_count;
    for (int m = 0; m < mark_count; m++)
        if (sheet->row_of[m] >= 0) add_joints(sheet, m, out);
    for (int r = 0; r < sheet->row_count; r++) {
        const Row *row = &sheet->rows[r];
        text_add(out, "<g>\n");
        for (int i = 0; i < row->count; i++) add_branch(sheet, row, i, out);
        add_end(sheet, row, true, out);
        add_end(sheet, row, false, out);
        for (int i = 0; i <= row->count; i++)
            if (sheet->row_of[row->marks[i]] == r) add_mark(sheet, row->marks[i], row->x[i], row->y, out);
        text_add(out, "</g>\n");
    }
    for (int m = 0; m < mark_count; m++)
        if (sheet->row_of[m] >= 0) add_joint_dots(sheet, m, out);
}
