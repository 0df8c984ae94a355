/* entry_yaml.c: the entries of a call file.
 *
 * Lives here: one table of rows for each kind of entry, and the functions that turn names into numbers of
 * the appliance. Not here: the head of the file (call_yaml.c), the judgement of an entry (core/call).
 * The kind of an entry is the one of its keys that is an entry's name; that row is read first, since what
 * the others mean by default follows from it. The reader's context is the appliance.
 *
 * Policy: what a technician leaves out is filled in only where there is one answer. Ohms are dead and
 * everything else is live, a look without a function is taken as made in the first one that uses the part,
 * `lift: BK1` is a list of one. What was lifted is never guessed: a reading says what was off, or nothing
 * was.
 *
 * `struck: yes` keeps an entry in the trail and out of the reckoning. It is read with the same care as the
 * others, since striking can be taken back. */
#include "format/call_yaml/call_yaml_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Beyond what any meter on this work shows; common practice, no source. */
static const double MOST_OHM = 1e9, MOST_VOLT = 1000, MOST_AMPERE = 200;

/* A list, or a single word as a list of one. */
static int count_items(const YamlNode *node) { return node->type == YAML_LIST ? node->count : 1; }
static const YamlNode *first_item(const YamlNode *node)
{
    return node->type == YAML_LIST ? node->first : node;
}

/* False leaves an error; true means that first_item and count_items will not run past `most`. */
static bool need_items(const YamlReader *reader, const YamlNode *node, int most, const char *expected,
                       Error *error)
{
    if (node->type == YAML_MAPPING || node->count > most)
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "%s, at most %d", expected, most);
    return node->type == YAML_SCALAR || yaml_need_list(reader, node, 0, expected, error);
}

/* Names of marks, parts and functions become numbers; the core's error lists the known ones, and only the
 * place is added here. */
static bool read_mark(const YamlReader *reader, const YamlNode *node, int *mark, Error *error)
{
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    return appliance_need_mark(reader->context, name, mark, error) || yaml_place(reader, node, error);
}

static bool read_part(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    return appliance_need_part(reader->context, name, into, error) || yaml_place(reader, node, error);
}

/* A part, or a place that was looked over and showed nothing. What is neither is answered with the parts. */
static bool read_look(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    const Appliance *appliance = reader->context;
    Entry *entry = into;
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    entry->part = appliance_find_part(appliance, name);
    entry->place = entry->part < 0 ? description_find_place(appliance->description, name) : 0;
    entry->is_glance = entry->part < 0 && entry->place >= 0;
    return entry->part >= 0 || entry->is_glance ||
           appliance_need_part(appliance, name, &entry->part, error) || yaml_place(reader, node, error);
}

/* The place that was looked over when this part alone showed something. */
static bool read_among(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    const Appliance *appliance = reader->context;
    Entry *entry = into;
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    entry->place = description_find_place(appliance->description, name);
    entry->is_glance = true;
    if (entry->place >= 0) return true;
    const Description *description = appliance->description;
    const char **known = ARENA_ARRAY(reader->arena, const char *, (size_t)description->place_count);
    if (!known) return error_memory(error);
    for (int p = 0; p < description->place_count; p++) known[p] = description->places[p].name;
    return yaml_refuse_word(reader, node, known, description->place_count, error);
}

static bool read_function(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                          Error *error)
{
    (void)field;
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    return appliance_need_function(reader->context, name, into, error) || yaml_place(reader, node, error);
}

/* The list in the message is the whole vocabulary: it is short, and nobody knows it by heart. */
static bool read_complaint(const YamlReader *reader, const YamlNode *node, int *word, Error *error)
{
    const Catalogue *catalogue = ((const Appliance *)reader->context)->catalogue;
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    *word = kind_find_complaint(catalogue, name);
    if (*word >= 0) return true;
    const char **known = ARENA_ARRAY(reader->arena, const char *, (size_t)catalogue->complaint_count);
    if (!known) return error_memory(error);
    for (int i = 0; i < catalogue->complaint_count; i++) known[i] = catalogue->complaints[i].name;
    return yaml_refuse_word(reader, node, known, catalogue->complaint_count, error);
}

