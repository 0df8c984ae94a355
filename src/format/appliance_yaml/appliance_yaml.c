/* appliance_yaml.c: one appliance file as rows, and the two public readings.
 *
 * Lives here: supply, places, wires, functions, regulation and thermal data of an appliance, each a table
 * of rows; the order of reading. Not here: parts (parts_yaml.c), kinds (kinds_yaml.c), words
 * (words_yaml.c), what any of it means (core/appliance).
 *
 * How the work is shared: this room says where in the file something stands that cannot be right by itself
 * (a unit, a range, a missing key); core/appliance says what does not fit together (a wire to a mark that
 * no part has). Both carry the line, so the author need not know which of them spoke.
 *
 * Limits beside the rows are for slips of the pen. Nothing that can be bought comes near them. */
#include "format/appliance_yaml/appliance_yaml_private.h"

#include <assert.h>
#include <string.h>

static const double MOST_SECOND = 86400; /* a day: nothing on a call takes longer */

/* The names are the core's own, so that a new system of supply is one row there and none here. */
static bool read_system(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                        Error *error)
{
    (void)field;
    const char *names[SUPPLY_SYSTEM_COUNT + 1] = {0};
    for (int i = 0; i < SUPPLY_SYSTEM_COUNT; i++) names[i] = description_supply_name((SupplySystem)i);
    int system = 0;
    if (!yaml_read_word(reader, node, names, &system, error)) return false;
    *(SupplySystem *)into = (SupplySystem)system;
    return true;
}

/* One leg or two, by the system. */
static bool read_legs(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    DescribedSupply *supply = into;
    const int count = supply->system == SUPPLY_SINGLE_PHASE ? 1 : 2;
    if (!yaml_need_list(reader, node, count,
                        count == 1 ? "a list of one mark, like [L]" : "a list of two marks, like [L1, L2]",
                        error))
        return false;
    for (const YamlNode *child = node->first; child; child = child->next)
        if (!yaml_read_name(reader, child, &supply->legs[supply->leg_count++], error)) return false;
    if (count == 1 || !text_equal(supply->legs[0], supply->legs[1])) return true;
    return yaml_refuse(reader, node, ERROR_INCONSISTENT, error, "two different marks");
}

/* 'system' stands before 'legs', which depends on it. */
static const YamlField supply_fields[] = {
    {"system", YAML_AS_FUNCTION, .is_required = true, .offset = offsetof(DescribedSupply, system),
     .function = read_system},
    {"volts", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(DescribedSupply, volt),
     .unit = UNIT_VOLT, .least = 50, .most = 500},
    {"hertz", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(DescribedSupply, hertz),
     .unit = UNIT_HERTZ, .least = 40, .most = 70},
    {"legs", YAML_AS_FUNCTION, .is_required = true, .function = read_legs},
    {"neutral", YAML_AS_NAME, .is_required = true, .offset = offsetof(DescribedSupply, neutral)},
    {"frame", YAML_AS_NAME, .is_required = true, .offset = offsetof(DescribedSupply, frame)},
    {"breaker", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(DescribedSupply, breaker_ampere),
     .unit = UNIT_AMPERE, .least = 1, .most = 200},
};

/* The line is that of the key, where messages of the building send the reader. */
static const YamlSchema supply_schema = {
    .what = "supply",
    .fields = supply_fields,
    .field_count = ROWS(supply_fields),
    .has_line = true,
    .line_offset = offsetof(DescribedSupply, line),
};

/* 'power: off' and 'oven: cool' are the only values, since the other is what a place has when it says
 * nothing. */
static bool read_need(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    int word = 0;
    if (!yaml_read_word(reader, node, field->words, &word, error)) return false;
    *(bool *)into = true;
    return true;
}

static const char *const power_needs[] = {"off", NULL}, *const oven_needs[] = {"cool", NULL};

/* behind: {open: 5min, close: 4min, power: off}. A place without minutes costs nothing to open, as the
 * kitchen; whether 'after' names a place above it, the building asks. */
