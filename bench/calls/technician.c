/* technician.c: see technician.h.
 *
 * Where one stands is which places are open, whether the power is on, and when the oven will be cool. Going
 * to a check opens what lies before it, outermost first; a place that may only be opened dead takes the power
 * off on the way; one that needs a cool oven waits for what is left of its cooling. A run closes everything
 * first. Ending the call closes everything and, unless barred, leaves the power on.
 *
 * Numbers in capitals are common practice, no source. */
#include "technician.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

static const double REWIRE_SECOND = 900; /* a new wire with its terminals */
static const double LOG_STEP = 600, MOST_LOG = 7200;
static const double CLIP_SECOND = 60;    /* a second thermometer, at the sensor or bulb */
static const double ADJUST_SECOND = 300; /* a screw turned, an offset set */

/* --- the trail --- */

void technician_say(const Technician *technician, const char *format, ...)
{
    va_list list;
    if (!technician->trail) return;
    fprintf(technician->trail, "  %5.1f min  ", technician->books.second / 60);
    va_start(list, format);
    vfprintf(technician->trail, format, list);
    va_end(list);
    fputc('\n', technician->trail);
}

static void say_reading(const Technician *technician, const Entry *entry)
{
    static const char *const units[] = {"ohm", "V", "A"};
    const Appliance *appliance = technician->appliance;
    const Connection *connection = &entry->connection;
    char off[80] = "";
    for (int i = 0; i < connection->lift_count; i++)
        snprintf(off + strlen(off), sizeof off - strlen(off), ", %s lifted",
                 appliance->marks[connection->lifts[i]].name);
    if (connection->unplug_count > 0)
        snprintf(off + strlen(off), sizeof off - strlen(off), ", %s open",
                 appliance->parts[connection->unplugs[0]].name);
    technician_say(technician, "%s-%s in %s%s: %.4g %s (%s)", appliance->marks[connection->from].name,
                   appliance->marks[connection->to].name, appliance->functions[connection->function].name,
                   off, entry->value.value, units[connection->kind], appliance->parts[entry->part].name);
}

static void say_run(const Technician *technician, const Run *run)
{
    if (!run)
        technician_say(technician, "run: this oven cannot be run");
    else if (isfinite(run->mean_celsius.value))
        technician_say(technician,
                       "run: mean %+.1f K off, swing %.1f K, preheat %.1f min, %d cycles; "
                       "at the sensor %.0f C, swing %.1f K",
                       run->mean_celsius.value - WORLD_SET_CELSIUS, run->swing_kelvin.value,
                       run->preheat_second.value / 60, run->cycles, run->sensor_celsius.value,
                       run->sensor_swing_kelvin.value);
    else
        technician_say(technician, "run: %s, ends at %.0f C (%+.1f K off), preheat %.1f min",
                       run->finding_count ? run_finding_word(run->findings[0].code) : "no cycles",
                       run->end_celsius, run->end_celsius - WORLD_SET_CELSIUS,
                       run->preheat_second.value / 60);
}

static void say_entry(const Technician *technician, const Entry *entry)
{
    const Appliance *appliance = technician->appliance;
    if (entry->kind == ENTRY_READING) say_reading(technician, entry);
    if (entry->kind == ENTRY_RUN) say_run(technician, entry->run);
    if (entry->kind == ENTRY_LOOK)
        technician_say(technician, "%s%s %s %s", entry->is_glance ? "all but " : "",
                       entry->part >= 0 ? appliance->parts[entry->part].name : "none",
                       appliance->catalogue->looks[entry->words[0]].name,
                       entry->function >= 0 ? appliance->functions[entry->function].name : "");
    if (entry->kind == ENTRY_SETTING)
        technician_say(technician, "%s shows %s %.1f", entry->text, entry->shows ? entry->shows : "",
                       entry->value.value);
    if (entry->kind == ENTRY_SPOT) technician_say(technician, "spot %.0f C", entry->value.value);
    if (entry->kind == ENTRY_ASKED)
        technician_say(technician, "asked '%s': %s", appliance->catalogue->complaints[entry->words[0]].name,
                       entry->is_yes ? "yes" : "no");
}

