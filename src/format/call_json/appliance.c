/* appliance.c: appliances as answers: a list of them, one whole, what is wrong with one.
 *
 * Everything a page needs to draw its forms: which marks there are and which of them can be lifted, which
 * words a part may be seen with, what opening a place takes. Wires are left out as parts, since nobody
 * types one, and are there as faults. */
#include "format/call_json/call_json_private.h"

/* The voltage of a leg stands beside that between the legs: 120.1 V and not 120 on 208Y/120. */
static json_t *make_supply(const Appliance *appliance)
{
    const DescribedSupply *supply = &appliance->description->supply;
    return json_pack("{ss so so so ss? ss? so so}", "system", description_supply_name(supply->system), "volt",
                     call_json__number(supply->volt), "hertz", call_json__number(supply->hertz), "legs",
                     call_json__texts(supply->legs, supply->leg_count), "neutral", supply->neutral, "frame",
                     supply->frame, "breaker_ampere", call_json__number(supply->breaker_ampere), "leg_volt",
                     call_json__number(appliance->leg_volt[0]));
}

static json_t *make_marks(const Appliance *appliance)
{
    json_t *array = json_array();
    for (int i = 0; i < appliance->mark_count; i++) {
        const Mark *mark = &appliance->marks[i];
        if (i == APPLIANCE_EARTH) continue; /* no probe reaches it */
        call_json__append(&array, json_pack("{ss ss? ss sb}", "mark", mark->name, "part",
                                            mark->part < 0 ? NULL : appliance->parts[mark->part].name,
                                            "place", appliance->description->places[mark->place].name,
                                            "can_lift", mark->can_lift));
    }
    return array;
}

/* The branches of a part that have a rating: what its nameplate means in ohms and amperes. */
static json_t *make_ratings(const Appliance *appliance, const double *amperes, const Part *part)
{
    json_t *array = json_array();
    for (int b = part->first_branch; b < part->first_branch + part->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        if (!(branch->rated_watt > 0)) continue;
        call_json__append(
            &array,
            json_pack("{ss ss ss so so so so so}", "branch", branch->name, "from",
                      appliance->marks[branch->from].name, "to", appliance->marks[branch->to].name, "watt",
                      call_json__number(branch->rated_watt), "volt", call_json__number(branch->rated_volt),
                      "cold_ohm", call_json__number(branch->cold_ohm), "hot_ohm",
                      call_json__number(branch->hot_ohm), "ampere", call_json__number(amperes[b])));
    }
    return array;
}

static json_t *make_looks_of(const Catalogue *catalogue, const PartKind *kind)
{
    json_t *array = json_array();
    for (int i = 0; i < kind->look_count; i++)
        call_json__append(&array, json_string(catalogue->looks[kind->looks[i]].name));
    return array;
}

static json_t *make_parts(const Words *words, const Appliance *appliance, const double *amperes)
{
    json_t *array = json_array();
    for (int i = 0; i < appliance->part_count; i++) {
        const Part *part = &appliance->parts[i];
        if (!part->described) continue; /* a wire */
        call_json__append(&array,
                          json_pack("{ss ss ss? ss sI so ss so so}", "part", part->name, "kind",
                                    part->kind->name, "says", words_translate(words, part->says), "place",
                                    appliance->description->places[part->place].name, "price_minor",
                                    (json_int_t)part->described->price_minor, "replace_second",
                                    call_json__number(part->described->replace_second), "replaced_with",
                                    appliance->parts[part->replaced_with].name, "ratings",
                                    make_ratings(appliance, amperes, part), "sees",
                                    make_looks_of(appliance->catalogue, part->kind)));
    }
    return array;
}

/* Seconds from the start of the period, which stands beside it. */
static json_t *make_pattern(const DescribedFunction *function)
{
    json_t *array = json_array();
    for (int i = 0; i < function->pattern.duty_count; i++)
        call_json__append(&array,
                          json_pack("{ss so so}", "contact", function->pattern.duties[i].contact,
                                    "from_second", call_json__number(function->pattern.duties[i].from_second),
                                    "to_second", call_json__number(function->pattern.duties[i].to_second)));
    return array;
}

/* As the file describes them; 'off' is listed only where the file does. */
static json_t *make_functions(const Words *words, const Description *description)
{
    json_t *array = json_array();
    for (int i = 0; i < description->function_count; i++) {
        const DescribedFunction *function = &description->functions[i];
        call_json__append(&array,
                          json_pack("{ss ss? so so so}", "function", function->name, "says",
                                    words_translate(words, function->says), "closes",
                                    call_json__texts(function->closes, function->close_count),
                                    "period_second", call_json__number(function->pattern.period_second),
                                    "pattern", make_pattern(function)));
    }
    return array;
}

