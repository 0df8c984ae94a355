/* stages.c: which contacts are closed while a function preheats, heats and waits.
 *
 * A function closes its contacts; those that `cycles` lists open when the oven is hot enough. Where the file
 * lists none, a thermostat's own contacts do, or else every contact that the control drives and that carries
 * an element's power. A duty pattern cuts its period at every edge; in each piece those contacts of the
 * pattern are closed whose time it is, and the other cycling ones of the function stay as the function has
 * them.
 *
 * Bad at: a control that learns, that heats by a ramp, or that changes its pattern as it gets near. */
#include "core/thermal/thermal_private.h"

#include "base/text.h"

#include <assert.h>
#include <math.h>

enum { MOST_CONTACTS = 128 };

typedef struct {
    int contacts[MOST_CONTACTS], count;
} Contacts;

static bool contains(const Contacts *contacts, int branch)
{
    for (int i = 0; i < contacts->count; i++)
        if (contacts->contacts[i] == branch) return true;
    return false;
}

static void add(Contacts *contacts, int branch)
{
    if (contains(contacts, branch)) return;
    assert(contacts->count < MOST_CONTACTS); /* an appliance with more has been refused */
    contacts->contacts[contacts->count++] = branch;
}

/* The contacts that open when the oven is hot enough. */
static bool find_cycling(const ThermalModel *model, Contacts *cycling, Error *error)
{
    const Appliance *appliance = model->appliance;
    const DescribedRegulation *regulation = &appliance->description->regulation;
    const int senses = appliance_find_part(appliance, regulation->senses);
    *cycling = (Contacts){.count = 0};
    for (int i = 0; i < regulation->cycle_count; i++) {
        const int contact = appliance_find_contact(appliance, regulation->cycles[i]);
        if (contact < 0) {
            error_set(error, ERROR_UNKNOWN_WORD, regulation->cycles[i],
                      "a contact of this appliance under 'cycles'");
            return error_at(error, appliance->description->file, regulation->line, 0);
        }
        add(cycling, contact);
    }
    for (int b = 0; b < appliance->branch_count && regulation->cycle_count == 0; b++) {
        const Branch *branch = &appliance->branches[b];
        if (branch->type == BRANCH_CONTACT && (branch->part == senses || branch->driver >= 0))
            add(cycling, b);
    }
    return true;
}

static bool add_stage(const ThermalModel *model, const Contacts *contacts, CircuitMeter *live, Error *error)
{
    int *kept = ARENA_ARRAY(model->circuit->arena, int, (size_t)contacts->count + 1);
    if (!kept) return error_memory(error);
    for (int i = 0; i < contacts->count; i++) kept[i] = contacts->contacts[i];
    return circuit_stage(model->circuit, kept, contacts->count, live, error);
}

/* Is the contact in the pattern, and is it closed at `second`? */
static bool is_in_pattern(const ThermalModel *model, const DescribedPattern *pattern, int contact,
                          double second, bool *is_closed)
{
    bool is_there = false;
    *is_closed = false;
    for (int i = 0; i < pattern->duty_count; i++) {
        if (appliance_find_contact(model->appliance, pattern->duties[i].contact) != contact) continue;
        is_there = true;
        *is_closed |= second >= pattern->duties[i].from_second && second < pattern->duties[i].to_second;
    }
    return is_there;
}

/* The first edge after `second`, at most the period. */
static double next_edge(const DescribedPattern *pattern, double second)
{
    double edge = pattern->period_second;
    for (int i = 0; i < pattern->duty_count; i++) {
        const double edges[] = {pattern->duties[i].from_second, pattern->duties[i].to_second};
        for (int k = 0; k < 2; k++)
            if (edges[k] > second && edges[k] < edge) edge = edges[k];
    }
    return edge;
}

/* The contacts closed at `second` of a pattern; without one, those of the function. */
static Contacts closed_at(const ThermalModel *model, int function, const DescribedPattern *pattern,
                          double second)
{
    const Function *closes = &model->appliance->functions[function];
    Contacts closed = {.count = 0};
    bool is_closed;
    for (int i = 0; i < closes->contact_count; i++)
        if (!is_in_pattern(model, pattern, closes->contacts[i], second, &is_closed) || is_closed)
            add(&closed, closes->contacts[i]);
    for (int i = 0; i < pattern->duty_count; i++) {
        const int contact = appliance_find_contact(model->appliance, pattern->duties[i].contact);
        if (is_in_pattern(model, pattern, contact, second, &is_closed) && is_closed) add(&closed, contact);
    }
    return closed;
}