/* `complaint: slow` or `complaint: [too-cool, slow]`. */
static bool read_complaints(const YamlReader *reader, const YamlField *field, const YamlNode *node,
                            void *into, Error *error)
{
    (void)field;
    Entry *entry = into;
    if (!need_items(reader, node, CALL_MOST_WORDS, "a complaint or a list of them", error)) return false;
    const YamlNode *item = first_item(node);
    for (int i = 0; i < count_items(node); i++, item = item->next)
        if (!read_complaint(reader, item, &entry->words[entry->word_count++], error)) return false;
    return true;
}

static bool read_asked(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    Entry *entry = into;
    entry->word_count = 1;
    return read_complaint(reader, node, &entry->words[0], error);
}

/* A look that this part's kind shows; only those are listed when it is another word. */
static bool read_sees(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    const Appliance *appliance = reader->context;
    Entry *entry = into;
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    entry->word_count = 1;
    entry->words[0] = kind_find_look(appliance->catalogue, name);
    if (entry->words[0] >= 0) return true;
    static const char *const nothing[] = {"sound"};
    if (entry->part < 0) return yaml_refuse_word(reader, node, nothing, 1, error);
    const PartKind *kind = appliance->parts[entry->part].kind;
    const char **known = ARENA_ARRAY(reader->arena, const char *, (size_t)kind->look_count);
    if (!known) return error_memory(error);
    for (int i = 0; i < kind->look_count; i++) known[i] = appliance->catalogue->looks[kind->looks[i]].name;
    return yaml_refuse_word(reader, node, known, kind->look_count, error);
}

/* What is measured follows from the unit; only an ohmmeter shows OL. Ohms are read dead, the rest live. */
static bool take_reading(Entry *entry, double *most)
{
    entry->connection.power_on = true;
    switch (entry->value.is_over ? UNIT_OHM : entry->value.unit) {
    case UNIT_OHM:
        entry->connection.kind = READING_OHM;
        entry->connection.power_on = false;
        *most = MOST_OHM;
        return true;
    case UNIT_VOLT:
        entry->connection.kind = READING_VOLT;
        *most = MOST_VOLT;
        return true;
    case UNIT_AMPERE:
        entry->connection.kind = READING_AMP;
        *most = MOST_AMPERE;
        return true;
    default: return false;
    }
}

/* Limits are for slips (23800V); what this appliance can show, the diagnosis weighs. */
static bool read_reading(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    (void)field;
    Entry *entry = into;
    double most = 0;
    if (!yaml_read_quantity(reader, node, &entry->value, error)) return false;
    if (!take_reading(entry, &most))
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error,
                           "a resistance, voltage or current: 19.2ohm, OL, 238V or 11.4A");
    if (entry->value.is_over || (entry->value.value >= 0 && entry->value.value <= most)) return true;
    char high[40];
    quantity_format(most, entry->value.unit, high, sizeof high);
    return yaml_refuse(reader, node, ERROR_OUT_OF_RANGE, error, "a reading from 0 to %s", high);
}

/* The order of the probes is kept: a meter on alternating current does not mind it, people do. */
static bool read_between(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    (void)field;
    Connection *connection = into;
    if (!yaml_need_list(reader, node, 2, "two marks, like [L1, L2]", error)) return false;
    if (!read_mark(reader, node->first, &connection->from, error)) return false;
    if (!read_mark(reader, node->first->next, &connection->to, error)) return false;
    if (connection->from != connection->to) return true;
    return yaml_refuse(reader, node->first->next, ERROR_INCONSISTENT, error, "two different marks");
}

static bool read_lifts(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    Connection *connection = into;
    if (!need_items(reader, node, CONNECTION_MOST_LIFTS, "a list of marks, like [BK1]", error)) return false;
    const YamlNode *item = first_item(node);
    for (int i = 0; i < count_items(node); i++, item = item->next)
        if (!read_mark(reader, item, &connection->lifts[connection->lift_count++], error)) return false;
    return true;
}

