/* parts_yaml.c: the parts of one appliance.
 *
 * Lives here: the rows of a part. Each numeric property is a row with its own unit, so that `watts: 240V` is
 * refused where it stands; whether the part's kind has that property, core/appliance knows.
 * Not here: kinds of parts (kinds_yaml.c), the rest of an appliance file (appliance_yaml.c).
 *
 * What is left open on purpose: names of kinds, places, drivers and marks are kept as text. They can only
 * be found when everything has been read, in whichever order the file has it. */
#include "format/appliance_yaml/appliance_yaml_private.h"

#include <assert.h>

/* As many as there are rows of properties below; reading more is a defect of the table. */
enum { MOST_NUMBERS = 12 };

static const char *const heats_words[] = {"bottom", "top", "ring", NULL};

bool appliance_yaml__read_marks(const YamlReader *reader, const YamlNode *node, int count, const char **marks,
                                Error *error)
{
    if (!yaml_need_list(reader, node, count, "a list of two marks, like [L1, K1]", error)) return false;
    int at = 0;
    for (const YamlNode *child = node->first; child; child = child->next)
        if (!yaml_read_name(reader, child, &marks[at++], error)) return false;
    assert(at == count);
    return true;
}

/* {L1: [C1, B1], L2: [C2, B2]} */
static bool read_ways(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    DescribedPart *part = into;
    if (!yaml_need_mapping(reader, node, "ways with their two marks", error)) return false;
    DescribedWay *ways = ARENA_ARRAY(reader->arena, DescribedWay, (size_t)node->count);
    if (!ways) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next) {
        DescribedWay *way = &ways[part->way_count++];
        const char *marks[2];
        way->line = child->key_line;
        if (!yaml_read_key(reader, child, &way->name, error)) return false;
        if (!appliance_yaml__read_marks(reader, child, 2, marks, error)) return false;
        way->from = marks[0];
        way->to = marks[1];
    }
    part->ways = ways;
    return true;
}

/* Any of the rows of numbers below: appended to the part's list under the row's key. */
static bool read_property(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                          Error *error)
{
    DescribedPart *part = into;
    if (!part->numbers) part->numbers = ARENA_ARRAY(reader->arena, DescribedNumber, MOST_NUMBERS);
    if (!part->numbers) return error_memory(error);
    assert(part->number_count < MOST_NUMBERS);
    DescribedNumber *number = (DescribedNumber *)&part->numbers[part->number_count++];
    number->name = field->key;
    number->line = node->line;
    return yaml_read_number(reader, node, field->unit, field->least, field->most, &number->value, error);
}

/* How a sensor is spelled, core/sensor knows; the command line reads it with the same words. */
static bool read_sensor(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                        Error *error)
{
    (void)field;
    DescribedPart *part = into;
    const char *text;
    if (!yaml_read_text(reader, node, &text, error)) return false;
    if (!sensor_read_kind(text_of(text), &part->sensor, error)) return yaml_place(reader, node, error);
    part->has_sensor = true;
    return true;
}

/* Money must be in the currency that the file names at its top; the context is the description. */
static bool read_price(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    const Description *description = reader->context;
    Quantity price;
    if (!yaml_read_quantity(reader, node, &price, error)) return false;
    if (price.unit != UNIT_MONEY || !text_equal(price.currency, description->currency))
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "an amount in %s, like 25%s",
                           description->currency, description->currency);
    if (price.value < field->least || price.value > field->most)
        return yaml_refuse(reader, node, ERROR_OUT_OF_RANGE, error,
                           "an amount that is not negative and not huge");
    /* Minor units are whole; a fraction of a cent in the file is rounded to the nearest. */
    *(long long *)into = (long long)(price.value + 0.5);
    return true;
}

/* Limits catch a slipped unit or a lost decimal point (2500kW), not a bold design. A price may be 0, for what
 * a van carries anyway. */
static const YamlField part_fields[] = {
    {"kind", YAML_AS_NAME, .is_required = true, .offset = offsetof(DescribedPart, kind)},
    {"watts", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_WATT, .least = 0.1, .most = 2e4},
    {"volts", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_VOLT, .least = 1, .most = 1000},
    {"ohm", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_OHM, .least = 1e-3, .most = 1e9},
    {"reactance", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_OHM, .least = 0, .most = 1e6},
    {"trips", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_CELSIUS, .least = 50, .most = 800},
    {"resets", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_CELSIUS, .least = 0, .most = 800},
    {"sensor-from", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_OHM, .least = 0, .most = 1e9},
    {"sensor-to", YAML_AS_FUNCTION, .function = read_property, .unit = UNIT_OHM, .least = 0, .most = 1e9},
    {"says", YAML_AS_TEXT, .offset = offsetof(DescribedPart, says)},
    {"reach", YAML_AS_NAME, .offset = offsetof(DescribedPart, reach)},
    {"seen", YAML_AS_NAME, .offset = offsetof(DescribedPart, seen)},
    {"ways", YAML_AS_FUNCTION, .function = read_ways},
    {"terminals", YAML_AS_NAMES, .offset = offsetof(DescribedPart, terminals),
     .count_offset = offsetof(DescribedPart, terminal_count)},
    {"heats", YAML_AS_CHOICE, .offset = offsetof(DescribedPart, heats), .words = heats_words},
    {"sensor", YAML_AS_FUNCTION, .function = read_sensor},
    {"driver", YAML_AS_NAME, .offset = offsetof(DescribedPart, driver)},
    {"plate", YAML_AS_NAME, .offset = offsetof(DescribedPart, plate)},
    {"hidden", YAML_AS_YES, .offset = offsetof(DescribedPart, is_hidden)},
    {"replaced-with", YAML_AS_NAME, .offset = offsetof(DescribedPart, replaced_with)},
    {"price", YAML_AS_FUNCTION, .offset = offsetof(DescribedPart, price_minor), .function = read_price,
     .least = 0, .most = 1e9},
    {"replace", YAML_AS_NUMBER, .offset = offsetof(DescribedPart, replace_second), .unit = UNIT_SECOND,
     .least = 0, .most = 86400},
};

const YamlSchema appliance_yaml__part = {
    .what = "a part",
    .size = sizeof(DescribedPart),
    .fields = part_fields,
    .field_count = ROWS(part_fields),
    .has_name = true,
    .name_offset = offsetof(DescribedPart, name),
    .has_line = true,
    .line_offset = offsetof(DescribedPart, line),
};
