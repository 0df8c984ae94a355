/* symbols.c: which symbol stands for a branch, how it is drawn, what is written under it.
 *
 * Drawn after what is common in IEC 60617 and on the trade's ladder diagrams, from memory. Every symbol lies
 * on the x axis around 0; closed shapes take the fill of the group that they are put into.
 *
 * Which symbol it is follows from the branch's type, its part's role and, in two places, the name of a
 * kind; a new kind of part gets the symbol of its type without a line of code here. */
#include "format/drawing/drawing_private.h"

#include "base/quantity.h"

#include <assert.h>
#include <string.h>

typedef struct {
    int half;                  /* from its middle to where the wire begins */
    const char *open, *closed; /* closed NULL: looks the same */
} Shape;

/* Two terminals and a blade between them, thrown open or lying on both. */
#define BLADE(lever)                                                                                         \
    "<path d=\"M-11 0L9 -11\"/><circle cx=\"-11\" cy=\"0\" r=\"3\"/><circle cx=\"11\" cy=\"0\" r=\"3\"/>"    \
    "<path d=\"" lever "\" fill=\"none\"/>",                                                                 \
        "<circle cx=\"-11\" cy=\"0\" r=\"3\"/><circle cx=\"11\" cy=\"0\" r=\"3\"/>"                          \
        "<path d=\"M-13 -3.5H13\" stroke-width=\"2.4\"/><path d=\"" lever "\" fill=\"none\"/>"
#define THERMOMETER "M0 -6V-9M0 -17V-25M-2.5 -17.5V-25A2.5 2.5 0 0 1 2.5 -25V-17.5A4.5 4.5 0 1 1 -2.5 -17.5"

static const Shape shapes[SYMBOL_COUNT] = {
    [SYMBOL_HEATER] = {26,
                       "<rect x=\"-26\" y=\"-8\" width=\"52\" height=\"16\"/>"
                       "<path d=\"M-13 -8V8M0 -8V8M13 -8V8\"/>",
                       NULL},
    [SYMBOL_MOTOR] = {14,
                      "<circle cx=\"0\" cy=\"0\" r=\"14\"/><path d=\"M-5 6V-6L0 1L5 -6V6\" fill=\"none\"/>",
                      NULL},
    [SYMBOL_LAMP] = {12,
                     "<circle cx=\"0\" cy=\"0\" r=\"12\"/><path d=\"M-8.5 -8.5L8.5 8.5M-8.5 8.5L8.5 -8.5\"/>",
                     NULL},
    [SYMBOL_CONTROL] =
        {26,
         "<rect x=\"-26\" y=\"-13\" width=\"52\" height=\"26\"/>"
         "<g fill=\"none\"><circle cx=\"-5\" cy=\"0\" r=\"8\"/><circle cx=\"5\" cy=\"0\" r=\"8\"/></g>",
         NULL},
    [SYMBOL_LOAD] = {22, "<rect x=\"-22\" y=\"-8\" width=\"44\" height=\"16\"/>", NULL},
    [SYMBOL_SENSOR] = {22,
                       "<rect x=\"-22\" y=\"-7\" width=\"44\" height=\"14\"/>"
                       "<path d=\"M-18 13H-11L14 -13\" fill=\"none\"/>",
                       NULL},
    [SYMBOL_HAND] = {14, BLADE("M0 -6V-9M0 -12V-15M0 -18V-22M-6 -22H6")},
    [SYMBOL_DRIVEN] = {14, BLADE("M0 -6V-9M0 -12V-15M-8 -25H8V-17H-8Z")},
    [SYMBOL_THERMOSTAT] = {14, BLADE(THERMOMETER)},
    [SYMBOL_BREAKER] = {12,
                        "<path d=\"M-9 -3Q0 -16 9 -3\" fill=\"none\"/><circle cx=\"-9\" cy=\"0\" r=\"3\"/>"
                        "<circle cx=\"9\" cy=\"0\" r=\"3\"/>",
                        NULL},
    [SYMBOL_CUTOUT] = {14,
                       "<circle cx=\"-11\" cy=\"0\" r=\"3\"/><circle cx=\"11\" cy=\"0\" r=\"3\"/>"
                       "<path d=\"M-11 -3.5H-4L0 -7L4 -3.5H11\" fill=\"none\"/><path d=\"M0 -7" THERMOMETER
                       "\" fill=\"none\"/>",
                       NULL},
    [SYMBOL_FUSE] = {16, "<rect x=\"-16\" y=\"-6\" width=\"32\" height=\"12\"/><path d=\"M-16 0H16\"/>",
                     NULL},
    [SYMBOL_PLUG] = {9, "<path d=\"M-9 0H-4M-9 -6L-3 0L-9 6M-2 -6L4 0L-2 6M4 0H9\" fill=\"none\"/>", NULL},
    [SYMBOL_HARNESS] = {14,
                        "<path d=\"M-14 0H14\"/><ellipse cx=\"0\" cy=\"0\" rx=\"4\" ry=\"9\" fill=\"none\"/>",
                        NULL},
    [SYMBOL_BLOCK] = {5, "<circle cx=\"0\" cy=\"0\" r=\"5\"/><path d=\"M-6 6L6 -6\"/>", NULL},
    [SYMBOL_SOURCE] = {11,
                       "<circle cx=\"0\" cy=\"0\" r=\"11\"/><path d=\"M0 7C-5 3.5 -5 0 0 0S5 -3.5 0 -7\" "
                       "fill=\"none\"/>",
                       NULL},
    [SYMBOL_GROUND] = {0, "<path d=\"M0 -11V11M5 -7V7M10 -3V3\"/>", NULL},
    [SYMBOL_WIRE] = {0, "", NULL},
};

