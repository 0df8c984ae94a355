/* command_simulate.c: `ovenwright simulate A --set T ...`: how the appliance's oven warms, as a log.
 *
 * Lives here: what was typed, as faults, severities and terms of a simulation; the table. Not here: which
 * oven the appliance is (core/thermal), how it warms (core/oven). The table is a temperature log like any
 * other: `ovenwright run` reads it.
 *
 * A severity that was typed takes the place of the fault's samples: the appliance is given a list of faults
 * of its own, in which all samples of that fault are the one asked for. */
#include "base/text.h"
#include "core/thermal/thermal.h"
#include "edge/cli/load.h"
#include "edge/files/files.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double LEAST_SET = 30, MOST_SET = 350; /* celsius: warming a plate, above any baking */
static const double MOST_MINUTES = 1440, EVERY_SECOND = 10;
enum { MOST_KNOWN = 512, TABLE_LIMIT = 4 << 20 };

/* What every routine below needs. */
typedef struct {
    const Invocation *invocation;
    Appliance appliance;
    Circuit circuit;
    ThermalModel model;
    int faults[CIRCUIT_MOST_FAULTS], variants[CIRCUIT_MOST_FAULTS], fault_count;
    int function;
    double set_celsius, ambient_celsius;
    OvenTerms terms;
    float *celsius[OVEN_TRACES], *watt[OVEN_HEATS];
    bool has_heat[OVEN_HEATS];
} Simulation;

/* Faults of the part that was named, or else of all parts but the wires, which are too many to list. */
static int list_faults(const Appliance *appliance, Text part, const char **known)
{
    int count = 0;
    for (int f = 0; f < appliance->fault_count && count < MOST_KNOWN; f++)
        if (text_is(part, appliance->parts[appliance->faults[f].part].name))
            known[count++] = appliance->faults[f].name;
    for (int f = 0, named = count; f < appliance->fault_count && named == 0 && count < MOST_KNOWN; f++)
        if (appliance->parts[appliance->faults[f].part].described) known[count++] = appliance->faults[f].name;
    return count;
}

static bool no_such_fault(const Appliance *appliance, const char *name, Arena *arena, Error *error)
{
    enum { ROOM = sizeof error->expected - 60 };
    const char *known[MOST_KNOWN];
    const char *dot = strchr(name, '.');
    const Text part = {name, dot ? (size_t)(dot - name) : strlen(name)};
    const int count = list_faults(appliance, part, known);
    TextBuilder list = text_builder(arena, ROOM);
    for (int i = 0; i < count && !list.is_cut; i++) text_addf(&list, "%s%s", i ? ", " : "", known[i]);
    char quoted[sizeof error->found];
    snprintf(quoted, sizeof quoted, "'%s'", name);
    error_set(error, ERROR_UNKNOWN_WORD, quoted, "a fault of this appliance: %s%s", text_string(&list),
              list.is_cut ? " ..." : "");
    const char *nearest = text_nearest(name, known, (size_t)count);
    return nearest ? error_hint(error, "did you mean '%s'?", nearest) : false;
}

/* As far beyond the spread that the fault has in the catalogue as that is wide (in the logarithm where it is
 * spread so), but never past what a sound one has, a factor of 1 or else 0: a fault that makes an oven cooler
 * does not make it hotter. */
static void sane_range(const Severity *severity, Unit unit, double *low, double *high)
{
    const bool is_log = severity->is_log && severity->from > 0;
    const double from = severity->from, to = severity->to, sound = unit == UNIT_NONE ? 1 : 0;
    *low = is_log ? from * from / to : from - (to - from);
    *high = is_log ? to * to / from : to + (to - from);
    if (from >= 0) *low = fmax(*low, 0);
    if (from >= sound) *low = fmax(*low, sound);
    if (to <= sound) *high = fmin(*high, sound);
    if (unit == UNIT_RATIO) *high = fmin(*high, 1);
}

/* `40ohm`, `2mm`, `2.5`, in the unit of the fault's effect. Where all severities are negative the sign may be
 * left out: 15 K of a fault that can only make the oven cooler are 15 K cooler. */
static bool read_severity(const Fault *fault, const char *typed, double *value, Error *error)
{
    const FaultMode *mode = fault->mode;
    const Unit unit = effect_unit(mode->effect);
    if (!mode->has_severity) {
        error_set(error, ERROR_WRONG_KIND, typed, "no severity: %s is no matter of degree", fault->name);
        return error_hint(error, "write --fault %s", fault->name);
    }
    if (!quantity_read_as(text_of(typed), unit, value, error)) return false;
    if (mode->severity.to <= 0 && *value > 0) *value = -*value;
    double low, high;
    sane_range(&mode->severity, unit, &low, &high);
    if (*value >= low && *value <= high) return true;
    char from[40], to[40];
    quantity_format(low, unit, from, sizeof from);
    quantity_format(high, unit, to, sizeof to);
    return error_set(error, ERROR_OUT_OF_RANGE, typed, "a severity of %s from %s to %s", fault->name, from,
                     to);
}

