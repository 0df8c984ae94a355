/* layout.c: where everything on the sheet stands.
 *
 * Marks are set from left to right as close as their texts allow (longest path); loads of one depth stand in
 * one column, as on a ladder; rows stand one below the other. Whole pixels, so that every machine gives the
 * same bytes.
 *
 * Invariants: (1) marks only ever move to the right, so the passes end; (2) a mark stands at one x in all
 * rows that share it; (3) nothing but a plain wire is crossed by an upright line.
 *
 * Bad at: width. Nothing is folded or packed, so an oven with many contacts in series makes a wide sheet,
 * and texts are as wide as an estimate says. */
#include "format/drawing/drawing_private.h"

#include <assert.h>

enum {
    ROW_HEIGHT = 76,
    RAIL_GAP = 66, /* at least, between two rails at the right */
    SHORTEST_WIRE = 34,
    MARGIN = 40
};

/* 0.6 em a character, rounded up, in whole pixels; bytes that go on with a letter of UTF-8 are not counted.
 */
int drawing__text_width(const char *text, int size)
{
    int characters = 0;
    for (const char *at = text; *at; at++) characters += ((unsigned char)*at & 0xC0) != 0x80;
    return (characters * size * 6 + 9) / 10;
}

static int mark_width(const Sheet *sheet, int mark)
{
    return drawing__text_width(sheet->appliance->marks[mark].name, TEXT_SIZE);
}

int drawing__flag_width(const char *text) { return drawing__text_width(text, TEXT_SIZE) + 20; }

int drawing__control_width(const Sheet *sheet)
{
    const int control = sheet->appliance->control;
    return drawing__text_width(control < 0 ? "" : sheet->appliance->parts[control].name, TEXT_SIZE) + 20;
}

static int larger(int a, int b) { return a > b ? a : b; }

static int label_width(const Label *label)
{
    return larger(drawing__text_width(label->name, TEXT_SIZE), drawing__text_width(label->note, TEXT_SIZE));
}

/* From one mark of a branch to the other: room for the symbol, what is written under it, and the names of
 * the marks. */
static int branch_width(const Sheet *sheet, int number)
{
    const Branch *branch = &sheet->appliance->branches[number];
    const Symbol symbol = drawing__symbol(sheet->appliance, number);
    const int names = (mark_width(sheet, branch->from) + mark_width(sheet, branch->to) + 1) / 2;
    if (symbol == SYMBOL_WIRE) return larger(SHORTEST_WIRE, names + 12);
    const int half = drawing__symbol_half(symbol);
    return larger(larger(2 * half + 24, names + 24), label_width(&sheet->labels[number]) + 14);
}

int drawing__symbol_x(const Sheet *sheet, const Row *row, int at)
{
    const int end = row->ends == END_RAIL && at == row->count - 1
                        ? row->x[at] + branch_width(sheet, row->branches[at]) /* the wire is long, not it */
                        : row->x[at + 1];
    return (row->x[at] + end) / 2;
}

/* A row that begins at a joint begins where that mark stands already. */
static int begin_x(const Sheet *sheet, const Row *row)
{
    switch (row->begins) {
    case END_RAIL: return LEFT_RAIL;
    case END_REPEATED:
        return LEFT_RAIL + 16 + drawing__flag_width(sheet->appliance->marks[row->marks[0]].name);
    case END_CONTROL: return LEFT_RAIL + 32 + drawing__control_width(sheet);
    case END_OPEN: return LEFT_RAIL + 32;
    default: return sheet->mark_x[row->marks[0]];
    }
}

/* Moves marks to the right until every branch has its room; true when any has moved. Marks on rails do not
 * count as shared: a rail is everywhere on its line. */
