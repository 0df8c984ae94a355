/* call_yaml.c: the head of a call file, and the two public readings.
 *
 * Lives here: title, appliance, rating plate, ambient, meter. Not here: entries (entry_yaml.c).
 *
 * Why two readings: the plate in the head decides what the appliance is, and the appliance decides what the
 * marks and words in the entries are. So the head is read, the appliance is built by whoever called, and
 * the file is read once more. Twice a few kilobytes is nothing; half a call in memory would be a state to
 * look after. */
#include "format/call_yaml/call_yaml_private.h"

#include <string.h>

static const double ROOM_CELSIUS = 22; /* where a call says nothing of the kitchen */

/* The call, and its entries before they are read. */
typedef struct {
    Call call;
    const YamlNode *entries;
} WrittenCall;

/* What unit a figure needs depends on the part, so the building asks; that it has one is asked here. */
static bool read_figure(const YamlReader *reader, const YamlNode *node, Quantity *figure, Error *error)
{
    if (!yaml_read_quantity(reader, node, figure, error)) return false;
    if (figure->unit != UNIT_NONE) return true;
    return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "a figure with its unit, like 2500W or 240V");
}

/* A rating plate gives figures, and the name of a sensor; only the latter starts with a letter. */
static bool read_plate_entry(const YamlReader *reader, const YamlNode *node, PlateEntry *entry, Error *error)
{
    const char *text;
    entry->line = node->line;
    if (!yaml_read_key(reader, node, &entry->key, error)) return false;
    if (!yaml_read_text(reader, node, &text, error)) return false;
    const bool is_word = (text[0] >= 'a' && text[0] <= 'z') || (text[0] >= 'A' && text[0] <= 'Z');
    if (!is_word) return read_figure(reader, node, &entry->figure, error);
    entry->has_sensor = true;
    return sensor_read_kind(text_of(text), &entry->sensor, error) || yaml_place(reader, node, error);
}

/* Whether a key is one of the appliance's, the building asks: the head is read before there is an appliance.
 */
static bool read_plate(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    Call *call = into;
    if (!yaml_need_mapping(reader, node, "the figures of a rating plate", error)) return false;
    PlateEntry *plate = ARENA_ARRAY(reader->arena, PlateEntry, (size_t)node->count);
    if (!plate) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next)
        if (!read_plate_entry(reader, child, &plate[call->plate_count++], error)) return false;
    call->plate = plate;
    return true;
}

static bool read_accuracy(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                          Error *error)
{
    (void)field;
    const char *text;
    if (!yaml_read_text(reader, node, &text, error)) return false;
    return meter_read_accuracy(text_of(text), into, error) || yaml_place(reader, node, error);
}

/* `meter: {ohm: 0.8%+3}`: what is not given stays as meter_default has it, ranges and counts always do. */
static const YamlField meter_fields[] = {
    {"ohm", YAML_AS_FUNCTION, .offset = offsetof(Meter, dial[METER_OHM].accuracy), .function = read_accuracy},
    {"volt", YAML_AS_FUNCTION, .offset = offsetof(Meter, dial[METER_VOLT].accuracy),
     .function = read_accuracy},
    {"amp", YAML_AS_FUNCTION, .offset = offsetof(Meter, dial[METER_AMPERE].accuracy),
     .function = read_accuracy},
    {"celsius", YAML_AS_FUNCTION, .offset = offsetof(Meter, dial[METER_CELSIUS].accuracy),
     .function = read_accuracy},
    {"leads", YAML_AS_NUMBER, .offset = offsetof(Meter, lead_ohm), .unit = UNIT_OHM, .least = 0, .most = 10},
};

static const YamlSchema meter_schema = {
    .what = "a meter", .fields = meter_fields, .field_count = ROWS(meter_fields)};

/* The appliance is text and not a name, since it may be a path. */
static const YamlField call_fields[] = {
    {"call", YAML_AS_TEXT, .is_required = true, .offset = offsetof(WrittenCall, call.title)},
    {"appliance", YAML_AS_TEXT, .is_required = true, .offset = offsetof(WrittenCall, call.appliance_name)},
    {"plate", YAML_AS_FUNCTION, .offset = offsetof(WrittenCall, call), .function = read_plate},
    {"ambient", YAML_AS_NUMBER, .offset = offsetof(WrittenCall, call.ambient_celsius), .unit = UNIT_CELSIUS,
     .least = -40, .most = 60},
    {"meter", YAML_AS_STRUCT, .offset = offsetof(WrittenCall, call.meter), .schema = &meter_schema},
    {"entries", YAML_AS_NODE, .offset = offsetof(WrittenCall, entries)},
};

static const YamlSchema call_schema = {
    .what = "a call", .fields = call_fields, .field_count = ROWS(call_fields)};

/* All of the file as a tree, and its head into the call; the entries are left as they stand. */
static bool read_head(const YamlReader *reader, Text bytes, WrittenCall *written, Error *error)
{
    *written = (WrittenCall){.call = {.ambient_celsius = ROOM_CELSIUS, .meter = meter_default()}};
    const YamlNode *root;
    if (!yaml_read_tree(reader->file, bytes, reader->arena, &root, error)) return false;
    return yaml_read_struct(reader, root, &call_schema, written, error);
}

/* Entries are not looked at, so a slip in one of them is reported when there is an appliance to report it
 * against. */
bool call_yaml_read_head(const char *file, Text bytes, Arena *arena, Call *call, Error *error)
{
    const YamlReader reader = {.file = file, .arena = arena};
    WrittenCall written;
    if (!read_head(&reader, bytes, &written, error)) return false;
    *call = written.call;
    return true;
}

/* A call without entries is one that has just been opened: the plan then says what to do first. */
bool call_yaml_read(const char *file, Text bytes, const Appliance *appliance, Arena *arena, Call *call,
                    Error *error)
{
    const YamlReader reader = {.file = file, .arena = arena, .context = appliance};
    WrittenCall written;
    if (!read_head(&reader, bytes, &written, error)) return false;
    *call = written.call;
    return !written.entries || call_yaml__read_entries(&reader, written.entries, call, error);
}

/* The entry is read as a list of one. */
bool call_yaml_imagine(const char *file, Text bytes, const Appliance *appliance, Arena *arena, Call *call,
                       Error *error)
{
    const YamlReader reader = {.file = file, .arena = arena, .context = appliance};
    const YamlNode *entry;
    Call imagined = {.entry_count = 0};
    if (!yaml_read_tree(file, bytes, arena, &entry, error)) return false;
    const YamlNode list = {.type = YAML_LIST, .line = 1, .column = 1, .first = entry, .count = 1};
    if (!call_yaml__read_entries(&reader, &list, &imagined, error)) return false;
    const size_t before = (size_t)call->entry_count;
    Entry *entries = ARENA_ARRAY(arena, Entry, before + 1);
    if (!entries) return error_memory(error);
    if (before) memcpy(entries, call->entries, before * sizeof *entries);
    entries[before] = imagined.entries[0];
    call->entries = entries;
    call->entry_count++;
    return true;
}
