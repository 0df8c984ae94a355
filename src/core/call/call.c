/* call.c: may this entry stand on this appliance? See call.h.
 *
 * Lives here: one check for each kind of entry, of what can be said without any circuit and any probability.
 * An entry that passes has numbers that may be used as indices everywhere.
 *
 * Policy: an entry is refused only if it cannot be so, never because it is improbable: that is diagnosis'
 * business, and an unlikely reading may be the one that finds the fault. A refused entry is not repaired or
 * half kept. */
#include "core/call/call.h"

#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

/* A meter may show this much on a dead circuit, by induction. Common practice, no source. */
static const double most_dead_volt = 30;

const char *call_entry_kind_name(EntryKind kind)
{
    static const char *const names[ENTRY_KIND_COUNT] = {"complaint", "asked", "look",   "reading", "setting",
                                                        "run",       "spot",  "repair", "dead",    "note"};
    assert(kind >= 0 && kind < ENTRY_KIND_COUNT);
    return names[kind];
}

/* Format hands over numbers that it looked up by name; a caller in C may not have. */
static bool is_index(int number, int count) { return number >= 0 && number < count; }

static bool refuse_number(const char *what, Error *error)
{
    return error_set(error, ERROR_OUT_OF_RANGE, what, "one that this appliance has");
}

/* A word said twice would be weighed twice. */
static bool check_complaint(const Appliance *appliance, const Entry *entry, Error *error)
{
    if (entry->word_count < 1 || entry->word_count > CALL_MOST_WORDS)
        return error_set(error, ERROR_MISSING, "complaint", "one to %d words", CALL_MOST_WORDS);
    for (int i = 0; i < entry->word_count; i++) {
        if (!is_index(entry->words[i], appliance->catalogue->complaint_count))
            return refuse_number("complaint", error);
        for (int k = 0; k < i; k++)
            if (entry->words[k] == entry->words[i])
                return error_set(error, ERROR_INCONSISTENT,
                                 appliance->catalogue->complaints[entry->words[i]].name, "each word once");
    }
    return true;
}

/* One question, one answer. */
static bool check_asked(const Appliance *appliance, const Entry *entry, Error *error)
{
    if (entry->word_count != 1) return error_set(error, ERROR_MISSING, "asked", "one word of the owner");
    return is_index(entry->words[0], appliance->catalogue->complaint_count)
               ? true
               : refuse_number("complaint", error);
}

static bool refuse_look(const Appliance *appliance, const Entry *entry, Error *error)
{
    const PartKind *kind = appliance->parts[entry->part].kind;
    char list[300] = "nothing";
    size_t length = 0;
    for (int i = 0; i < kind->look_count && length < sizeof list; i++)
        length += (size_t)snprintf(list + length, sizeof list - length, "%s%s", i ? ", " : "",
                                   appliance->catalogue->looks[kind->looks[i]].name);
    return error_set(error, ERROR_WRONG_KIND, appliance->catalogue->looks[entry->words[0]].name,
                     "what the kind '%s' can show: %s", kind->name, list);
}

static bool is_anything_seen(const Appliance *appliance, int place)
{
    for (int p = 0; p < appliance->part_count; p++)
        if (appliance_seen_from(appliance, p) == place) return true;
    return false;
}