static bool add_pattern(const ThermalModel *model, int function, const DescribedPattern *pattern,
                        ThermalSegment *segments, int *count, Error *error)
{
    const double period = pattern->period_second > 0 ? pattern->period_second : 1;
    for (double second = 0; second < period; second = segments[*count - 1].until_second) {
        if (*count == OVEN_MOST_SEGMENTS) {
            error_set(error, ERROR_TOO_LARGE, model->appliance->functions[function].name,
                      "a pattern with at most %d pieces", OVEN_MOST_SEGMENTS);
            return error_at(error, model->appliance->description->file, 0, 0);
        }
        const Contacts closed = closed_at(model, function, pattern, second);
        ThermalSegment *segment = &segments[(*count)++];
        segment->until_second = pattern->period_second > 0 ? next_edge(pattern, second) : period;
        if (!add_stage(model, &closed, &segment->live, error)) return false;
    }
    return true;
}

/* The description of a function; one without, as 'off', has no pattern. */
static const DescribedFunction *described(const Appliance *appliance, int function)
{
    static const DescribedFunction none = {0};
    const Description *description = appliance->description;
    for (int i = 0; i < description->function_count; i++)
        if (text_equal(description->functions[i].name, appliance->functions[function].name))
            return &description->functions[i];
    return &none;
}

static bool add_function(ThermalModel *model, int number, const Contacts *cycling, Error *error)
{
    ThermalFunction *function = &model->functions[number];
    const DescribedFunction *from = described(model->appliance, number);
    double watt[OVEN_HEATS];
    thermal__watts(model, &function->idle, NULL, 0, watt);
    if (watt[0] + watt[1] + watt[2] < 1) return true; /* lights and locks heat nothing */
    if (!add_pattern(model, number, &from->pattern, function->heating, &function->heating_count, error))
        return false;
    if (from->preheat.period_second > 0 &&
        !add_pattern(model, number, &from->preheat, function->preheat, &function->preheat_count, error))
        return false;
    Contacts waiting = {.count = 0};
    const Function *closes = &model->appliance->functions[number];
    for (int i = 0; i < closes->contact_count; i++)
        if (!contains(cycling, closes->contacts[i])) add(&waiting, closes->contacts[i]);
    return add_stage(model, &waiting, &function->idle, error);
}

static bool check_contacts(const Appliance *appliance, Error *error)
{
    int count = 0;
    for (int b = 0; b < appliance->branch_count; b++) count += appliance->branches[b].type == BRANCH_CONTACT;
    if (count <= MOST_CONTACTS) return true;
    error_set(error, ERROR_TOO_LARGE, appliance->name, "at most %d contacts, to simulate its oven",
              MOST_CONTACTS);
    return error_at(error, appliance->description->file, 0, 0);
}

/* Each function is first asked as it is, with all its contacts, whether it heats at all. */
bool thermal__stages(ThermalModel *model, Error *error)
{
    const Appliance *appliance = model->appliance;
    Contacts cycling;
    if (!check_contacts(appliance, error)) return false;
    if (!find_cycling(model, &cycling, error)) return false;
    for (int f = 1; f < appliance->function_count; f++) {
        Contacts all = {.count = 0};
        for (int i = 0; i < appliance->functions[f].contact_count; i++)
            add(&all, appliance->functions[f].contacts[i]);
        if (!add_stage(model, &all, &model->functions[f].idle, error)) return false;
        if (!add_function(model, f, &cycling, error)) return false;
    }
    return true;
}

void thermal__watts(const ThermalModel *model, const CircuitMeter *live, const int *variants, int count,
                    double watt[OVEN_HEATS])
{
    enum { AT_ONCE = 16 }; /* more than any oven has, in one question to the circuit */
    double each[AT_ONCE];
    for (int e = 0; e < OVEN_HEATS; e++) watt[e] = 0;
    for (int done = 0; done < model->heater_count; done += AT_ONCE) {
        const int asked = model->heater_count - done < AT_ONCE ? model->heater_count - done : AT_ONCE;
        circuit_watts(live, model->heaters + done, asked, variants, count, each);
        for (int i = 0; i < asked; i++) watt[model->heat_of[done + i]] += fmax(each[i], 0);
    }
}

/* The strongest winding that has power; a slow one counts for its share of the strongest. */
double thermal__fan(const ThermalModel *model, const CircuitMeter *live, const int *variants, int count)
{
    double strongest = 0, most = 0;
    for (int i = 0; i < model->fan_count; i++) {
        const double rated = model->appliance->branches[model->fans[i]].rated_watt;
        double watt;
        circuit_watts(live, &model->fans[i], 1, variants, count, &watt);
        if (rated > most) most = rated;
        if (watt > 0.2 * rated && rated > strongest) strongest = rated;
    }
    return most > 0 ? strongest / most : 0;
}
