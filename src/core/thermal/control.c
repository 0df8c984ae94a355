/* control.c: at which temperatures of its sensor the control switches, what it then switches, and the whole
 * oven.
 *
 *   off = set + correction + setting + shift + half the differential; on = off - differential
 *
 * 'Correction' is what the maker found between the sensor's place and the middle of the oven, so that a
 * healthy oven's mean is what is set. Ohms that a fault adds to the sensor's loop move both temperatures: the
 * control waits for R(off), and the sensor has it when R(t) + added = R(off). */
#include "core/thermal/thermal_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Air of a fan at full strength, W/m2K, on panels, on a rack or an element, on a ring right in the stream; on
 * sensor and probe as a multiple of natural convection. Common practice, no source. */
static const double FAN_PANEL = 20, FAN_RACK = 40, FAN_RING = 70, FAN_SENSOR_RATIO = 2.5;
static const double LEAST_DIFFERENTIAL = 0.1; /* kelvin: below, the control would switch without end */
static const double LEAST_PIECE = 0.1;        /* seconds: nothing in the oven follows a shorter one */

/* Sum of the severities of faults with this effect. */
static double sum_of(const ThermalModel *model, EffectType effect, const int *variants, int count)
{
    double sum = 0;
    for (int i = 0; i < count; i++)
        if (thermal__fault(model, variants[i])->mode->effect == effect)
            sum += thermal__severity(model, variants[i]);
    return sum;
}

static bool has(const ThermalModel *model, EffectType effect, const int *variants, int count)
{
    for (int i = 0; i < count; i++)
        if (thermal__fault(model, variants[i])->mode->effect == effect) return true;
    return false;
}

const DescribedPart *thermal__sensing(const ThermalModel *model)
{
    const int part = appliance_find_part(model->appliance, model->appliance->description->regulation.senses);
    return part >= 0 ? model->appliance->parts[part].described : NULL;
}

bool thermal__has_tube(const ThermalModel *model)
{
    const DescribedPart *sensor = thermal__sensing(model);
    return sensor && sensor->has_sensor;
}

/* Where a sensor with `added` ohms in its loop is when the control takes it to be at `celsius`. */
static double misled(const ThermalModel *model, double celsius, double added)
{
    const DescribedPart *sensor = thermal__sensing(model);
    double ohm, there = celsius;
    Error ignored;
    if (!thermal__has_tube(model) || fabs(added) < 1e-3) return celsius;
    if (!sensor_ohm(&sensor->sensor, celsius, &ohm, &ignored)) return celsius;
    if (!sensor_celsius_from_ohm(&sensor->sensor, ohm - added, &there, &ignored))
        return added > 0 ? -200 : 800; /* never warm enough, never cold enough: off the sensor's scale */
    return there;
}

static double added_ohm(const CircuitMeter *live, const int *variants, int count)
{
    const double sound = circuit_sensed_ohm(live, NULL, 0), seen = circuit_sensed_ohm(live, variants, count);
    return isfinite(sound) && isfinite(seen) ? seen - sound : 0;
}

static void set_thermostat(const ThermalModel *model, double middle_celsius, double added,
                           const int *variants, int count, const ThermalFamily *family, OvenControl *control)
{
    double spread = model->appliance->description->regulation.differential_kelvin;
    if (family) spread *= thermal__ratio(family, THERMAL_SPREAD);
    for (int i = 0; i < count; i++)
        if (thermal__fault(model, variants[i])->mode->effect == EFFECT_SPREAD)
            spread *= thermal__severity(model, variants[i]);
    spread = fmax(spread, LEAST_DIFFERENTIAL);
    const double middle = middle_celsius + sum_of(model, EFFECT_SHIFT, variants, count) +
                          (family ? model->setting_kelvin * family->trait[THERMAL_SETTING] : 0);
    control->off_kelvin = misled(model, middle + spread / 2, added) + OVEN_ZERO_CELSIUS;
    control->on_kelvin = fmin(misled(model, middle - spread / 2, added) + OVEN_ZERO_CELSIUS,
                              control->off_kelvin - LEAST_DIFFERENTIAL);
}

/* A fault of the same part with this effect, as a variant; -1 when there is none. */
static int sister(const ThermalModel *model, int part, EffectType effect)
{
    const int fault = appliance_find_effect(model->appliance, part, effect);
    return fault < 0 ? -1 : model->circuit->first_variant[fault];
}

/* The variants, with those of one effect replaced by a sister of another: a relay that chatters as one that
 * is open, one that sticks as one that is welded. */