static const YamlField place_fields[] = {
    {"open", YAML_AS_NUMBER, .offset = offsetof(DescribedPlace, open_second), .unit = UNIT_SECOND,
     .most = 86400},
    {"close", YAML_AS_NUMBER, .offset = offsetof(DescribedPlace, close_second), .unit = UNIT_SECOND,
     .most = 86400},
    {"power", YAML_AS_FUNCTION, .offset = offsetof(DescribedPlace, needs_power_off), .words = power_needs,
     .function = read_need},
    {"oven", YAML_AS_FUNCTION, .offset = offsetof(DescribedPlace, needs_cool_oven), .words = oven_needs,
     .function = read_need},
    {"after", YAML_AS_NAME, .offset = offsetof(DescribedPlace, after)},
};

static const YamlSchema place_schema = {
    .what = "a place",
    .size = sizeof(DescribedPlace),
    .fields = place_fields,
    .field_count = ROWS(place_fields),
    .has_name = true,
    .name_offset = offsetof(DescribedPlace, name),
    .has_line = true,
    .line_offset = offsetof(DescribedPlace, line),
};

/* A list of pairs rather than a mapping, since a mark may have any number of wires. Each wire keeps its line:
 * it becomes a part with faults of its own. */
static bool read_wires(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    Description *description = into;
    if (!yaml_need_list(reader, node, 0, "a list of wires, each like [L1, K1]", error)) return false;
    DescribedWire *wires = ARENA_ARRAY(reader->arena, DescribedWire, (size_t)node->count);
    if (!wires) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next) {
        DescribedWire *wire = &wires[description->wire_count++];
        const char *marks[2];
        if (!appliance_yaml__read_marks(reader, child, 2, marks, error)) return false;
        *wire = (DescribedWire){.from = marks[0], .to = marks[1], .line = child->line};
        if (text_equal(wire->from, wire->to))
            return yaml_refuse(reader, child->first->next, ERROR_INCONSISTENT, error,
                               "a wire between two different marks");
    }
    description->wires = wires;
    return true;
}

/* One contact's share of the pattern, `bake-relay: 0s..51s`: it is closed from the one second to the other of
 * each period. Whether the name is a contact, the building asks. */
static bool read_duty(const YamlReader *reader, const YamlNode *node, double period_second,
                      DescribedDuty *duty, Error *error)
{
    const YamlNode key = yaml_key(node);
    if (!yaml_read_name(reader, &key, &duty->contact, error)) return false;
    if (!yaml_read_range(reader, node, UNIT_SECOND, &duty->from_second, &duty->to_second, error))
        return false;
    if (duty->from_second >= 0 && duty->from_second < duty->to_second && duty->to_second <= period_second)
        return true;
    char period[40];
    quantity_format(period_second, UNIT_SECOND, period, sizeof period);
    return yaml_refuse(reader, node, ERROR_OUT_OF_RANGE, error, "times from 0s to the pattern's %s", period);
}

/* {every: 60s, bake-relay: 0s..51s}: 'every' is a key of its own, all others are contacts. */
static bool read_pattern(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    (void)field;
    DescribedPattern *pattern = into;
    if (!yaml_need_mapping(reader, node, "a pattern", error)) return false;
    /* The period first, wherever it stands: every other value is held against it. */
    const YamlNode *every = yaml_child(node, "every");
    if (!every)
        return yaml_refuse(reader, node, ERROR_MISSING, error, "'every', the time after which it repeats");
    if (!yaml_read_number(reader, every, UNIT_SECOND, 1, MOST_SECOND, &pattern->period_second, error))
        return false;
    DescribedDuty *duties = ARENA_ARRAY(reader->arena, DescribedDuty, (size_t)node->count);
    if (!duties) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next)
        if (child != every &&
            !read_duty(reader, child, pattern->period_second, &duties[pattern->duty_count++], error))
            return false;
    pattern->duties = duties;
    return true;
}

/* A function that closes nothing is allowed: it is what 'off' is. */
static const YamlField function_fields[] = {
    {"says", YAML_AS_TEXT, .offset = offsetof(DescribedFunction, says)},
    {"closes", YAML_AS_NAMES, .offset = offsetof(DescribedFunction, closes),
     .count_offset = offsetof(DescribedFunction, close_count)},
    {"pattern", YAML_AS_FUNCTION, .offset = offsetof(DescribedFunction, pattern), .function = read_pattern},
    {"preheat", YAML_AS_FUNCTION, .offset = offsetof(DescribedFunction, preheat), .function = read_pattern},
};