/* A part that cannot be seen from there would be called sound by nobody. */
static bool check_glance(const Appliance *appliance, const Entry *entry, Error *error)
{
    const Description *description = appliance->description;
    if (!is_index(entry->place, description->place_count)) return refuse_number("place", error);
    if (entry->function >= 0)
        return error_set(error, ERROR_INCONSISTENT, "a function", "a look over a place with nothing on");
    if (!is_anything_seen(appliance, entry->place))
        return error_set(error, ERROR_INCONSISTENT, description->places[entry->place].name,
                         "a place from which a part is seen that can show something");
    if (entry->part < 0) {
        if (entry->word_count == 1 && is_index(entry->words[0], appliance->catalogue->look_count) &&
            appliance->catalogue->looks[entry->words[0]].is_sound &&
            appliance->catalogue->looks[entry->words[0]].way == LOOK_CLOSE)
            return true;
        error_set(error, ERROR_INCONSISTENT, description->places[entry->place].name,
                  "'sound', when a whole place was looked over");
        return error_hint(error, "name the part that shows something, and the place with 'among'");
    }
    if (entry->word_count == 1 && is_index(entry->words[0], appliance->catalogue->look_count) &&
        appliance->catalogue->looks[entry->words[0]].way == LOOK_STRIP) {
        error_set(error, ERROR_INCONSISTENT, appliance->catalogue->looks[entry->words[0]].name,
                  "something that is seen when a place is looked over");
        return error_hint(error, "paper in the door is a look of its own, without 'among'");
    }
    if (is_index(entry->part, appliance->part_count) &&
        appliance_seen_from(appliance, entry->part) == entry->place)
        return true;
    return error_set(error, ERROR_INCONSISTENT, description->places[entry->place].name,
                     "a part that is seen from there");
}

static bool check_look(const Appliance *appliance, const Entry *entry, Error *error)
{
    if (entry->is_glance && !check_glance(appliance, entry, error)) return false;
    if (entry->is_glance && entry->part < 0) return true;
    if (!is_index(entry->part, appliance->part_count)) return refuse_number("part", error);
    if (entry->function >= appliance->function_count) return refuse_number("function", error);
    if (entry->word_count != 1 || !is_index(entry->words[0], appliance->catalogue->look_count))
        return refuse_number("look", error);
    const PartKind *kind = appliance->parts[entry->part].kind;
    for (int i = 0; i < kind->look_count; i++)
        if (kind->looks[i] == entry->words[0]) return true;
    return refuse_look(appliance, entry, error);
}

/* What was lifted decides what the meter saw, so it must be something that comes off at all. */
static bool check_lifts(const Appliance *appliance, const Connection *connection, Error *error)
{
    if (connection->lift_count < 0 || connection->lift_count > CONNECTION_MOST_LIFTS ||
        connection->unplug_count < 0 || connection->unplug_count > CONNECTION_MOST_LIFTS)
        return error_set(error, ERROR_TOO_LARGE, "lift, unplug", "at most %d of each", CONNECTION_MOST_LIFTS);
    for (int i = 0; i < connection->lift_count; i++) {
        if (!is_index(connection->lifts[i], appliance->mark_count)) return refuse_number("lift", error);
        const Mark *mark = &appliance->marks[connection->lifts[i]];
        if (mark->can_lift) continue;
        error_set(error, ERROR_INCONSISTENT, mark->name, "a mark where a wire meets the terminal of a part");
        return error_hint(error, "no wire comes off at %s; lift at the other end, or unplug a connector",
                          mark->name);
    }
    for (int i = 0; i < connection->unplug_count; i++) {
        if (!is_index(connection->unplugs[i], appliance->part_count)) return refuse_number("unplug", error);
        if (appliance_part_has_role(appliance, connection->unplugs[i], "plug")) continue;
        return error_set(error, ERROR_WRONG_KIND, appliance->parts[connection->unplugs[i]].name,
                         "a plug-in connector");
    }
    return true;
}

/* What the power must be for this reading, and whether what it shows can be so. */
static bool check_power(const Connection *connection, const Quantity *value, Error *error)
{
    if (connection->kind == READING_OHM && connection->power_on) {
        error_set(error, ERROR_INCONSISTENT, "ohms with the power on", "the power off");
        return error_hint(error, "disconnect the oven and prove it dead; an ohmmeter on a live circuit is "
                                 "dangerous and reads nonsense");
    }
    if (connection->kind == READING_AMP && !connection->power_on) {
        error_set(error, ERROR_INCONSISTENT, "amps with the power off", "the power on");
        return error_hint(error, "without power no current flows; write power: on if it was on");
    }
    if (connection->kind == READING_VOLT && !connection->power_on && value->value > most_dead_volt) {
        error_set(error, ERROR_INCONSISTENT, "a live voltage with the power off",
                  "the power on, or next to 0 V");
        return error_hint(error,
                          "if the power was off, the oven is not dead: stop and find what still feeds it");
    }
    return true;
}