int drawing__symbol_half(Symbol symbol) { return shapes[symbol].half; }

/* What looks the same open and closed has one shape. */
const char *drawing__symbol_shape(Symbol symbol, bool is_closed)
{
    assert(symbol >= 0 && symbol < SYMBOL_COUNT && shapes[symbol].open);
    return is_closed && shapes[symbol].closed ? shapes[symbol].closed : shapes[symbol].open;
}

/* A part that must tell its temperature and is a contact switches by it. */
static Symbol symbol_of_contact(const Appliance *appliance, const Branch *branch)
{
    const char *senses = appliance->description->regulation.senses;
    if (branch->driver >= 0) return SYMBOL_DRIVEN;
    return text_equal(senses, appliance->parts[branch->part].name) ? SYMBOL_THERMOSTAT : SYMBOL_HAND;
}

/* Roles say what conducts; a part of no role that conducts between fixed terminals is there to cut out. The
 * kind that cuts out once only is known by its name in data/parts/kinds.yaml. */
static Symbol symbol_of_link(const Appliance *appliance, const Branch *branch)
{
    const Part *part = &appliance->parts[branch->part];
    if (!part->described) return SYMBOL_WIRE;
    if (branch->leg >= 0) return SYMBOL_SOURCE;
    if (text_equal(part->kind->role, "supply")) return SYMBOL_WIRE;
    if (text_equal(part->kind->role, "breaker")) return SYMBOL_BREAKER;
    if (text_equal(part->kind->role, "plug") || text_equal(part->kind->name, "cord")) return SYMBOL_PLUG;
    if (text_equal(part->kind->role, "wiring")) return SYMBOL_HARNESS;
    if (text_equal(part->kind->name, "one-shot-cutout")) return SYMBOL_FUSE;
    return part->kind->has_ways ? SYMBOL_BLOCK : SYMBOL_CUTOUT;
}

static Symbol symbol_of_load(const Appliance *appliance, int number)
{
    const Branch *branch = &appliance->branches[number];
    if (number == appliance->control_power) return SYMBOL_CONTROL;
    if (text_equal(appliance->parts[branch->part].kind->role, "lamp")) return SYMBOL_LAMP;
    return branch->reactance_ohm > 0 ? SYMBOL_MOTOR : SYMBOL_LOAD;
}

Symbol drawing__symbol(const Appliance *appliance, int number)
{
    const Branch *branch = &appliance->branches[number];
    switch (branch->type) {
    case BRANCH_HEATER: return SYMBOL_HEATER;
    case BRANCH_SENSOR: return SYMBOL_SENSOR;
    case BRANCH_LOAD: return symbol_of_load(appliance, number);
    case BRANCH_CONTACT: return symbol_of_contact(appliance, branch);
    default: return symbol_of_link(appliance, branch);
    }
}

/* --- labels --- */

/* 'bake-element' is written 'bake element'. */
static const char *plain_words(Arena *arena, const char *name)
{
    char *words = arena_copy_text(arena, name, strlen(name));
    for (char *at = words; at && *at; at++)
        if (*at == '-') *at = ' ';
    return words;
}

bool drawing__has_like_branches(const Appliance *appliance, int number)
{
    const Part *part = &appliance->parts[appliance->branches[number].part];
    int count = 0;
    for (int b = part->first_branch; b < part->first_branch + part->branch_count; b++)
        count += appliance->branches[b].type != BRANCH_GAP;
    return count > 1;
}

/* The figures a meter is held against: cold ohms of heaters and sensors, and what tells like branches of
 * one part apart. */
static void add_note(const Sheet *sheet, int number, TextBuilder *note)
{
    const Branch *branch = &sheet->appliance->branches[number];
    const bool has_rating = branch->rated_volt > 0;
    char ohm[32], volt[32];
    quantity_format(branch->cold_ohm, UNIT_OHM, ohm, sizeof ohm);
    quantity_format(branch->rated_volt, UNIT_VOLT, volt, sizeof volt);
    if (branch->type == BRANCH_HEATER && has_rating) text_addf(note, "%.0f W, ", branch->rated_watt);
    if (branch->type == BRANCH_HEATER) text_addf(note, "%s cold", ohm);
    if (branch->type == BRANCH_SENSOR) text_addf(note, "%s at 20 C", ohm);
    if (branch->type != BRANCH_HEATER && drawing__has_like_branches(sheet->appliance, number))
        text_addf(note, "%s%s", branch->name, has_rating ? ", " : "");
    if (branch->type == BRANCH_LOAD && has_rating) text_add(note, volt);
}

/* Wires carry no label: their ends do. */
bool drawing__find_labels(Sheet *sheet, Error *error)
{
    const Appliance *appliance = sheet->appliance;
    sheet->labels = ARENA_ARRAY(sheet->arena, Label, (size_t)appliance->branch_count);
    if (!sheet->labels) return error_memory(error);
    for (int b = 0; b < appliance->branch_count; b++) {
        const Part *part = &appliance->parts[appliance->branches[b].part];
        TextBuilder note = text_builder(sheet->arena, 4000);
        sheet->labels[b] = (Label){"", ""};
        if (!part->described) continue;
        add_note(sheet, b, &note);
        sheet->labels[b] = (Label){plain_words(sheet->arena, part->name), text_string(&note)};
        if (!sheet->labels[b].name || note.is_cut) return error_memory(error);
    }
    return true;
}