/* All samples of the fault are this severity from here on. */
static bool set_severity(Simulation *simulation, int number, double severity, Error *error)
{
    Appliance *appliance = &simulation->appliance;
    Fault *faults = ARENA_ARRAY(simulation->invocation->arena, Fault, (size_t)appliance->fault_count);
    if (!faults) return error_memory(error);
    memcpy(faults, appliance->faults, (size_t)appliance->fault_count * sizeof *faults);
    for (int s = 0; s < faults[number].severity_count; s++) faults[number].severity[s] = severity;
    appliance->faults = faults;
    return true;
}

/* `bake-element.weak` or `bake-element.weak=1.5`. */
static bool add_fault(Simulation *simulation, const char *typed, Error *error)
{
    const Appliance *appliance = &simulation->appliance;
    Arena *arena = simulation->invocation->arena;
    const char *equals = strchr(typed, '=');
    const char *name = arena_copy_text(arena, typed, equals ? (size_t)(equals - typed) : strlen(typed));
    if (!name) return error_memory(error);
    const int number = appliance_find_fault(appliance, name);
    if (number < 0) return no_such_fault(appliance, name, arena, error);
    if (simulation->fault_count == CIRCUIT_MOST_FAULTS)
        return error_set(error, ERROR_USAGE, typed, "at most %d times --fault", CIRCUIT_MOST_FAULTS);
    if (simulation->fault_count > 0 &&
        appliance->faults[simulation->faults[0]].part == appliance->faults[number].part)
        return error_set(error, ERROR_INCONSISTENT, typed, "a fault of another part than %s",
                         appliance->faults[simulation->faults[0]].name);
    simulation->faults[simulation->fault_count++] = number;
    double severity;
    return !equals || (read_severity(&appliance->faults[number], equals + 1, &severity, error) &&
                       set_severity(simulation, number, severity, error));
}

/* `40min..41min`: the door stands open from then until then. */
static bool add_opening(Simulation *simulation, const char *typed, Error *error)
{
    OvenTerms *terms = &simulation->terms;
    const int n = terms->opening_count;
    double from, until;
    if (!quantity_read_range(text_of(typed), UNIT_SECOND, &from, &until, error)) return false;
    if (n == OVEN_MOST_OPENINGS)
        return error_set(error, ERROR_USAGE, typed, "at most %d times --open", OVEN_MOST_OPENINGS);
    if (from < 0 || until - from < 1 || (n > 0 && from <= terms->open_until_second[n - 1]))
        return error_set(error, ERROR_INCONSISTENT, typed,
                         "openings of a second and more, the earlier one first");
    terms->open_from_second[n] = from;
    terms->open_until_second[n] = until;
    terms->opening_count++;
    return true;
}

static bool read_lists(Simulation *simulation, Error *error)
{
    const Invocation *invocation = simulation->invocation;
    for (int i = 0; i < invocation->option_count; i++) {
        const OptionGiven *given = &invocation->options[i];
        if (given->code == OPTION_FAULT && !add_fault(simulation, given->words[0], error)) return false;
        if (given->code == OPTION_OPEN && !add_opening(simulation, given->words[0], error)) return false;
    }
    return true;
}

/* A temperature option, its limits in the error as the option's. */
static bool read_celsius(const char *typed, double least, double most, double *celsius, Error *error)
{
    if (!quantity_read_as(text_of(typed), UNIT_CELSIUS, celsius, error)) return false;
    if (*celsius >= least && *celsius <= most) return true;
    return error_set(error, ERROR_OUT_OF_RANGE, typed, "a temperature from %gC to %gC", least, most);
}

/* Without --minutes two hours: preheat, and the cycles that the oven settles to. */
static bool read_terms(Simulation *simulation, Error *error)
{
    const Invocation *invocation = simulation->invocation;
    const char *set = cli__option(invocation, OPTION_SET, NULL);
    const char *typed = cli__option(invocation, OPTION_MINUTES, "120");
    double minutes;
    if (!set)
        return error_set(error, ERROR_USAGE, "no --set", "--set T, the temperature that the oven is set to");
    if (!read_celsius(set, LEAST_SET, MOST_SET, &simulation->set_celsius, error) ||
        !read_celsius(cli__option(invocation, OPTION_AMBIENT, "22C"), -20, 60, &simulation->ambient_celsius,
                      error))
        return false;
    if (!text_read_number(text_of(typed), &minutes) || !(minutes >= 1 && minutes <= MOST_MINUTES))
        return error_set(error, ERROR_USAGE, typed, "--minutes N, a plain number from 1 to %g", MOST_MINUTES);
    simulation->terms.second = minutes * 60;
    simulation->terms.sample_second = EVERY_SECOND;
    simulation->terms.sample_count = (int)floor(minutes * 60 / EVERY_SECOND + 1e-9) + 1;
    simulation->terms.start_celsius = simulation->terms.load_celsius = simulation->ambient_celsius;
    return true;
}

static bool heats(const ThermalModel *model, int function)
{
    return function >= 0 && model->functions[function].heating_count > 0;
}