static const YamlSchema function_schema = {
    .what = "a function",
    .size = sizeof(DescribedFunction),
    .fields = function_fields,
    .field_count = ROWS(function_fields),
    .has_name = true,
    .name_offset = offsetof(DescribedFunction, name),
    .has_line = true,
    .line_offset = offsetof(DescribedFunction, line),
};

/* All three are differences: -35F is 19.4 kelvin lower, not a temperature below freezing. An offset range
 * always holds 0, the setting it leaves the factory with. */
static const YamlField offset_fields[] = {
    {"from", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(DescribedRegulation, offset_from_kelvin),
     .unit = UNIT_KELVIN, .least = -100, .most = 0},
    {"to", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(DescribedRegulation, offset_to_kelvin),
     .unit = UNIT_KELVIN, .least = 0, .most = 100},
    {"step", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(DescribedRegulation, offset_step_kelvin),
     .unit = UNIT_KELVIN, .least = 0.01, .most = 100},
};

/* It reads into the regulation itself, whose offset is three of its fields. */
static const YamlSchema offset_schema = {
    .what = "an offset", .fields = offset_fields, .field_count = ROWS(offset_fields)};

/* An oven may be without an offset; its range is then 0 to 0. */
static const YamlField regulation_fields[] = {
    {"senses", YAML_AS_NAME, .is_required = true, .offset = offsetof(DescribedRegulation, senses)},
    {"differential", YAML_AS_NUMBER, .is_required = true,
     .offset = offsetof(DescribedRegulation, differential_kelvin), .unit = UNIT_KELVIN, .least = 0.01,
     .most = 100},
    {"cycles", YAML_AS_NAMES, .offset = offsetof(DescribedRegulation, cycles),
     .count_offset = offsetof(DescribedRegulation, cycle_count)},
    {"offset", YAML_AS_STRUCT, .schema = &offset_schema},
};

static const YamlSchema regulation_schema = {
    .what = "regulation",
    .fields = regulation_fields,
    .field_count = ROWS(regulation_fields),
    .has_line = true,
    .line_offset = offsetof(DescribedRegulation, line),
};

/* 'cavity.width' in the arena. */
static const char *join_names(Arena *arena, const char *group, const char *name)
{
    TextBuilder joined = text_builder(arena, 2 * YAML_LONGEST_NAME + 1);
    text_addf(&joined, "%s.%s", group, name);
    return joined.is_cut ? NULL : text_string(&joined);
}

/* Any unit may stand here but money: which quantity a name needs, only the room that uses it knows. */
static bool read_thermal_number(const YamlReader *reader, const YamlNode *group, const YamlNode *node,
                                DescribedNumber *number, Error *error)
{
    const char *names[2];
    Quantity quantity;
    if (!yaml_read_key(reader, group, &names[0], error)) return false;
    if (!yaml_read_key(reader, node, &names[1], error)) return false;
    if (!yaml_read_quantity(reader, node, &quantity, error)) return false;
    if (quantity.is_over || quantity.unit == UNIT_MONEY)
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "a length, mass, volume or plain number");
    number->name = join_names(reader->arena, names[0], names[1]);
    number->value = quantity.value;
    number->line = node->line;
    return number->name || error_memory(error);
}

/* Two levels, {cavity: {width: 610mm}}, into one list of 'cavity.width'. */
static bool read_thermal(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    (void)field;
    Description *description = into;
    size_t count = 0;
    if (!yaml_need_mapping(reader, node, "thermal data", error)) return false;
    for (const YamlNode *group = node->first; group; group = group->next) {
        if (!yaml_need_mapping(reader, group, "a group of thermal data", error)) return false;
        count += (size_t)group->count;
    }
    DescribedNumber *numbers = ARENA_ARRAY(reader->arena, DescribedNumber, count);
    if (!numbers) return error_memory(error);
    for (const YamlNode *group = node->first; group; group = group->next)
        for (const YamlNode *child = group->first; child; child = child->next)
            if (!read_thermal_number(reader, group, child, &numbers[description->thermal_count++], error))
                return false;
    assert((size_t)description->thermal_count == count);
    description->thermal = numbers;
    return true;
}