static bool replaced(const ThermalModel *model, EffectType effect, EffectType by, const int *variants,
                     int count, int *out)
{
    bool is_other = false;
    for (int i = 0; i < count; i++) {
        const Fault *fault = thermal__fault(model, variants[i]);
        out[i] = variants[i];
        if (fault->mode->effect != effect) continue;
        const int other = sister(model, fault->part, by);
        if (other < 0) continue;
        out[i] = other;
        is_other = true;
    }
    return is_other;
}

/* Does this piece of a pattern close a contact of the part? */
static bool works_here(const ThermalModel *model, const ThermalSegment *segment, int part)
{
    return appliance_closes(model->appliance, &model->circuit->settings[segment->live.connection.function],
                            part);
}

/* Does the part close a contact in some piece of the pattern? */
static bool works_in(const ThermalModel *model, const ThermalFunction *function, int part)
{
    for (int s = 0; s < function->heating_count; s++)
        if (works_here(model, &function->heating[s], part)) return true;
    return false;
}

/* The watts while a contact that was told to open sticks; a relay at rest has nothing to let go of. */
static void held_watts(const ThermalModel *model, const ThermalFunction *function, const int *variants,
                       int count, double watt[OVEN_HEATS])
{
    int held[CIRCUIT_MOST_FAULTS];
    replaced(model, EFFECT_STICK, EFFECT_CLOSE, variants, count, held);
    for (int i = 0; i < count; i++)
        if (!works_in(model, function, thermal__fault(model, variants[i])->part)) held[i] = variants[i];
    thermal__watts(model, &function->idle, held, count, watt);
}

/* A chattering contact heats for its share of the time; faster than anything in the oven can follow. */
static void watts_of(const ThermalModel *model, const CircuitMeter *live, const int *variants, int count,
                     double watt[OVEN_HEATS])
{
    int open[CIRCUIT_MOST_FAULTS];
    double without[OVEN_HEATS], share = 1;
    thermal__watts(model, live, variants, count, watt);
    if (!replaced(model, EFFECT_CHATTER, EFFECT_OPEN, variants, count, open)) return;
    for (int i = 0; i < count; i++)
        if (thermal__fault(model, variants[i])->mode->effect == EFFECT_CHATTER)
            share *= thermal__severity(model, variants[i]);
    thermal__watts(model, live, open, count, without);
    for (int e = 0; e < OVEN_HEATS; e++) watt[e] = share * watt[e] + (1 - share) * without[e];
}

/* How long before the end of piece `s` the pattern, which repeats, last ceased to close a contact of the
 * part; infinite where it never does. */
static double since_told(const ThermalModel *model, const ThermalSegment *segments, int count, int s,
                         int part)
{
    double since = 0;
    for (int back = 0; back < count; back++) {
        const int at = (s - back + count) % count;
        if (works_here(model, &segments[at], part)) return since;
        since += segments[at].until_second - (at > 0 ? segments[at - 1].until_second : 0);
    }
    return INFINITY;
}

/* The variants in piece `s`, those that stick welded as long as they hold; *until is where the first of them
 * lets go, if that is before the piece ends. */
static void hold(const ThermalModel *model, const ThermalSegment *segments, int segment_count, int s,
                 double from, const int *variants, int count, int *held, double *until)
{
    const double end = segments[s].until_second;
    *until = end;
    for (int i = 0; i < count; i++) {
        const Fault *fault = thermal__fault(model, variants[i]);
        held[i] = variants[i];
        if (fault->mode->effect != EFFECT_STICK || works_here(model, &segments[s], fault->part)) continue;
        const double since = since_told(model, segments, segment_count, s, fault->part),
                     lets_go = end - since + thermal__severity(model, variants[i]);
        if (!isfinite(since) || lets_go < from + LEAST_PIECE) continue;
        replaced(model, EFFECT_STICK, EFFECT_CLOSE, &variants[i], 1, &held[i]);
        if (lets_go < end - LEAST_PIECE) *until = fmin(*until, lets_go);
    }
}

/* A contact that lets go late heats on into the pieces that follow: of nine seconds in sixty one that is a
 * minute late makes all sixty. A pattern has no room for more than OVEN_MOST_SEGMENTS pieces: the last is not
 * split. */
static void set_pattern(const ThermalModel *model, const ThermalSegment *segments, int segment_count,
                        const int *variants, int count, OvenPattern *pattern)
{
    int held[CIRCUIT_MOST_FAULTS];
    double from = 0;
    pattern->count = 0;
    for (int s = 0; s < segment_count;) {
        double until;
        hold(model, segments, segment_count, s, from, variants, count, held, &until);
        const int left = segment_count - s;
        if (pattern->count + left >= OVEN_MOST_SEGMENTS) until = segments[s].until_second;
        pattern->until_second[pattern->count] = until;
        watts_of(model, &segments[s].live, held, count, pattern->watt[pattern->count]);
        pattern->count++;
        from = until;
        if (until >= segments[s].until_second) s++;
    }
}

