/* situation.c: where the technician stands, and what it takes to get to a check from there.
 *
 * Only minutes come from here. Nothing is closed again in this reckoning until a run is made, and nobody is
 * asked what really stands open: a wrong guess costs a minute in a ranking and no more. What safety needs
 * to know is worked out apart from it (core/safety), from the entries alone. */
#include <assert.h>

#include "core/plan/plan_private.h"

/* To get behind a place, all that lies before it was opened. */
static void open_place(const Appliance *appliance, Situation *situation, int place)
{
    const Description *description = appliance->description;
    /* A place lies behind at most all the others, so this ends. */
    for (int depth = 0; place >= 0 && depth < description->place_count; depth++) {
        assert(place < 64);
        situation->is_open[place] = true;
        const char *after = description->places[place].after;
        place = -1;
        for (int p = 0; after && p < description->place_count; p++)
            if (text_equal(description->places[p].name, after)) place = p;
    }
}

/* The trail is all there is: where a probe was, something was open; after a run everything is closed again.
 */
Situation plan__situation(const Appliance *appliance, const Call *call)
{
    Situation situation = {.power_on = true};
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_READING) {
            open_place(appliance, &situation, appliance->marks[entry->connection.from].place);
            open_place(appliance, &situation, appliance->marks[entry->connection.to].place);
            situation.power_on = entry->connection.power_on;
        } else if (entry->kind == ENTRY_LOOK && entry->function >= 0) {
            situation.power_on = true;
        } else if (entry->kind == ENTRY_DEAD || entry->kind == ENTRY_REPAIR) {
            situation.power_on = false;
        } else if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT) {
            situation = (Situation){.power_on = true};
        }
    }
    return situation;
}

/* Adds a place and what must be open before it to the step's list, outermost first. */
static void add_place(const Appliance *appliance, const Situation *situation, Situation *after, int place,
                      Step *step)
{
    Situation needed = {.power_on = false};
    open_place(appliance, &needed, place);
    for (int p = 0; p < appliance->description->place_count; p++) {
        if (!needed.is_open[p] || after->is_open[p] || step->open_count >= PLAN_MOST_PLACES) continue;
        if (!situation->is_open[p] && appliance->description->places[p].open_second > 0)
            step->opens[step->open_count++] = p;
        after->is_open[p] = true;
    }
}

/* A place that must be opened dead takes the power off on the way to a live check, and on again: two walks
 * to the breaker. */
void plan__price(const Appliance *appliance, const Situation *situation, const PlanTerms *terms,
                 const int *places, int place_count, double own_second, Step *step)
{
    Situation after = *situation;
    for (int i = 0; i < place_count; i++)
        if (places[i] >= 0) add_place(appliance, situation, &after, places[i], step);
    double second = own_second;
    bool is_dead_inside = false, power_on = situation->power_on;
    for (int i = 0; i < step->open_count; i++) {
        const DescribedPlace *place = &appliance->description->places[step->opens[i]];
        second += place->open_second;
        is_dead_inside |= place->needs_power_off;
    }
    if (is_dead_inside && power_on) {
        second += terms->switch_second;
        power_on = false;
    }
    if (power_on != step->needs.power_on) second += terms->switch_second;
    step->switches_power = situation->power_on != step->needs.power_on;
    step->second = second;
    step->cost_minor = (long long)(second / 3600 * (double)terms->labour_minor_per_hour + 0.5);
}

/* A repair makes every check worth doing again: the oven is another one. */
bool plan__is_done(const DiagnosisModel *model, const Call *call, int check)
{
    bool is_done = false;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_REPAIR)
            is_done = false;
        else if (diagnosis_is_check(model, entry, check))
            is_done = true;
    }
    return is_done;
}
