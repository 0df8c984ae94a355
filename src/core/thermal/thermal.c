/* thermal.c: a model of an appliance's oven, calibrated as its maker would, and small things asked of it.
 *
 * The maker's calibration: a sensor at the wall does not have the temperature of the middle of the oven, so
 * its control is made to settle that much higher or lower. We find the difference as the maker does, by
 * baking: an hour and a half at THERMAL_MADE_FOR, the mean of the centre over whole cycles, a few rounds. */
#include "core/thermal/thermal.h"

#include "base/text.h"
#include "core/heat/heat.h"
#include "core/thermal/thermal_private.h"

#include <assert.h>
#include <math.h>

static const double LEAST_HYSTERESIS = 1; /* kelvin, of a cutout; common practice, no source */
static const double CALIBRATION_SECOND = 5400, CALIBRATION_FROM = 2400, CALIBRATION_SAMPLE = 10;
enum { CALIBRATION_ROUNDS = 3, CALIBRATION_SAMPLES = 541, CALIBRATION_SWITCHES = 128 };

/* What heats the oven, and which side. */
static bool list_heaters(ThermalModel *model)
{
    const Appliance *appliance = model->appliance;
    const size_t most = (size_t)appliance->branch_count;
    model->heaters = ARENA_ARRAY(model->circuit->arena, int, most);
    model->heat_of = ARENA_ARRAY(model->circuit->arena, int, most);
    model->fans = ARENA_ARRAY(model->circuit->arena, int, most);
    if (!model->heaters || !model->heat_of || !model->fans) return false;
    static const char *const sides[OVEN_HEATS] = {"bottom", "top", "ring"};
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        const DescribedPart *described = appliance->parts[branch->part].described;
        if (appliance_part_has_role(appliance, branch->part, "fan") && branch->rated_watt > 0)
            model->fans[model->fan_count++] = b;
        if (branch->type != BRANCH_HEATER || !described || !described->heats) continue;
        for (int e = 0; e < OVEN_HEATS; e++) {
            if (!text_equal(described->heats, sides[e])) continue;
            model->heat_of[model->heater_count] = e;
            model->heaters[model->heater_count++] = b;
        }
    }
    return true;
}

static int find_cutout(const Appliance *appliance)
{
    for (int p = 0; p < appliance->part_count; p++)
        if (appliance->parts[p].described && appliance_number(&appliance->parts[p], "trips", -1) > 0)
            return p;
    return -1;
}

/* One that resets while it is still as hot as where it trips would switch without end. */
static bool check_cutout(const ThermalModel *model, Error *error)
{
    if (model->cutout < 0) return true;
    const Part *part = &model->appliance->parts[model->cutout];
    const double trips = appliance_number(part, "trips", 0), resets = appliance_number(part, "resets", -1);
    if (resets < trips - LEAST_HYSTERESIS) return true;
    error_set(error, ERROR_INCONSISTENT, part->name,
              "a cutout that resets at least %g K below where it trips", LEAST_HYSTERESIS);
    return error_at(error, model->appliance->description->file, part->described->line, 0);
}

/* Mean of the centre over whole cycles, from the first call after CALIBRATION_FROM to the last. */
static double settled_mean(const float *centre, const double *switches, int switch_count)
{
    int first = 0, last;
    while (first < switch_count && switches[first] < CALIBRATION_FROM) first++;
    last = switch_count - 1 - (switch_count - 1 - first) % 2;
    if (last - first < 2) return NAN;
    double sum = 0;
    int count = 0;
    for (int i = (int)(switches[first] / CALIBRATION_SAMPLE) + 1; i * CALIBRATION_SAMPLE <= switches[last];
         i++) {
        sum += (double)centre[i];
        count++;
    }
    return sum / count;
}

/* All functions side by side. One that cannot hold the temperature keeps the correction it has. */
static bool calibrate(ThermalModel *model)
{
    const int functions = model->appliance->function_count;
    Arena *arena = model->circuit->arena;
    Oven *ovens = ARENA_ARRAY(arena, Oven, (size_t)functions);
    const Oven **lanes = ARENA_ARRAY(arena, const Oven *, (size_t)functions);
    OvenRun *runs = ARENA_ARRAY(arena, OvenRun, (size_t)functions);
    float *traces = ARENA_ARRAY(arena, float, (size_t)functions *CALIBRATION_SAMPLES);
    double *switches = ARENA_ARRAY(arena, double, (size_t)functions *CALIBRATION_SWITCHES);
    int *which = ARENA_ARRAY(arena, int, (size_t)functions);
    if (!ovens || !lanes || !runs || !traces || !switches || !which) return false;
    const double ambient = model->circuit->ambient_celsius;
    const OvenTerms terms = {.second = CALIBRATION_SECOND,
                             .sample_second = CALIBRATION_SAMPLE,
                             .sample_count = CALIBRATION_SAMPLES,
                             .start_celsius = ambient,
                             .load_celsius = ambient};
    for (int round = 0; round < CALIBRATION_ROUNDS; round++) {
        int count = 0;
        for (int f = 0; f < functions; f++) {
            if (!thermal_oven(model, f, THERMAL_MADE_FOR_CELSIUS, NULL, 0, NULL, &ovens[count])) continue;
            runs[count] = (OvenRun){.trace = {traces + count * CALIBRATION_SAMPLES},
                                    .switch_second = switches + count * CALIBRATION_SWITCHES,
                                    .switch_room = CALIBRATION_SWITCHES};
            lanes[count] = &ovens[count];
            which[count++] = f;
        }
        if (count > 0) oven_simulate(lanes, runs, count, &terms, OVEN_SINGLE);
        for (int i = 0; i < count; i++) {
            const int switched =
                runs[i].switch_count < CALIBRATION_SWITCHES ? runs[i].switch_count : CALIBRATION_SWITCHES;
            const double mean = settled_mean(runs[i].trace[0], runs[i].switch_second, switched);
            if (isfinite(mean))
                model->functions[which[i]].correction_kelvin += THERMAL_MADE_FOR_CELSIUS - mean;
        }
    }
    return true;
}

