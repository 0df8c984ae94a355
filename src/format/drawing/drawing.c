/* drawing.c: the page: head, caution, ladder, what is not wired, legend; see drawing.h.
 *
 * The frame of the document can be written only when its height is known: what lies inside comes first, into
 * a text of its own.
 *
 * One file without anything outside it: no fonts, no scripts, no links, so it prints and travels. Captions
 * come from the caller in the reader's language; names of parts and marks are those of the appliance's
 * file. */
#include "format/drawing/drawing_private.h"

#include "base/quantity.h"

#include <assert.h>

enum { SVG_LIMIT = 16 << 20, TITLE_SIZE = 18, LEFT = LEFT_RAIL - 30 };

static const char *const keys[CAPTION_COUNT] = {
#define X(code, key) key,
    DRAWING_CAPTION_LIST(X)
#undef X
};

const char *drawing_caption_key(Caption caption)
{
    assert(caption >= 0 && caption < CAPTION_COUNT);
    return keys[caption];
}

/* 'Appliance: range. Supply: split-phase, 240 V, 60 Hz; 120 V between a leg and the neutral' */
static void say_supply(const Sheet *sheet, const DrawingCaptions *captions, TextBuilder *line)
{
    const DescribedSupply *supply = &sheet->appliance->description->supply;
    char volt[32], leg[32];
    quantity_format(supply->volt, UNIT_VOLT, volt, sizeof volt);
    quantity_format(sheet->appliance->leg_volt[0], UNIT_VOLT, leg, sizeof leg);
    text_addf(line, "%s: %s. %s: %s, %s, %g Hz", captions->text[CAPTION_KIND], sheet->appliance->name,
              captions->text[CAPTION_SUPPLY], description_supply_name(supply->system), volt, supply->hertz);
    if (supply->leg_count > 1) text_addf(line, "; %s %s", leg, captions->text[CAPTION_LEG]);
}

static void say_function(const Sheet *sheet, const DrawingCaptions *captions, TextBuilder *line)
{
    if (!sheet->has_function) {
        text_add(line, captions->text[CAPTION_NO_FUNCTION]);
        return;
    }
    const Function *function = &sheet->appliance->functions[sheet->function];
    text_addf(line, "%s '%s'", captions->text[CAPTION_FUNCTION], function->name);
    if (function->says && !text_equal(function->says, function->name))
        text_addf(line, ": %s", function->says);
}

/* Marks that no branch joins: they exist, but there is nothing to draw between them. */
static void say_loose(const Sheet *sheet, const DrawingCaptions *captions, TextBuilder *line)
{
    for (int m = 1; m < sheet->appliance->mark_count; m++) {
        if (sheet->row_of[m] >= 0 || sheet->rank[m] != RANK_NONE) continue;
        text_addf(line, "%s%s", line->length ? ", " : captions->text[CAPTION_LOOSE], line->length ? "" : " ");
        text_add(line, sheet->appliance->marks[m].name);
    }
}

/* Returns the y below it, as all parts of the page do. The caution stands in a frame of its own above the
 * wiring: no drawing leaves without it. */
static int add_head(const Sheet *sheet, const DrawingCaptions *captions, int y, TextBuilder *out)
{
    TextBuilder supply = text_builder(sheet->arena, 4000), function = text_builder(sheet->arena, 4000);
    const int width = sheet->width - 2 * LEFT;
    say_supply(sheet, captions, &supply);
    say_function(sheet, captions, &function);
    text_add(out, "<g font-weight=\"bold\">\n");
    y = drawing__add_wrapped(out, LEFT, y, width, TITLE_SIZE, sheet->appliance->description->says);
    text_add(out, "</g>\n");
    y = drawing__add_wrapped(out, LEFT, y, width, 12, text_string(&supply));
    text_add(out, "<g font-weight=\"bold\">\n");
    y = drawing__add_wrapped(out, LEFT, y + 2, width, 12, text_string(&function));
    text_add(out, "</g>\n");
    const int top = y - 6;
    TextBuilder caution = text_builder(sheet->arena, 8000);
    y = drawing__add_wrapped(&caution, LEFT + 12, top + 19, width - 24, 12, captions->text[CAPTION_CAUTION]);
    text_addf(out, "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" stroke-width=\"2\"/>\n%s", LEFT, top,
              width, y - 8 - top, text_string(&caution));
    return y + 16;
}