static bool push_row(Sheet *sheet, Row *row)
{
    bool has_moved = false;
    int x = begin_x(sheet, row);
    for (int i = 0; i <= row->count; i++) {
        const int mark = row->marks[i];
        const bool is_shared = sheet->rank[mark] == RANK_NONE;
        if (is_shared && sheet->mark_x[mark] > x) x = sheet->mark_x[mark];
        if (is_shared && sheet->mark_x[mark] < x) {
            sheet->mark_x[mark] = x;
            has_moved = true;
        }
        row->x[i] = x;
        if (i < row->count) x += branch_width(sheet, row->branches[i]);
    }
    return has_moved;
}

/* Every pass sets at least the marks that are one branch further from their rail. */
static void push_all(Sheet *sheet)
{
    bool has_moved = true;
    for (int pass = 0; has_moved && pass <= 2 * sheet->appliance->mark_count; pass++) {
        has_moved = false;
        for (int r = 0; r < sheet->row_count; r++) has_moved = push_row(sheet, &sheet->rows[r]) || has_moved;
    }
    assert(!has_moved);
}

/* How many loads stand before each load on its own line; lines that begin at a joint count from there. */
static void align_loads(Sheet *sheet)
{
    for (int depth = 0; depth < sheet->row_count; depth++) {
        int column = 0, last = 0;
        for (int pass = 0; pass < 2; pass++)
            for (int r = 0; r < sheet->row_count; r++) {
                Row *row = &sheet->rows[r];
                int before = 0;
                for (int i = 0; i < row->count; i++) {
                    if (!drawing__is_load(&sheet->appliance->branches[row->branches[i]])) continue;
                    last = larger(last, before);
                    if (before++ != depth) continue;
                    const int mark = row->marks[i];
                    if (pass == 0)
                        column = larger(column, row->x[i]);
                    else if (sheet->rank[mark] == RANK_NONE && sheet->mark_x[mark] < column)
                        sheet->mark_x[mark] = column;
                }
            }
        push_all(sheet);
        if (depth >= last) return;
    }
}

/* --- lines that go up to a row above --- */

/* Five pixels on either side keep an upright line readable beside a symbol. */
static bool is_between(int x, int from, int to) { return x >= from - 5 && x <= to + 5; }

/* Does anything of this row but a plain wire stand at x? */
static bool is_taken(const Sheet *sheet, const Row *row, int number, int x)
{
    for (int i = 0; i <= row->count; i++) {
        const int half = (mark_width(sheet, row->marks[i]) + 1) / 2;
        const bool has_name =
            sheet->row_of[row->marks[i]] == number || sheet->rank[row->marks[i]] > RANK_FEED;
        if (has_name && is_between(x, row->x[i] - half, row->x[i] + half)) return true;
        if (!has_name && is_between(x, row->x[i], row->x[i])) return true;
        if (i == row->count || drawing__symbol(sheet->appliance, row->branches[i]) == SYMBOL_WIRE) continue;
        const int middle = drawing__symbol_x(sheet, row, i);
        const int room = larger(drawing__symbol_half(drawing__symbol(sheet->appliance, row->branches[i])),
                                (label_width(&sheet->labels[row->branches[i]]) + 1) / 2);
        if (is_between(x, middle - room, middle + room)) return true;
    }
    const int flag = drawing__flag_width(sheet->appliance->marks[row->marks[row->count]].name);
    if (row->ends == END_REPEATED && is_between(x, row->x[row->count], row->x[row->count] + flag))
        return true;
    return row->begins != END_RAIL && row->begins != END_JOINT && x < row->x[0];
}

/* Rows that join the same mark are not in its way: the line goes through them. */
static bool is_free_below(const Sheet *sheet, int mark, int number)
{
    for (int r = sheet->row_of[mark] + 1; r < number; r++) {
        const Row *row = &sheet->rows[r];
        const bool begins_there = row->marks[0] == mark && row->begins == END_JOINT;
        const bool ends_there = row->marks[row->count] == mark && row->ends == END_JOINT;
        if (!begins_there && !ends_there && is_taken(sheet, row, r, sheet->mark_x[mark])) return false;
    }
    return true;
}