bool thermal_begin(Circuit *circuit, ThermalModel *model, Error *error)
{
    const Appliance *appliance = circuit->appliance;
    *model = (ThermalModel){.appliance = appliance, .circuit = circuit, .cutout = find_cutout(appliance)};
    model->setting_kelvin = thermal__has_tube(model) ? THERMAL_SETTING_CONTROL : THERMAL_SETTING_THERMOSTAT;
    model->functions = ARENA_ARRAY(circuit->arena, ThermalFunction, (size_t)appliance->function_count);
    if (!model->functions || !list_heaters(model)) return error_memory(error);
    if (!check_cutout(model, error) || !thermal__build(model, error) || !thermal__stages(model, error))
        return false;
    return calibrate(model) || error_memory(error);
}

int thermal_usual_function(const ThermalModel *model)
{
    int any = -1;
    for (int f = 1; f < model->appliance->function_count; f++) {
        double watt[OVEN_HEATS];
        if (model->functions[f].heating_count == 0) continue;
        thermal__watts(model, &model->functions[f].heating[0].live, NULL, 0, watt);
        if (watt[0] > 1 || watt[2] > 1) return f;
        if (any < 0) any = f;
    }
    return any;
}

/* The shelf gets hot with the liner, and counts to the walls from here on: it touches what stands on it along
 * a few wires only. */
static void move_rack_to_walls(OvenNetwork *network)
{
    network->per_capacity[OVEN_WALLS] =
        1 / (1 / network->per_capacity[OVEN_WALLS] + 1 / network->per_capacity[OVEN_RACK]);
    network->star[OVEN_WALLS] += network->star[OVEN_RACK];
    network->free[OVEN_WALLS] += network->free[OVEN_RACK];
    network->forced[OVEN_WALLS] += network->forced[OVEN_RACK];
}

void thermal_put_load(const ThermalModel *model, const ThermalLoad *load, Oven *oven)
{
    OvenNetwork *network = &oven->network;
    const double fan = network->forced[OVEN_WALLS] / model->area[OVEN_WALLS]; /* W/m2K of a panel */
    assert(load->outer_joule_per_kelvin > 0 && load->core_joule_per_kelvin > 0);
    move_rack_to_walls(network);
    network->per_capacity[OVEN_RACK] = 1 / load->outer_joule_per_kelvin;
    network->per_capacity[OVEN_CORE] = 1 / load->core_joule_per_kelvin;
    network->metal[4] = load->between_watt_per_kelvin;
    network->star[OVEN_RACK] = load->emissivity * load->area * HEAT_STEFAN;
    network->free[OVEN_RACK] = load->area * 2.2; /* plates of this size; Incropera 9.26, from memory */
    network->forced[OVEN_RACK] = load->area * fan;
    thermal__sum_star(network);
}

double thermal_sheath_celsius(const ThermalModel *model, int heat, double share)
{
    double rated = 0;
    for (int i = 0; i < model->heater_count; i++)
        if (model->heat_of[i] == heat) rated += model->appliance->branches[model->heaters[i]].rated_watt;
    Oven oven = {.network = model->network};
    const Oven *lane = &oven;
    OvenRun run = {.trace = {NULL}};
    oven.control.heating = (OvenPattern){.until_second = {1}, .count = 1};
    oven.control.heating.watt[0][heat] = rated * share;
    oven.control.off_kelvin = oven.control.trip_kelvin = INFINITY;
    const double ambient = model->circuit->ambient_celsius;
    const OvenTerms terms = {
        .second = THERMAL_WATCH_SECOND, .start_celsius = ambient, .load_celsius = ambient};
    oven_simulate(&lane, &run, 1, &terms, OVEN_DOUBLE);
    return run.end_celsius[OVEN_BOTTOM + heat];
}