/* The function that was typed, or the one of an ordinary run; it must heat. */
static bool read_function(Simulation *simulation, Error *error)
{
    const Appliance *appliance = &simulation->appliance;
    const char *typed = cli__option(simulation->invocation, OPTION_FUNCTION, NULL);
    simulation->function = thermal_usual_function(&simulation->model);
    if (typed && !appliance_need_function(appliance, typed, &simulation->function, error)) return false;
    if (heats(&simulation->model, simulation->function)) return true;
    TextBuilder list = text_builder(simulation->invocation->arena, sizeof error->expected - 60);
    for (int f = 0; f < appliance->function_count; f++)
        if (heats(&simulation->model, f))
            text_addf(&list, "%s%s", list.length ? ", " : "", appliance->functions[f].name);
    return error_set(error, ERROR_INCONSISTENT, typed ? typed : appliance->name,
                     "a function that heats the oven: %s",
                     list.length ? text_string(&list) : "this appliance has none");
}

/* The middle of the severities that stand for a fault; the one that was typed is all of them. */
static void find_variants(Simulation *simulation)
{
    for (int i = 0; i < simulation->fault_count; i++) {
        const Fault *fault = &simulation->appliance.faults[simulation->faults[i]];
        assert(fault->severity_count > 0);
        simulation->variants[i] =
            simulation->circuit.first_variant[simulation->faults[i]] + fault->severity_count / 2;
    }
}

static bool take_traces(Simulation *simulation, Error *error)
{
    Arena *arena = simulation->invocation->arena;
    const size_t count = (size_t)simulation->terms.sample_count;
    for (int h = 0; h < simulation->model.heater_count; h++)
        simulation->has_heat[simulation->model.heat_of[h]] = true;
    for (int k = 0; k < OVEN_TRACES; k++)
        if (!(simulation->celsius[k] = ARENA_ARRAY(arena, float, count))) return error_memory(error);
    for (int e = 0; e < OVEN_HEATS; e++)
        if (simulation->has_heat[e] && !(simulation->watt[e] = ARENA_ARRAY(arena, float, count)))
            return error_memory(error);
    return true;
}

static bool bake(Simulation *simulation, Error *error)
{
    Oven oven;
    const Oven *lane = &oven;
    OvenRun run = {.trace = {NULL}};
    if (!take_traces(simulation, error)) return false;
    memcpy(run.trace, simulation->celsius, sizeof run.trace);
    memcpy(run.watt, simulation->watt, sizeof run.watt);
    if (!thermal_oven(&simulation->model, simulation->function, simulation->set_celsius, simulation->variants,
                      simulation->fault_count, NULL, &oven))
        return error_set(error, ERROR_DEFECT, "a function without heat", "one that heats");
    oven_simulate(&lane, &run, 1, &simulation->terms, OVEN_DOUBLE);
    return true;
}

/* The names of the columns are read by other programs; they stay as they are. */
static void write_table(const Simulation *simulation, TextBuilder *out)
{
    static const char *const heat_columns[OVEN_HEATS] = {"bottom_watt", "top_watt", "ring_watt"};
    text_add(out, "second,centre_celsius,sensor_celsius,liner_celsius");
    for (int e = 0; e < OVEN_HEATS; e++)
        if (simulation->has_heat[e]) text_addf(out, ",%s", heat_columns[e]);
    text_add(out, "\n");
    for (int i = 0; i < simulation->terms.sample_count; i++) {
        text_addf(out, "%.0f", i * EVERY_SECOND);
        for (int k = 0; k < OVEN_TRACES; k++) text_addf(out, ",%.2f", (double)simulation->celsius[k][i]);
        for (int e = 0; e < OVEN_HEATS; e++)
            if (simulation->has_heat[e]) text_addf(out, ",%.0f", (double)simulation->watt[e][i]);
        text_add(out, "\n");
    }
}

bool cli__simulate(Invocation *invocation, Error *error)
{
    Simulation *simulation = arena_take(invocation->arena, sizeof *simulation);
    const char *file = cli__option(invocation, OPTION_OUTPUT, NULL);
    if (!simulation) return error_memory(error);
    *simulation = (Simulation){.invocation = invocation};
    if (!load_appliance_with_options(invocation, invocation->arguments[0], &simulation->appliance, error) ||
        !read_terms(simulation, error) || !read_lists(simulation, error) ||
        !circuit_begin(&simulation->appliance, simulation->ambient_celsius, invocation->arena,
                       &simulation->circuit, error) ||
        !thermal_begin(&simulation->circuit, &simulation->model, error) || !read_function(simulation, error))
        return false;
    find_variants(simulation);
    if (!simulation->model.has_own_dimensions)
        text_addf(&invocation->notes,
                  "ovenwright: %s gives no sizes under 'thermal': a typical oven of 600 x 420 x 480 mm is "
                  "simulated\n",
                  simulation->appliance.description->file);
    if (!bake(simulation, error)) return false;
    TextBuilder table = text_builder(invocation->arena, TABLE_LIMIT);
    write_table(simulation, file ? &table : &invocation->out);
    if (!file) return true;
    if (table.is_cut) return error_memory(error);
    return files_write(file, (Text){text_string(&table), table.length}, error);
}