/* Any part is taken here; that it is a plug, core/call judges, with a better sentence. */
static bool read_unplugs(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    Connection *connection = into;
    if (!need_items(reader, node, CONNECTION_MOST_LIFTS, "a list of plugs, like [sensor-plug]", error))
        return false;
    const YamlNode *item = first_item(node);
    for (int i = 0; i < count_items(node); i++, item = item->next)
        if (!read_part(reader, field, item, &connection->unplugs[connection->unplug_count++], error))
            return false;
    return true;
}

/* The last of two words switches something on: [off, on], [ordinary, low-impedance]. */
static bool read_switch(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                        Error *error)
{
    int word = 0;
    if (!yaml_read_word(reader, node, field->words, &word, error)) return false;
    *(bool *)into = word == 1;
    return true;
}

/* What a setting shows: the offset a difference of temperatures, a fault code its meaning. */
static bool read_shows(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    Entry *entry = into;
    if (!text_equal(entry->text, "offset")) return yaml_read_text(reader, node, &entry->shows, error);
    entry->value.unit = UNIT_KELVIN;
    return yaml_read_number(reader, node, UNIT_KELVIN, -200, 200, &entry->value.value, error);
}

/* One thermometer reading at the middle rack, when the oven has settled. */
static bool read_spot(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    Entry *entry = into;
    entry->value.unit = UNIT_CELSIUS;
    return yaml_read_number(reader, node, UNIT_CELSIUS, field->least, field->most, &entry->value.value,
                            error);
}

/* What a person read off a thermometer during a run, without a log: each figure with how well that is known.
 */
static const YamlField figure_fields[] = {
    {"mean", YAML_AS_NUMBER, .offset = offsetof(Run, mean_celsius.value), .unit = UNIT_CELSIUS, .least = 0,
     .most = 700},
    {"swing", YAML_AS_NUMBER, .offset = offsetof(Run, swing_kelvin.value), .unit = UNIT_KELVIN, .most = 500},
    {"period", YAML_AS_NUMBER, .offset = offsetof(Run, period_second.value), .unit = UNIT_SECOND, .least = 10,
     .most = 7200},
    {"preheat", YAML_AS_NUMBER, .offset = offsetof(Run, preheat_second.value), .unit = UNIT_SECOND,
     .least = 10, .most = 14400},
    {"overshoot", YAML_AS_NUMBER, .offset = offsetof(Run, overshoot_kelvin.value), .unit = UNIT_KELVIN,
     .least = -50, .most = 300},
    {"sensor-mean", YAML_AS_NUMBER, .offset = offsetof(Run, sensor_celsius.value), .unit = UNIT_CELSIUS,
     .least = 0, .most = 700},
    {"sensor-swing", YAML_AS_NUMBER, .offset = offsetof(Run, sensor_swing_kelvin.value), .unit = UNIT_KELVIN,
     .most = 500},
};

static const YamlSchema figures_schema = {
    .what = "figures read by hand", .fields = figure_fields, .field_count = ROWS(figure_fields)};

/* Read to a few degrees and half a minute, and not over many cycles: common practice, no source. */
static bool read_figures(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    (void)field;
    Run *run = ARENA_ARRAY(reader->arena, Run, 1);
    if (!run) return error_memory(error);
    *run = (Run){.mean_celsius = {NAN, 5},
                 .swing_kelvin = {NAN, 5},
                 .period_second = {NAN, 30},
                 .preheat_second = {NAN, 40},
                 .overshoot_kelvin = {NAN, 6},
                 .sensor_celsius = {NAN, 5},
                 .sensor_swing_kelvin = {NAN, 5},
                 .error_kelvin = {NAN, 5},
                 .duty = {NAN, NAN}};
    if (!yaml_read_struct(reader, node, &figures_schema, run, error)) return false;
    run->is_settled = isfinite(run->mean_celsius.value);
    run->has_sensor = isfinite(run->sensor_celsius.value) || isfinite(run->sensor_swing_kelvin.value);
    *(const Run **)into = run;
    return true;
}

