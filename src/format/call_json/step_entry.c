/* step_entry.c: the entry that a step would become, with null where its outcome goes, so that a page can ask
 * for just that and put it on record (doc/interface.md has the entries). */
#include "format/call_json/call_json_private.h"

/* Baking is proved where recipes are written for: 350 degrees Fahrenheit, in celsius (common practice, no
 * source). A page may ask for another. */
static const char usual_setting[] = "350F";

static json_t *marks(const Appliance *appliance, const int *numbers, int count)
{
    json_t *list = json_array();
    for (int i = 0; i < count; i++) call_json__append(&list, json_string(appliance->marks[numbers[i]].name));
    return list;
}

/* Only what is there: an empty list would say that nothing was lifted on purpose. */
static json_t *reading(const Appliance *appliance, const Check *check)
{
    static const char *const measures[] = {[CHECK_OHM] = "ohm", [CHECK_VOLT] = "volt", [CHECK_AMP] = "amp"};
    const int ends[] = {check->from, check->to};
    json_t *entry =
        json_pack("{sn so ss}", "reading", "between", marks(appliance, ends, check->to >= 0 ? 2 : 1), "power",
                  check->power_on ? "on" : "off");
    if (check->lift_count > 0)
        json_object_set_new(entry, "lift", marks(appliance, check->lifts, check->lift_count));
    if (check->unplug >= 0)
        json_object_set_new(entry, "unplug", json_pack("[s]", appliance->parts[check->unplug].name));
    if (check->function > 0)
        json_object_set_new(entry, "function", json_string(appliance->functions[check->function].name));
    return json_pack("{so ss}", "entry", entry, "measure", measures[check->kind]);
}

/* What is on is not called unusual or not; what is off does not glow. */
static bool answers(const LookWord *look, const Check *check)
{
    if (check->kind == CHECK_WATCH) return !look->is_sound && look->way != LOOK_STRIP;
    return look->way == (check->kind == CHECK_STRIP ? LOOK_STRIP : LOOK_CLOSE);
}

static json_t *look(const Appliance *appliance, const Check *check)
{
    const PartKind *kind = appliance->parts[check->part].kind;
    json_t *words = json_array();
    json_t *entry = json_pack("{ss sn}", "look", appliance->parts[check->part].name, "sees");
    if (check->function > 0)
        json_object_set_new(entry, "function", json_string(appliance->functions[check->function].name));
    for (int l = 0; l < kind->look_count; l++) {
        const LookWord *word = &appliance->catalogue->looks[kind->looks[l]];
        if (answers(word, check)) call_json__append(&words, json_string(word->name));
    }
    return json_pack("{so so}", "entry", entry, "sees", words);
}

static json_t *signs(const Appliance *appliance, const PartKind *kind)
{
    json_t *words = json_array();
    for (int l = 0; l < kind->look_count; l++) {
        const LookWord *look = &appliance->catalogue->looks[kind->looks[l]];
        if (kind_is_sign(look, LOOK_CLOSE)) call_json__append(&words, json_string(look->name));
    }
    return words;
}

/* A glance that finds nothing is a look at the place; one that finds something names the part, and the place
 * as `among`. */
static json_t *glance(const Appliance *appliance, int number)
{
    const char *place = appliance->description->places[number].name;
    json_t *parts = json_array();
    for (int p = 0; p < appliance->part_count; p++)
        if (appliance_seen_from(appliance, p) == number)
            call_json__append(&parts, json_pack("{ss so}", "part", appliance->parts[p].name, "sees",
                                                signs(appliance, appliance->parts[p].kind)));
    return json_pack("{s{ss sn} ss so}", "entry", "look", place, "sees", "among", place, "parts", parts);
}

static json_t *temperature(const Appliance *appliance, const Check *check, const char *key)
{
    json_t *entry = json_pack("{sn ss}", key, "set", usual_setting);
    if (check && check->function > 0)
        json_object_set_new(entry, "function", json_string(appliance->functions[check->function].name));
    return json_pack("{so}", "entry", entry);
}

static json_t *of_check(const Appliance *appliance, const Check *check)
{
    switch (check->kind) {
    case CHECK_OHM:
    case CHECK_VOLT:
    case CHECK_AMP: return reading(appliance, check);
    case CHECK_SIGHT:
    case CHECK_STRIP:
    case CHECK_WATCH: return look(appliance, check);
    case CHECK_GLANCE: return glance(appliance, check->places[0]);
    case CHECK_RUN: return temperature(appliance, check, "run");
    case CHECK_SPOT: return temperature(appliance, check, "spot");
    case CHECK_OFFSET: return json_pack("{s{ss sn}}", "entry", "setting", "offset", "shows");
    case CHECK_CODE: return json_pack("{s{ss sn}}", "entry", "setting", "fault-code", "shows");
    case CHECK_ASK:
        return json_pack("{s{ss sn}}", "entry", "asked", appliance->catalogue->complaints[check->word].name,
                         "answer");
    }
    return json_null();
}

json_t *call_json__step_entry(const Standing *standing, const Step *step)
{
    const Appliance *appliance = standing->model->appliance;
    if (step->kind == STEP_CHECK || (step->kind == STEP_PROVE && step->check >= 0))
        return of_check(appliance, &appliance->checks[step->check]);
    if (step->kind == STEP_PROVE) return temperature(appliance, NULL, "run");
    if (step->kind == STEP_REPAIR)
        return json_pack("{s{ss ss}}", "entry", "repair", appliance->parts[step->part].name, "did",
                         step->is_adjustment ? "adjusted" : "replaced");
    /* A repeat asks for the entry that it names; of a look over a place, for all that can be seen there. An
     * end asks for none. */
    if (step->kind == STEP_REPEAT && standing->call->entries[step->entry].is_glance)
        return glance(appliance, standing->call->entries[step->entry].place);
    return json_null();
}

json_t *call_json__step_places(const Standing *standing, const Step *step)
{
    const Appliance *appliance = standing->model->appliance;
    json_t *list = json_array();
    for (int i = 0; i < step->open_count; i++)
        call_json__append(&list, json_string(appliance->description->places[step->opens[i]].name));
    return list;
}