/* --- entries --- */

static void note(Technician *technician, Entry entry, int check)
{
    Call *call = &technician->call;
    if (call->entry_count >= TECHNICIAN_MOST_ENTRIES) return;
    technician->check_of[call->entry_count] = check;
    technician->entries[call->entry_count++] = entry;
    say_entry(technician, &entry);
}

const Entry *technician_last(const Technician *technician)
{
    return &technician->entries[technician->call.entry_count - 1];
}

/* --- where one stands --- */

static const DescribedPlace *place_of(const Technician *technician, int place)
{
    assert(place >= 0 && place < TECHNICIAN_MOST_PLACES);
    return &technician->appliance->description->places[place];
}

/* Off means disconnected and proved dead, and is written down. */
static void switch_power(Technician *technician, bool on)
{
    if (technician->power_on == on) return;
    technician->books.second += on ? technician->terms->on_second : technician->terms->off_second;
    technician->power_on = on;
    technician_say(technician, on ? "power on" : "power off, proved dead");
    if (!on) note(technician, (Entry){.kind = ENTRY_DEAD, .part = -1}, -1);
}

static void wait_until_cool(Technician *technician)
{
    if (technician->books.second >= technician->cool_at) return;
    technician->books.second = technician->cool_at;
    technician_say(technician, "the oven is cool");
}

static void ready_place(Technician *technician, const DescribedPlace *place)
{
    if (place->needs_power_off) switch_power(technician, false);
    if (place->needs_cool_oven) wait_until_cool(technician);
}

static void open_place(Technician *technician, int place)
{
    if (place < 0 || technician->is_open[place]) return;
    open_place(technician, description_place_before(technician->appliance->description, place));
    ready_place(technician, place_of(technician, place));
    technician->books.second += place_of(technician, place)->open_second;
    technician->is_open[place] = true;
    if (place_of(technician, place)->open_second > 0)
        technician_say(technician, "open: %s", place_of(technician, place)->name);
}

/* What lies behind another place has a higher number or comes after it all the same: minutes add up. */
static void close_all(Technician *technician)
{
    bool is_any = false;
    for (int p = 0; p < technician->appliance->description->place_count; p++) {
        if (!technician->is_open[p]) continue;
        if (place_of(technician, p)->close_second > 0) {
            ready_place(technician, place_of(technician, p));
            is_any = true;
        }
        technician->books.second += place_of(technician, p)->close_second;
        technician->is_open[p] = false;
    }
    if (is_any) technician_say(technician, "all closed");
}

/* Hands that are in a place which must be opened dead keep it dead, unless the check is a live one. */
static bool go_to(Technician *technician, const int *places, int count, bool power_on, bool touches)
{
    bool is_dead_place = touches;
    if (power_on && technician->is_barred) {
        technician->books.unsafe++;
        return false;
    }
    for (int i = 0; i < count; i++) {
        open_place(technician, places[i]);
        for (int p = places[i]; p >= 0; p = description_place_before(technician->appliance->description, p))
            is_dead_place |= place_of(technician, p)->needs_power_off;
    }
    if (power_on || is_dead_place) switch_power(technician, power_on);
    return true;
}

/* --- steps --- */

void technician_begin(World *world, const PlanTerms *terms, FILE *trail, Technician *technician)
{
    memset(technician, 0, sizeof *technician);
    technician->world = world;
    technician->appliance = world->assumed->appliance;
    technician->terms = terms;
    technician->trail = trail;
    technician->power_on = true;
    technician->books.visits = 1;
    technician->call = (Call){.title = "",
                              .appliance_name = technician->appliance->name,
                              .ambient_celsius = world->assumed->circuit.ambient_celsius,
                              .meter = world->assumed->meter,
                              .entries = technician->entries};
    assert(technician->appliance->description->place_count <= TECHNICIAN_MOST_PLACES);
    note(technician, world_complaint(world), -1);
}