/* OL is an ohmmeter's word: a voltmeter that is over its range is on the wrong range. Displays of
 * alternating volts and amperes have no sign. */
static bool check_shown(const Connection *connection, const Quantity *value, Error *error)
{
    static const Unit units[] = {
        [READING_OHM] = UNIT_OHM, [READING_VOLT] = UNIT_VOLT, [READING_AMP] = UNIT_AMPERE};
    if (value->is_over && connection->kind != READING_OHM)
        return error_set(error, ERROR_WRONG_KIND, "OL", "%s", quantity_unit_says(units[connection->kind]));
    if (!value->is_over && value->unit != units[connection->kind])
        return error_set(error, ERROR_WRONG_KIND, quantity_unit_says(value->unit), "%s",
                         quantity_unit_says(units[connection->kind]));
    if (!value->is_over && !(value->value >= 0 && isfinite(value->value)))
        return error_set(error, ERROR_OUT_OF_RANGE, "reading", "a figure that is not negative");
    return true;
}

static bool check_reading(const Appliance *appliance, const Entry *entry, Error *error)
{
    const Connection *connection = &entry->connection;
    if (connection->kind < READING_OHM || connection->kind > READING_AMP)
        return refuse_number("meter", error);
    if (!is_index(connection->from, appliance->mark_count) ||
        !is_index(connection->to, appliance->mark_count))
        return refuse_number("mark", error);
    if (connection->from == APPLIANCE_EARTH || connection->to == APPLIANCE_EARTH)
        return error_set(error, ERROR_WRONG_KIND, "earth", "a mark that a probe reaches; use the frame, %s",
                         appliance->marks[appliance->frame].name);
    if (connection->from == connection->to)
        return error_set(error, ERROR_INCONSISTENT, appliance->marks[connection->from].name,
                         "two different marks");
    if (!is_index(connection->function, appliance->function_count)) return refuse_number("function", error);
    if (connection->low_impedance && connection->kind != READING_VOLT)
        return error_set(error, ERROR_INCONSISTENT, "low-impedance", "it only with a voltage");
    return check_shown(connection, &entry->value, error) && check_power(connection, &entry->value, error) &&
           check_lifts(appliance, connection, error);
}

/* From a cold van to past any oven's cleaning temperature; common practice, no source. */
static bool check_temperature(double celsius, const char *what, Error *error)
{
    const double least = -40, most = 700;
    if (celsius >= least && celsius <= most) return true;
    return error_set(error, ERROR_OUT_OF_RANGE, what, "a temperature from %g to %g C", least, most);
}

static bool check_text(const Entry *entry, Error *error)
{
    if (entry->text && entry->text[0]) return true;
    return error_set(error, ERROR_MISSING, call_entry_kind_name(entry->kind), "some text");
}

bool call_check_entry(const Appliance *appliance, const Entry *entry, Error *error)
{
    switch (entry->kind) {
    case ENTRY_COMPLAINT: return check_complaint(appliance, entry, error);
    case ENTRY_ASKED: return check_asked(appliance, entry, error);
    case ENTRY_LOOK: return check_look(appliance, entry, error);
    case ENTRY_READING: return check_reading(appliance, entry, error);
    case ENTRY_SPOT:
        return check_temperature(entry->value.value, "spot", error) &&
               check_temperature(entry->set_celsius, "set", error);
    case ENTRY_RUN: return check_text(entry, error) && check_temperature(entry->set_celsius, "set", error);
    case ENTRY_REPAIR:
        return is_index(entry->part, appliance->part_count) ? check_text(entry, error)
                                                            : refuse_number("part", error);
    case ENTRY_SETTING:
    case ENTRY_NOTE: return check_text(entry, error);
    case ENTRY_DEAD: return true;
    default: return error_set(error, ERROR_DEFECT, "entry", "a known kind of entry");
    }
}

bool call_is_adjusted(const Entry *entry)
{
    return entry->kind == ENTRY_REPAIR && entry->text && text_equal(entry->text, "adjusted");
}
