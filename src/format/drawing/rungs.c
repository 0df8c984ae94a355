/* rungs.c: the ladder as text that a person can read, and a test too.
 *
 * The same sheet as the drawing, so what this says is what that shows, and tests can hold a ladder against
 * one that was written by hand. A line for each feed and each row; what is live comes last, on a line of
 * its own. */
#include "format/drawing/drawing_private.h"

/* A wire has no name worth a reader's time: its two marks say which it is. */
static void add_branch(const Sheet *sheet, int number, TextBuilder *out)
{
    const Branch *branch = &sheet->appliance->branches[number];
    const Part *part = &sheet->appliance->parts[branch->part];
    const bool is_open = branch->type == BRANCH_CONTACT && !sheet->is_closed[number];
    const char *mark = is_open ? "/" : "=", *close = mark;
    if (!part->described) {
        text_add(out, " -- ");
        return;
    }
    if (drawing__is_load(branch)) {
        mark = "[";
        close = sheet->is_energised[number] ? " *]" : "]";
    }
    text_addf(out, " %s%s", mark, part->name);
    if (drawing__has_like_branches(sheet->appliance, number)) text_addf(out, " %s", branch->name);
    text_addf(out, "%s ", close);
}

static void add_mark(const Sheet *sheet, int mark, bool is_elsewhere, TextBuilder *out)
{
    text_addf(out, is_elsewhere ? "(%s)" : "%s", sheet->appliance->marks[mark].name);
}

static void add_feed(const Sheet *sheet, const Rail *rail, TextBuilder *out)
{
    if (rail->feed_count == 0) return;
    text_add(out, "feed: mains");
    for (int i = 0; i < rail->feed_count; i++) {
        add_branch(sheet, rail->feed[i], out);
        add_mark(sheet, rail->feed_mark[i], false, out);
    }
    text_add(out, "\n");
}

/* In brackets, since that point stands in another line already. */
static bool is_elsewhere(RowEnd end) { return end == END_JOINT || end == END_REPEATED; }

static void add_row(const Sheet *sheet, const Row *row, TextBuilder *out)
{
    text_add(out, row->begins == END_CONTROL ? "input: " : "rung: ");
    for (int i = 0; i <= row->count; i++) {
        add_mark(sheet, row->marks[i],
                 (i == 0 && is_elsewhere(row->begins)) || (i == row->count && is_elsewhere(row->ends)), out);
        if (i < row->count) add_branch(sheet, row->branches[i], out);
    }
    text_add(out, "\n");
}

static void add_live(const Sheet *sheet, TextBuilder *out)
{
    text_addf(out, "live in %s:", sheet->appliance->functions[sheet->function].name);
    for (int m = 1; m < sheet->appliance->mark_count; m++)
        if (sheet->is_live[m]) text_addf(out, " %s", sheet->appliance->marks[m].name);
    text_add(out, "\n");
}

bool drawing_rungs(const Appliance *appliance, int function, Arena *arena, TextBuilder *out, Error *error)
{
    Sheet sheet;
    if (!drawing__begin(&sheet, appliance, function, arena, error)) return false;
    for (int r = 0; r < sheet.rail_count; r++) add_feed(&sheet, &sheet.rails[r], out);
    for (int r = 0; r < sheet.row_count; r++) add_row(&sheet, &sheet.rows[r], out);
    if (sheet.has_function) add_live(&sheet, out);
    if (out->is_cut) return error_memory(error);
    return true;
}