/* The words of the file; what follows from them is asked elsewhere. */
static const char *const settings[] = {"offset", "fault-code", NULL};
static const char *const repairs[] = {"replaced", "adjusted", "repaired", NULL};
static const char *const powers[] = {"off", "on", NULL};
static const char *const meters[] = {"ordinary", "low-impedance", NULL};
static const char *const proofs[] = {"proved", NULL};

static const YamlField complaint_fields[] = {
    {"complaint", YAML_AS_FUNCTION, .function = read_complaints},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

static const YamlField asked_fields[] = {
    {"asked", YAML_AS_FUNCTION, .function = read_asked},
    {"answer", YAML_AS_YES, .is_required = true, .offset = offsetof(Entry, is_yes)},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

/* The part first: an unknown word is answered with what this part can show. */
static const YamlField look_fields[] = {
    {"look", YAML_AS_FUNCTION, .function = read_look},
    {"sees", YAML_AS_FUNCTION, .is_required = true, .function = read_sees},
    {"among", YAML_AS_FUNCTION, .function = read_among},
    {"function", YAML_AS_FUNCTION, .offset = offsetof(Entry, function), .function = read_function},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

/* The reading itself first: its unit says what power means where the file does not. */
static const YamlField reading_fields[] = {
    {"reading", YAML_AS_FUNCTION, .function = read_reading},
    {"between", YAML_AS_FUNCTION, .is_required = true, .offset = offsetof(Entry, connection),
     .function = read_between},
    {"lift", YAML_AS_FUNCTION, .offset = offsetof(Entry, connection), .function = read_lifts},
    {"unplug", YAML_AS_FUNCTION, .offset = offsetof(Entry, connection), .function = read_unplugs},
    {"power", YAML_AS_FUNCTION, .offset = offsetof(Entry, connection.power_on), .words = powers,
     .function = read_switch},
    {"function", YAML_AS_FUNCTION, .offset = offsetof(Entry, connection.function), .function = read_function},
    {"meter", YAML_AS_FUNCTION, .offset = offsetof(Entry, connection.low_impedance), .words = meters,
     .function = read_switch},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

/* The name first: it says what can be shown. */
static const YamlField setting_fields[] = {
    {"setting", YAML_AS_CHOICE, .offset = offsetof(Entry, text), .words = settings},
    {"shows", YAML_AS_FUNCTION, .is_required = true, .function = read_shows},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

static const YamlField run_fields[] = {
    {"run", YAML_AS_TEXT, .offset = offsetof(Entry, text)},
    {"set", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Entry, set_celsius), .unit = UNIT_CELSIUS,
     .least = 30, .most = 600},
    {"function", YAML_AS_FUNCTION, .offset = offsetof(Entry, function), .function = read_function},
    {"column", YAML_AS_TEXT, .offset = offsetof(Entry, column)},
    {"sensor", YAML_AS_TEXT, .offset = offsetof(Entry, sensor)},
    {"figures", YAML_AS_FUNCTION, .offset = offsetof(Entry, run), .function = read_figures},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

static const YamlField spot_fields[] = {
    {"spot", YAML_AS_FUNCTION, .function = read_spot, .least = -40, .most = 700},
    {"set", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Entry, set_celsius), .unit = UNIT_CELSIUS,
     .least = 30, .most = 600},
    {"function", YAML_AS_FUNCTION, .offset = offsetof(Entry, function), .function = read_function},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

static const YamlField repair_fields[] = {
    {"repair", YAML_AS_FUNCTION, .offset = offsetof(Entry, part), .function = read_part},
    {"did", YAML_AS_CHOICE, .is_required = true, .offset = offsetof(Entry, text), .words = repairs},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

static const YamlField dead_fields[] = {
    {"dead", YAML_AS_CHOICE, .offset = offsetof(Entry, text), .words = proofs},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

static const YamlField note_fields[] = {
    {"note", YAML_AS_TEXT, .offset = offsetof(Entry, text)},
    {"struck", YAML_AS_YES, .offset = offsetof(Entry, is_struck)},
};

/* In the order of EntryKind; the first row of each bears the name of the kind. */
static const YamlSchema entry_schemas[ENTRY_KIND_COUNT] = {
    [ENTRY_COMPLAINT] = {.what = "a complaint",
                         .fields = complaint_fields,
                         .field_count = ROWS(complaint_fields)},
    [ENTRY_ASKED] = {.what = "a question", .fields = asked_fields, .field_count = ROWS(asked_fields)},
    [ENTRY_LOOK] = {.what = "a look", .fields = look_fields, .field_count = ROWS(look_fields)},
    [ENTRY_READING] = {.what = "a reading", .fields = reading_fields, .field_count = ROWS(reading_fields)},
    [ENTRY_SETTING] = {.what = "a setting", .fields = setting_fields, .field_count = ROWS(setting_fields)},
    [ENTRY_RUN] = {.what = "a run", .fields = run_fields, .field_count = ROWS(run_fields)},
    [ENTRY_SPOT] = {.what = "a spot", .fields = spot_fields, .field_count = ROWS(spot_fields)},
    [ENTRY_REPAIR] = {.what = "a repair", .fields = repair_fields, .field_count = ROWS(repair_fields)},
    [ENTRY_DEAD] = {.what = "a proof", .fields = dead_fields, .field_count = ROWS(dead_fields)},
    [ENTRY_NOTE] = {.what = "a note", .fields = note_fields, .field_count = ROWS(note_fields)},
};

/* Which kind of entry is it? The first of its keys that names one decides. */
static bool find_kind(const YamlReader *reader, const YamlNode *node, EntryKind *kind, Error *error)
{
    const char *names[ENTRY_KIND_COUNT];
    for (int i = 0; i < ENTRY_KIND_COUNT; i++) names[i] = entry_schemas[i].fields[0].key;
    if (!yaml_need_mapping(reader, node, "an entry", error)) return false;
    for (const YamlNode *child = node->first; child; child = child->next)
        for (int i = 0; i < ENTRY_KIND_COUNT; i++)
            if (text_equal(child->key, names[i])) {
                *kind = (EntryKind)i;
                return true;
            }
    if (!node->first) return yaml_refuse(reader, node, ERROR_MISSING, error, "an entry, like note: text");
    const YamlNode key = yaml_key(node->first);
    return yaml_refuse_word(reader, &key, names, ENTRY_KIND_COUNT, error);
}

/* -1 for a look: nobody said what was on. Readings without a function were taken at 'off', which is 0. */
static bool read_entry(const YamlReader *reader, const YamlNode *node, Entry *entry, Error *error)
{
    if (!find_kind(reader, node, &entry->kind, error)) return false;
    assert(entry->kind < ENTRY_KIND_COUNT);
    /* The core's word for the kind and the key here are one word. */
    assert(text_equal(call_entry_kind_name(entry->kind), entry_schemas[entry->kind].fields[0].key));
    entry->line = node->line;
    entry->function =
        entry->kind == ENTRY_LOOK || entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT ? -1 : 0;
    if (!yaml_read_struct(reader, node, &entry_schemas[entry->kind], entry, error)) return false;
    return call_check_entry(reader->context, entry, error) || yaml_place(reader, node, error);
}

bool call_yaml__read_entries(const YamlReader *reader, const YamlNode *node, Call *call, Error *error)
{
    if (node->type == YAML_LIST && node->count == 0) return true;
    if (!yaml_need_list(reader, node, 0, "a list of entries, each behind a dash", error)) return false;
    Entry *entries = ARENA_ARRAY(reader->arena, Entry, (size_t)node->count);
    if (!entries) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next)
        if (!read_entry(reader, child, &entries[call->entry_count++], error)) return false;
    call->entries = entries;
    return true;
}