static int add_foot(const Sheet *sheet, const DrawingCaptions *captions, int y, TextBuilder *out)
{
    TextBuilder loose = text_builder(sheet->arena, 4000);
    say_loose(sheet, captions, &loose);
    if (loose.length)
        y = drawing__add_wrapped(out, LEFT, y, sheet->width - 2 * LEFT, TEXT_SIZE, text_string(&loose)) + 10;
    text_addf(out, "<path d=\"M%d %dH%d\" stroke-width=\"0.8\"/>\n", LEFT, y, sheet->width - LEFT);
    return drawing__add_legend(sheet, captions, y + 14, out);
}

/* <title> and <desc> are what a screen reader says; the second is the ladder as text. */
static void add_document(const Sheet *sheet, int height, const char *rungs, const char *inside,
                         TextBuilder *out)
{
    text_addf(out,
              "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\" "
              "role=\"img\" font-family=\"sans-serif\">\n<title>",
              sheet->width, height, sheet->width, height);
    drawing__add_escaped(out, sheet->appliance->description->says);
    if (sheet->has_function) {
        text_add(out, ", ");
        drawing__add_escaped(out, sheet->appliance->functions[sheet->function].name);
    }
    text_add(out, "</title>\n<desc>\n");
    for (const char *at = rungs; *at; at++) /* its lines stay lines */
        *at == '\n' ? text_add(out, "\n") : drawing__add_escaped(out, (char[]){*at, '\0'});
    text_addf(
        out,
        "</desc>\n<rect x=\"0\" y=\"0\" width=\"%d\" height=\"%d\" fill=\"#ffffff\"/>\n"
        "<style>text{stroke:none;fill:#26262b}</style>\n"
        "<g fill=\"none\" stroke=\"#26262b\" stroke-width=\"1.4\" stroke-linecap=\"butt\">\n%s</g>\n</svg>\n",
        sheet->width, height, inside);
}

bool drawing_svg(const Appliance *appliance, int function, const DrawingCaptions *captions, Arena *arena,
                 TextBuilder *out, Error *error)
{
    return drawing_svg_probed(appliance, function, NULL, captions, arena, out, error);
}

bool drawing_svg_probed(const Appliance *appliance, int function, const bool *is_probed,
                        const DrawingCaptions *captions, Arena *arena, TextBuilder *out, Error *error)
{
    Sheet sheet;
    TextBuilder inside = text_builder(arena, SVG_LIMIT), rungs = text_builder(arena, SVG_LIMIT);
    if (!drawing_rungs(appliance, function, arena, &rungs, error) ||
        !drawing__begin(&sheet, appliance, function, arena, error) || !drawing__lay_out(&sheet, 0, error))
        return false;
    /* The head's height depends on the width, so the ladder is laid out a second time below it. */
    TextBuilder head = text_builder(arena, SVG_LIMIT);
    const int top = add_head(&sheet, captions, 36, &head);
    if (!drawing__lay_out(&sheet, top, error)) return false;
    text_add(&inside, text_string(&head));
    sheet.is_probed = is_probed;
    drawing__add_feeds(&sheet, &inside);
    drawing__add_rows(&sheet, &inside);
    const int height = add_foot(&sheet, captions, sheet.height, &inside);
    add_document(&sheet, height, text_string(&rungs), text_string(&inside), out);
    if (inside.is_cut || rungs.is_cut || out->is_cut) return error_memory(error);
    return true;
}
