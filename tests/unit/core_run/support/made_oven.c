/* made_oven.c: see made_oven.h. Explicit Euler steps of 0.25 s: the shortest time constant is some 10 s, and
 * the truth and the log come from the same steps, so their small error is in both. */
#include "made_oven.h"

#include <math.h>
#include <string.h>

static const double step_second = 0.25;

typedef struct {
    double second, element, air, wall, sensor;
    bool is_on;
} State;

static double between(RandomStream *stream, double low, double high)
{
    return low + (high - low) * random_uniform(stream);
}

MadeOven made_oven(RandomStream *stream)
{
    MadeOven oven = {.set_celsius = between(stream, 120, 260),
                     .ambient_celsius = between(stream, 15, 30),
                     .watt = between(stream, 1800, 3500),
                     .element_heat = between(stream, 400, 1200),
                     .air_heat = between(stream, 1500, 4000),
                     .wall_heat = between(stream, 5000, 11000),
                     .element_to_air = between(stream, 5, 9),
                     .element_to_wall = between(stream, 2, 6),
                     .air_to_wall = between(stream, 15, 35),
                     .out = between(stream, 2.5, 4.5),
                     .sensor_second = between(stream, 15, 60),
                     .half_differential = between(stream, 1.5, 7),
                     .control_error = between(stream, -20, 20)};
    if (random_uniform(stream) < 0.3) {
        oven.door_count = 1 + (int)random_below(stream, 2);
        oven.door_length = between(stream, 10, 40);
        for (int i = 0; i < oven.door_count; i++) oven.door_second[i] = between(stream, 2000, 5500);
    }
    return oven;
}

MadeFlaws made_flaws(RandomStream *stream)
{
    static const double intervals[] = {2, 5, 10, 15, 30, 60};
    MadeFlaws flaws = {.interval_second = intervals[random_below(stream, 6)],
                       .length_second = between(stream, 4500, 7200),
                       .noise_kelvin = between(stream, 0, 0.8),
                       .step_kelvin = random_uniform(stream) < 0.5 ? 1 / 1.8 : 0.1,
                       .is_jittered = random_uniform(stream) < 0.3};
    if (random_uniform(stream) < 0.3) flaws.spikes = 1 + (int)random_below(stream, 4);
    if (random_uniform(stream) < 0.3) flaws.gaps = 1 + (int)random_below(stream, MADE_MOST_GAPS);
    return flaws;
}

static bool is_door_open(const MadeOven *oven, double second)
{
    for (int i = 0; i < oven->door_count; i++)
        if (second >= oven->door_second[i] && second < oven->door_second[i] + oven->door_length) return true;
    return false;
}

static void step(const MadeOven *oven, State *state, bool door_open)
{
    const double low = oven->set_celsius + oven->control_error - oven->half_differential;
    const double high = low + 2 * oven->half_differential;
    if (state->sensor < low) state->is_on = true;
    if (state->sensor > high) state->is_on = false;
    const double to_air = oven->element_to_air * (state->element - state->air);
    const double to_wall = oven->element_to_wall * (state->element - state->wall);
    const double across = oven->air_to_wall * (state->air - state->wall);
    const double away = (door_open ? 80 : 0) * (state->air - oven->ambient_celsius);
    const double lost = oven->out * (state->wall - oven->ambient_celsius);
    state->element += step_second * ((state->is_on ? oven->watt : 0) - to_air - to_wall) / oven->element_heat;
    state->sensor += step_second * (state->air - state->sensor) / oven->sensor_second;
    state->air += step_second * (to_air - across - away) / oven->air_heat;
    state->wall += step_second * (to_wall + across - lost) / oven->wall_heat;
    state->second += step_second;
}

static State cold(const MadeOven *oven)
{
    const double t = oven->ambient_celsius;
    return (State){0, t, t, t, t, true};
}

double made_true_mean(const MadeOven *oven)
{
    State state = cold(oven);
    double sum = 0, whole_sum = 0;
    long steps = 0, whole_steps = 0;
    bool has_begun = false;
    while (state.second < 4 * 3600) {
        const bool was_on = state.is_on;
        step(oven, &state, false);
        if (state.second > 3 * 3600 && state.is_on && !was_on) {
            if (has_begun) whole_sum = sum, whole_steps = steps;
            has_begun = true;
        }
        if (has_begun) sum += state.air, steps++;
    }
    return whole_steps ? whole_sum / (double)whole_steps : NAN;
}

static double read_off(double celsius, const MadeFlaws *flaws, RandomStream *stream)
{
    const double shown = celsius + flaws->offset_kelvin + flaws->noise_kelvin * random_normal(stream);
    return floor(shown / flaws->step_kelvin + 0.5) * flaws->step_kelvin;
}

/* Takes whole stretches out of the middle of the log. */
static void cut_gaps(const MadeFlaws *flaws, RandomStream *stream, MadeLog *log)
{
    for (int g = 0; g < flaws->gaps; g++) {
        const double from = between(stream, 1500, flaws->length_second - 600),
                     length = between(stream, 120, 400);
        int kept = 0;
        for (int i = 0; i < log->count; i++) {
            if (log->second[i] > from && log->second[i] < from + length) continue;
            log->second[kept] = log->second[i];
            log->celsius[kept++] = log->celsius[i];
        }
        log->count = kept;
    }
}

void made_log(const MadeOven *oven, const MadeFlaws *flaws, RandomStream *stream, MadeLog *log)
{
    State state = cold(oven);
    log->count = 0;
    double next = 0;
    while (state.second < flaws->length_second && log->count < MADE_MOST_ROWS) {
        if (state.second >= next) {
            log->second[log->count] = state.second;
            log->celsius[log->count++] = read_off(state.air, flaws, stream);
            const double jitter = flaws->is_jittered ? between(stream, -0.2, 0.2) : 0;
            next = flaws->interval_second * (log->count + jitter);
        }
        step(oven, &state, is_door_open(oven, state.second));
    }
    for (int i = 0; i < flaws->spikes; i++) {
        const uint32_t row = random_below(stream, (uint32_t)log->count);
        log->celsius[row] += (random_uniform(stream) < 0.5 ? -1 : 1) * between(stream, 25, 150);
    }
    cut_gaps(flaws, stream, log);
}