static json_t *make_places(const Description *description)
{
    json_t *array = json_array();
    for (int i = 0; i < description->place_count; i++) {
        const DescribedPlace *place = &description->places[i];
        call_json__append(&array, json_pack("{ss so so sb sb ss?}", "place", place->name, "open_second",
                                            call_json__number(place->open_second), "close_second",
                                            call_json__number(place->close_second), "needs_power_off",
                                            place->needs_power_off, "needs_cool_oven", place->needs_cool_oven,
                                            "after", place->after));
    }
    return array;
}

static json_t *make_complaints(const Words *words, const Catalogue *catalogue)
{
    json_t *array = json_array();
    for (int i = 0; i < catalogue->complaint_count; i++)
        call_json__append(&array, json_pack("{ss ss?}", "complaint", catalogue->complaints[i].name, "says",
                                            words_translate(words, catalogue->complaints[i].says)));
    return array;
}

static json_t *make_looks(const Words *words, const Catalogue *catalogue)
{
    json_t *array = json_array();
    for (int i = 0; i < catalogue->look_count; i++)
        call_json__append(&array, json_pack("{ss ss?}", "look", catalogue->looks[i].name, "says",
                                            words_translate(words, catalogue->looks[i].says)));
    return array;
}

/* What is called otherwise in the language of `words`: parts with their wires, places, functions, looks. */
static json_t *make_called(const Words *words, const Appliance *appliance, Arena *arena)
{
    const Description *description = appliance->description;
    const Catalogue *catalogue = appliance->catalogue;
    const int counts[] = {appliance->part_count, description->place_count, appliance->function_count,
                          catalogue->look_count};
    json_t *called = json_object();
    for (int sort = 0; called && sort < 4; sort++)
        for (int i = 0; i < counts[sort]; i++) {
            const char *name = sort == 0   ? appliance->parts[i].name
                               : sort == 1 ? description->places[i].name
                               : sort == 2 ? appliance->functions[i].name
                                           : catalogue->looks[i].name;
            const char *said = words_name(words, name, arena);
            if (said == name || json_object_set_new(called, name, json_string(said)) == 0) continue;
            json_decref(called);
            return NULL;
        }
    return called;
}

/* Marks, parts, functions and places are arrays and not objects, because their order means something: it is
 * that of the file, and places stand from the outside in. */
bool call_json_appliance(const Words *words, const Appliance *appliance, const double *amperes,
                         TextBuilder *out, Error *error)
{
    const Description *description = appliance->description;
    json_t *root = json_pack(
        "{ss ss? ss? so so so so so so so so}", "appliance", description->name, "says",
        words_translate(words, description->says), "currency", description->currency, "supply",
        make_supply(appliance), "parts", make_parts(words, appliance, amperes), "marks",
        make_marks(appliance), "functions", make_functions(words, description), "places",
        make_places(description), "complaints", make_complaints(words, appliance->catalogue), "looks",
        make_looks(words, appliance->catalogue), "called", make_called(words, appliance, out->arena));
    return call_json__write(root, out, error);
}

/* What tells one oven from another at a glance. */
static json_t *make_glance(const Description *description)
{
    bool has_keypad = false, is_hidden = false;
    for (int i = 0; i < description->part_count; i++) {
        const DescribedPart *part = &description->parts[i];
        has_keypad = has_keypad || text_equal(part->kind, "oven-control");
        is_hidden = is_hidden || (text_equal(part->name, "bake-element") && part->is_hidden);
    }
    return json_pack("{ss sb so}", "control", has_keypad ? "keypad" : "knob", "bake_hidden", is_hidden,
                     "volt", call_json__number(description->supply.volt));
}

bool call_json_appliances(const Words *words, const Description *descriptions, int count, TextBuilder *out,
                          Error *error)
{
    json_t *array = json_array();
    for (int i = 0; i < count; i++)
        call_json__append(&array, json_pack("{ss ss? so}", "appliance", descriptions[i].name, "says",
                                            words_translate(words, descriptions[i].says), "glance",
                                            make_glance(&descriptions[i])));
    return call_json__write(json_pack("{so}", "appliances", array), out, error);
}

/* An empty array is the good answer; line 0 is a finding about the file as a whole. */
bool call_json_findings(const char *file, const Finding *findings, int count, TextBuilder *out, Error *error)
{
    json_t *array = json_array();
    for (int i = 0; i < count; i++)
        call_json__append(&array, json_pack("{si ss ss?}", "line", findings[i].line, "text", findings[i].text,
                                            "hint", findings[i].hint));
    return call_json__write(json_pack("{ss? so}", "file", file, "findings", array), out, error);
}
