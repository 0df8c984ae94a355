/* checks_oven.c: checks of the oven as a whole: temperatures, what the control displays, questions to the
 * owner; see checks.c.
 *
 * Not here: what they would show (diagnosis), whether the oven may be heated now (safety).
 *
 * What is listed: one temperature run and one settled temperature, where materials are known and an oven can
 * be simulated, so that there is something to hold them against; the control's offset, where a fault shows in
 * it; its fault code, where its kind can show one; a question for every complaint whose first cause this
 * appliance can have: nobody is asked about a fan that is not there.
 *
 * Bad at: controls that display more than that. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

static Check whole(CheckKind kind, int part)
{
    return (Check){.kind = kind,
                   .part = part,
                   .from = -1,
                   .to = -1,
                   .unplug = -1,
                   .power_on = kind != CHECK_ASK,
                   .places = {-1, -1}};
}

/* Everything is closed for these, so no place is open. */
static void list_temperatures(Lister *lister)
{
    static const CheckKind kinds[] = {CHECK_RUN, CHECK_SPOT};
    for (int i = 0; i < 2; i++) {
        Check check = whole(kinds[i], -1);
        check.function = -1;
        if (lister->appliance->catalogue->materials.count > 0) appliance__add_check(lister, check);
    }
}

/* Seen from where one stands: the first place. */
static void list_displays(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    bool has_offset = false, has_code = false;
    if (appliance->control < 0) return;
    const PartKind *kind = appliance->parts[appliance->control].kind;
    for (int m = 0; m < kind->mode_count; m++)
        has_offset = has_offset || (kind->modes[m].setting && text_equal(kind->modes[m].setting, "offset"));
    for (int i = 0; i < kind->look_count; i++)
        has_code = has_code || text_equal(appliance->catalogue->looks[kind->looks[i]].name, "error-code");
    Check offset = whole(CHECK_OFFSET, appliance->control), code = whole(CHECK_CODE, appliance->control);
    offset.places[0] = code.places[0] = 0;
    if (has_offset) appliance__add_check(lister, offset);
    if (has_code) appliance__add_check(lister, code);
}

static bool has_heat(const Appliance *appliance, const char *side)
{
    for (int p = 0; p < appliance->part_count; p++)
        if (appliance->parts[p].described && appliance->parts[p].described->heats &&
            text_equal(appliance->parts[p].described->heats, side))
            return true;
    return false;
}

static bool has_role(const Appliance *appliance, const char *role)
{
    for (int p = 0; p < appliance->part_count; p++)
        if (appliance_part_has_role(appliance, p, role)) return true;
    return false;
}

static bool can_have(const Appliance *appliance, Condition condition)
{
    switch (condition) {
    case CONDITION_BOTTOM_DEAD:
    case CONDITION_BOTTOM_WEAK: return has_heat(appliance, "bottom");
    case CONDITION_TOP_DEAD:
    case CONDITION_TOP_WEAK: return has_heat(appliance, "top");
    case CONDITION_RING_DEAD:
    case CONDITION_RING_WEAK: return has_heat(appliance, "ring");
    case CONDITION_FAN_DEAD: return has_role(appliance, "fan");
    case CONDITION_LAMP_DEAD: return has_role(appliance, "lamp");
    case CONDITION_CONTROL_DEAD:
    case CONDITION_SENSOR_REFUSED: return appliance->control >= 0;
    default: return true;
    }
}

static void list_questions(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    for (int w = 0; w < appliance->catalogue->complaint_count; w++) {
        Check check = whole(CHECK_ASK, -1);
        check.word = w;
        if (can_have(appliance, kind_first_cause(&appliance->catalogue->complaints[w])))
            appliance__add_check(lister, check);
    }
}

void appliance__list_oven(Lister *lister)
{
    list_temperatures(lister);
    list_displays(lister);
    list_questions(lister);
}