/* The cutout of the appliance, its temperatures moved by a fault of it. */
static void set_cutout(const ThermalModel *model, const int *variants, int count, OvenControl *control)
{
    control->trip_kelvin = INFINITY;
    control->reset_kelvin = -INFINITY;
    if (model->cutout < 0) return;
    const Part *part = &model->appliance->parts[model->cutout];
    const double moved = sum_of(model, EFFECT_TRIP, variants, count);
    const double resets = appliance_number(part, "resets", -1);
    control->trip_kelvin = appliance_number(part, "trips", 0) + moved + OVEN_ZERO_CELSIUS;
    if (resets >= 0) control->reset_kelvin = resets + moved + OVEN_ZERO_CELSIUS;
}

void thermal_power(const ThermalModel *model, int number, const int *variants, int count, ThermalPower *power)
{
    const ThermalFunction *function = &model->functions[number];
    memset(power, 0, sizeof *power); /* unused pieces too: equal powers are equal bytes */
    if (function->heating_count == 0) return;
    const CircuitMeter *heating = &function->heating[0].live;
    set_pattern(model, function->preheat, function->preheat_count, variants, count, &power->preheat);
    set_pattern(model, function->heating, function->heating_count, variants, count, &power->heating);
    watts_of(model, &function->idle, variants, count, power->idle_watt);
    memcpy(power->held_watt, power->idle_watt, sizeof power->held_watt);
    if (has(model, EFFECT_STICK, variants, count))
        held_watts(model, function, variants, count, power->held_watt);
    const int open = model->cutout >= 0 ? sister(model, model->cutout, EFFECT_OPEN) : -1;
    if (open >= 0) thermal__watts(model, heating, &open, 1, power->tripped_watt);
    if (!has(model, EFFECT_STILL, variants, count))
        power->fan = thermal__fan(model, heating, variants, count);
    power->added_ohm = added_ohm(heating, variants, count);
}

static void set_fan(const ThermalModel *model, double strength, OvenNetwork *network)
{
    if (strength <= 0) return;
    for (int i = OVEN_BOTTOM; i < OVEN_SENSOR; i++) {
        const double full = i == OVEN_RING                     ? FAN_RING
                            : i == OVEN_RACK || i < OVEN_FLOOR ? FAN_RACK
                                                               : FAN_PANEL;
        network->forced[i] = strength * full * model->area[i];
    }
    network->forced[OVEN_SENSOR] = strength * FAN_SENSOR_RATIO * network->free[OVEN_SENSOR];
    network->forced[OVEN_CENTRE] = strength * FAN_SENSOR_RATIO * network->free[OVEN_CENTRE];
}

static void scale_watts(OvenControl *control, double factor)
{
    for (int e = 0; e < OVEN_HEATS; e++) {
        for (int s = 0; s < OVEN_MOST_SEGMENTS; s++) {
            control->preheat.watt[s][e] *= factor;
            control->heating.watt[s][e] *= factor;
        }
        control->idle_watt[e] *= factor;
        control->held_watt[e] *= factor;
    }
}

bool thermal_oven_with(const ThermalModel *model, int number, double set_celsius, const ThermalPower *power,
                       const int *variants, int count, const ThermalFamily *family, Oven *oven)
{
    assert(number >= 0 && number < model->appliance->function_count);
    const ThermalFunction *function = &model->functions[number];
    if (function->heating_count == 0) return false;
    memset(oven, 0, sizeof *oven); /* unused pieces too: equal ovens are equal bytes */
    oven->network = model->network;
    set_fan(model, power->fan, &oven->network);
    thermal__spoil(model, variants, count, oven);
    OvenControl *control = &oven->control;
    control->preheat = power->preheat;
    control->heating = power->heating;
    memcpy(control->idle_watt, power->idle_watt, sizeof control->idle_watt);
    memcpy(control->held_watt, power->held_watt, sizeof control->held_watt);
    memcpy(control->tripped_watt, power->tripped_watt, sizeof control->tripped_watt);
    control->stick_second = sum_of(model, EFFECT_STICK, variants, count);
    set_thermostat(model, set_celsius + function->correction_kelvin, power->added_ohm, variants, count,
                   family, control);
    set_cutout(model, variants, count, control);
    if (family) {
        thermal__differ(family, &oven->network);
        scale_watts(control, thermal__ratio(family, THERMAL_POWER));
    }
    thermal__sum_star(&oven->network);
    return true;
}

bool thermal_oven(const ThermalModel *model, int number, double set_celsius, const int *variants, int count,
                  const ThermalFamily *family, Oven *oven)
{
    ThermalPower power;
    thermal_power(model, number, variants, count, &power);
    return thermal_oven_with(model, number, set_celsius, &power, variants, count, family, oven);
}