/* Everything closed, from cold or not, and logged until two whole cycles are in, two hours at the most; who
 * wants to know how an oven cycles does not go home before it has. */
static bool log_run(Technician *technician, double second, int check, Error *error)
{
    Entry entry;
    bool is_short = true;
    for (double longer = second; is_short; longer += LOG_STEP) {
        if (!world_run(technician->world, longer, &entry, error)) return false;
        is_short = entry.run && run_has_finding(entry.run, RUN_LOG_TOO_SHORT) && longer < MOST_LOG;
        technician->books.second += longer == second ? second : LOG_STEP;
    }
    if (technician->is_noting) technician->books.second += CLIP_SECOND;
    technician->books.runs++;
    note(technician, entry, check);
    return true;
}

static bool make_check(Technician *technician, int check, Error *error)
{
    const Check *asked = &technician->appliance->checks[check];
    Entry entry;
    if (asked->kind == CHECK_RUN) return log_run(technician, asked->second, check, error);
    technician->books.second += asked->second;
    if (!world_answer(technician->world, check, &entry, error)) return false;
    note(technician, entry, check);
    return true;
}

bool technician_check(Technician *technician, int check, Error *error)
{
    const Check *asked = &technician->appliance->checks[check];
    const SafetyNeeds needs = safety_of_check(technician->appliance, asked, &technician->call);
    const bool heats = asked->kind == CHECK_RUN || asked->kind == CHECK_SPOT;
    if (heats && !technician->is_barred) close_all(technician);
    if (!go_to(technician, asked->places, 2, needs.power_on && !needs.any_power, asked->kind <= CHECK_AMP))
        return true;
    assert(asked->kind != CHECK_OHM || !technician->power_on);
    technician->books.checks++;
    if (technician->is_noting) technician->books.second += technician->terms->noting_second;
    technician->books.live += needs.is_live_work;
    if (!make_check(technician, check, error)) return false;
    if (heats) technician->cool_at = technician->books.second + technician->terms->cool_second;
    return true;
}

bool technician_run(Technician *technician, Error *error)
{
    if (technician->is_barred) {
        technician->books.unsafe++;
        return true;
    }
    close_all(technician);
    switch_power(technician, true);
    if (!log_run(technician, technician->terms->proving_second, -1, error)) return false;
    technician->cool_at = technician->books.second + technician->terms->cool_second;
    return true;
}

/* By going there in thought. */
double technician_second_of(const Technician *technician, int check)
{
    static Technician thought;
    const Check *asked = &technician->appliance->checks[check];
    const SafetyNeeds needs = safety_of_check(technician->appliance, asked, &technician->call);
    thought = *technician;
    thought.call.entries = thought.entries;
    thought.trail = NULL;
    if (asked->kind == CHECK_RUN || asked->kind == CHECK_SPOT) close_all(&thought);
    (void)go_to(&thought, asked->places, 2, needs.power_on && !needs.any_power, asked->kind <= CHECK_AMP);
    return thought.books.second - technician->books.second + asked->second +
           (needs.is_live_work ? technician->terms->live_risk_second : 0);
}

static bool is_at_hand(const Technician *technician, const Part *part)
{
    if (!technician->terms->stock || !part->described || part->described->price_minor == 0) return true;
    for (int i = 0; i < technician->terms->stock_count; i++)
        if (text_equal(technician->terms->stock[i], part->name)) return true;
    return false;
}

/* Everything is closed and the technician comes back another day. */
static void fetch(Technician *technician)
{
    close_all(technician);
    technician->power_on = true;
    technician->cool_at = 0;
    technician->books.visits++;
    technician_say(technician, "a second visit: the part is not at hand");
}

static void note_repair(Technician *technician, int part, const char *text)
{
    technician_say(technician, "%s: %s", text, technician->appliance->parts[part].name);
    note(technician, (Entry){.kind = ENTRY_REPAIR, .part = part, .function = -1, .text = text}, -1);
    technician->books.repairs++;
}