/* Three capitals are ISO 4217's form of a currency; the list of currencies is left to the prices. */
static bool read_currency(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                          Error *error)
{
    (void)field;
    const char **currency = into;
    if (!yaml_read_text(reader, node, currency, error)) return false;
    size_t capitals = 0;
    while ((*currency)[capitals] >= 'A' && (*currency)[capitals] <= 'Z') capitals++;
    if (capitals == 3 && (*currency)[3] == '\0') return true;
    return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "three capitals, like USD");
}

/* 'currency' stands before 'parts', whose prices depend on it. */
static const YamlField description_fields[] = {
    {"appliance", YAML_AS_NAME, .is_required = true, .offset = offsetof(Description, name)},
    {"says", YAML_AS_TEXT, .is_required = true, .offset = offsetof(Description, says)},
    {"currency", YAML_AS_FUNCTION, .is_required = true, .offset = offsetof(Description, currency),
     .function = read_currency},
    {"supply", YAML_AS_STRUCT, .is_required = true, .offset = offsetof(Description, supply),
     .schema = &supply_schema},
    {"places", YAML_AS_STRUCTS, .is_required = true, .offset = offsetof(Description, places),
     .count_offset = offsetof(Description, place_count), .schema = &place_schema},
    {"parts", YAML_AS_STRUCTS, .is_required = true, .offset = offsetof(Description, parts),
     .count_offset = offsetof(Description, part_count), .schema = &appliance_yaml__part},
    {"wires", YAML_AS_FUNCTION, .is_required = true, .function = read_wires},
    {"functions", YAML_AS_STRUCTS, .is_required = true, .offset = offsetof(Description, functions),
     .count_offset = offsetof(Description, function_count), .schema = &function_schema},
    {"regulation", YAML_AS_STRUCT, .is_required = true, .offset = offsetof(Description, regulation),
     .schema = &regulation_schema},
    {"thermal", YAML_AS_FUNCTION, .function = read_thermal},
};

static const YamlSchema description_schema = {
    .what = "an appliance", .fields = description_fields, .field_count = ROWS(description_fields)};

/* The context of the reader is the description itself: prices are held against its currency. */
bool appliance_yaml_read(const char *file, Text bytes, Arena *arena, Description *description, Error *error)
{
    *description = (Description){0};
    description->file = arena_copy_text(arena, file, strlen(file));
    if (!description->file) return error_memory(error);
    const YamlReader reader = {.file = file, .arena = arena, .context = description};
    const YamlNode *root;
    if (!yaml_read_tree(file, bytes, arena, &root, error)) return false;
    return yaml_read_struct(&reader, root, &description_schema, description, error);
}

/* A file of the catalogue and what reads its rows; they stand in `catalogue` afterwards. */
typedef bool ReadRows(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue, Error *error);

static bool read_file_of_catalogue(const char *file, Text bytes, ReadRows *read_rows, Arena *arena,
                                   Catalogue *catalogue, Error *error)
{
    const YamlReader reader = {.file = file, .arena = arena, .context = catalogue};
    const YamlNode *root;
    return yaml_read_tree(file, bytes, arena, &root, error) && read_rows(&reader, root, catalogue, error);
}

/* Words before kinds: kinds name looks. */
bool catalogue_yaml_read(const CatalogueFiles *files, Arena *arena, Catalogue *catalogue, Error *error)
{
    *catalogue = (Catalogue){0};
    return read_file_of_catalogue(files->materials_file, files->materials, appliance_yaml__read_materials,
                                  arena, catalogue, error) &&
           read_file_of_catalogue(files->words_file, files->words, appliance_yaml__read_words, arena,
                                  catalogue, error) &&
           read_file_of_catalogue(files->kinds_file, files->kinds, appliance_yaml__read_kinds, arena,
                                  catalogue, error);
}