/* Where a symbol is in the way of the vertical line, the mark is repeated as a flag instead. */
static void settle_joints(Sheet *sheet)
{
    for (int r = 0; r < sheet->row_count; r++) {
        Row *row = &sheet->rows[r];
        if (row->begins == END_JOINT && !is_free_below(sheet, row->marks[0], r)) row->begins = END_REPEATED;
        if (row->ends == END_JOINT && !is_free_below(sheet, row->marks[row->count], r))
            row->ends = END_REPEATED;
    }
}

/* --- rails and rows --- */

static int right_edge(const Sheet *sheet, const Row *row)
{
    const int mark = row->marks[row->count], end = row->x[row->count];
    switch (row->ends) {
    case END_REPEATED: return end + drawing__flag_width(sheet->appliance->marks[mark].name);
    case END_CONTROL: return end + 18 + drawing__control_width(sheet);
    default: return end + mark_width(sheet, mark) / 2;
    }
}

static int widest_feed_name(const Sheet *sheet, const Rail *rail)
{
    int width = mark_width(sheet, rail->mark);
    for (int i = 0; i < rail->feed_count; i++) width = larger(width, mark_width(sheet, rail->feed_mark[i]));
    return width;
}

/* The right rails come after everything else is placed, far enough out for the widest row. */
static void place_rails(Sheet *sheet)
{
    int x = LEFT_RAIL + 420; /* room for the names of the feed's parts */
    for (int r = 0; r < sheet->row_count; r++) x = larger(x, right_edge(sheet, &sheet->rows[r]) + 30);
    for (int i = 0; i < sheet->rail_count; i++) {
        sheet->rails[i].x = i == 0 ? LEFT_RAIL : x;
        if (i > 0) x += larger(RAIL_GAP, widest_feed_name(sheet, &sheet->rails[i]) + 30);
    }
    sheet->width = x + MARGIN;
}

static void place_rows(Sheet *sheet, int y)
{
    for (int r = 0; r < sheet->row_count; r++) {
        Row *row = &sheet->rows[r];
        row->y = y;
        y += ROW_HEIGHT;
        const int first = sheet->rank[row->marks[0]], last = sheet->rank[row->marks[row->count]];
        if (row->begins == END_RAIL) sheet->rails[first].bottom = row->y;
        if (row->ends != END_RAIL) continue;
        sheet->rails[last].bottom = row->y;
        row->x[row->count] = sheet->rails[last].x;
    }
    sheet->height = y;
}

/* Each rail begins below the last part of its feed, and ends at its last rung: the ground's with its sign
 * clear below that. */
static void begin_rails(Sheet *sheet, int ladder_top)
{
    for (int i = 0; i < sheet->rail_count; i++) {
        Rail *rail = &sheet->rails[i];
        rail->top = sheet->top;
        if (rail->feed_count) rail->top = drawing__feed_y(sheet, rail, rail->feed_count - 1);
        rail->bottom = ladder_top + 24;
    }
}

int drawing__feed_y(const Sheet *sheet, const Rail *rail, int at)
{
    const int part = sheet->appliance->branches[rail->feed[at]].part;
    assert(sheet->level[part] >= 0);
    return sheet->top + FEED_HEIGHT * (sheet->level[part] + 1);
}

/* May be called twice with another top: marks begin at the left each time, joints that have become flags stay
 * flags. */
bool drawing__lay_out(Sheet *sheet, int top, Error *error)
{
    sheet->mark_x = ARENA_ARRAY(sheet->arena, int, (size_t)sheet->appliance->mark_count);
    if (!sheet->mark_x) return error_memory(error);
    const int ladder_top = top + FEED_HEIGHT * sheet->level_count;
    sheet->top = top;
    push_all(sheet);
    align_loads(sheet);
    settle_joints(sheet);
    place_rails(sheet);
    begin_rails(sheet, ladder_top);
    place_rows(sheet, ladder_top + 64);
    for (int i = 0; i < sheet->rail_count; i++) {
        Rail *rail = &sheet->rails[i];
        if (rail->mark == sheet->appliance->frame && rail->bottom > ladder_top + 24) rail->bottom += 24;
    }
    return true;
}