/* Advice to the owner is a repair without a part. */
void technician_replace(Technician *technician, int part)
{
    const Part *fitted = &technician->appliance->parts[part];
    const bool is_advice = text_equal(fitted->kind->name, "use");
    const bool is_needed = world_is_cured_by(technician->world, part);
    if (!is_at_hand(technician, fitted)) fetch(technician);
    if (!is_advice) (void)go_to(technician, &fitted->place, 1, false, fitted->branch_count > 0);
    technician->books.second += fitted->described && fitted->described->replace_second > 0
                                    ? fitted->described->replace_second
                                    : REWIRE_SECOND;
    technician->books.parts_minor += fitted->described ? fitted->described->price_minor : 0;
    technician->books.parts += !is_advice;
    technician->books.wrong_parts += !is_advice && !is_needed;
    world_replace(technician->world, part);
    note_repair(technician, part, "replaced");
}

/* As long as the file says, or as a screw or a setting takes. */
static double adjust_second(const Technician *technician, int part)
{
    const PartKind *kind = technician->appliance->parts[part].kind;
    double second = 0;
    for (int m = 0; m < kind->mode_count; m++) second = fmax(second, kind->modes[m].adjust_second);
    return second > 0 ? second : ADJUST_SECOND;
}

/* A setting is turned at the knob or the keypad; what is out of its place is where it is seen. */
static int adjusting_place(const Technician *technician, int part)
{
    const Part *adjusted = &technician->appliance->parts[part];
    for (int m = 0; m < adjusted->kind->mode_count; m++)
        if (adjusted->kind->modes[m].effect == EFFECT_SHIFT) return -1;
    return adjusted->seen_from;
}

void technician_adjust(Technician *technician, int part, double kelvin)
{
    open_place(technician, adjusting_place(technician, part));
    technician->books.second += adjust_second(technician, part);
    world_adjust(technician->world, part, kelvin);
    note_repair(technician, part, "adjusted");
}

/* --- the end --- */

/* Of the last run since the last repair; NAN when there is none. */
static double last_error(const Technician *technician)
{
    double error = NAN;
    for (int e = 0; e < technician->call.entry_count; e++) {
        const Entry *entry = &technician->call.entries[e];
        if (entry->kind == ENTRY_REPAIR) error = NAN;
        if (entry->kind == ENTRY_RUN && entry->run) error = entry->run->error_kelvin.value;
    }
    return error;
}

static void end(Technician *technician)
{
    const PlanTerms *terms = technician->terms;
    const World *world = technician->world;
    Books *books = &technician->books;
    close_all(technician);
    if (!technician->is_barred) switch_power(technician, true);
    books->is_fixed =
        books->is_closed && (world_is_sound(world) || world_is_set_right(world, last_error(technician)));
    books->is_left = books->is_closed && !books->is_fixed;
    const double labour = (double)terms->labour_minor_per_hour / 3600;
    books->cost_minor = labour * (books->second + books->live * terms->live_risk_second) +
                        (double)books->parts_minor + (books->is_left ? (double)terms->callback_minor : 0) +
                        (books->is_handed_over ? (double)terms->hand_over_minor : 0) +
                        (double)((books->visits - 1) * terms->second_visit_minor);
    technician_say(technician, "%s%s; %.0f money, of which parts %.0f",
                   books->is_closed ? "closed" : "handed over", books->is_left ? " WITH A FAULT LEFT" : "",
                   books->cost_minor / 100, (double)books->parts_minor / 100);
}

void technician_close(Technician *technician)
{
    technician->books.is_closed = true;
    end(technician);
}

void technician_hand_over(Technician *technician)
{
    technician->books.is_handed_over = true;
    end(technician);
}

bool technician_is_done(const Technician *technician)
{
    return technician->books.is_closed || technician->books.is_handed_over;
}
