/* simulate.c: many ovens over the same terms, and what a lane's clock and control do between steps.
 *
 * Lives here: which kernel runs, duty pattern, door, thermostat, sticking contact, temperature cutout. Not
 * here: heat (kernel_private.h). Instants that the clock brings are known beforehand and end a step; those
 * that a temperature brings are found by the kernel, which then asks here what follows. */
#include "core/oven/oven_private.h"

#include <assert.h>
#include <math.h>

/* Steps beyond 2.8 times the shortest time constant make the method diverge; half of that follows the quick
 * nodes well enough, since they only follow the slow ones. */
static const double STEPS_PER_CONSTANT = 1.5;

/* Where linear coefficients are taken: elements at work, all else in an oven that bakes. */
static const double ELEMENT_KELVIN = 1000, OVEN_KELVIN = 480, DIFFERENCE_KELVIN = 50;

/* What each node gives for a kelvin, W/K: the diagonal of the balance. */
static void sum_conductances(const OvenNetwork *n, double sum[OVEN_NODES])
{
    static const OvenNode faces[4][2] = {
        {OVEN_BOTTOM, OVEN_FLOOR}, {OVEN_TOP, OVEN_CEILING}, {OVEN_RING, OVEN_WALLS}, {OVEN_DOOR, OVEN_PANE}};
    const double free = 1.25 * sqrt(sqrt(DIFFERENCE_KELVIN)),
                 cube = 4 * OVEN_KELVIN * OVEN_KELVIN * OVEN_KELVIN,
                 element_cube = 4 * ELEMENT_KELVIN * ELEMENT_KELVIN * ELEMENT_KELVIN;
    for (int i = 0; i < OVEN_NODES; i++) sum[i] = 0;
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) {
        const double air = n->forced[i] + n->free[i] * (i < OVEN_SENSOR ? free : 1);
        sum[i] += air + n->star[i] * (i < OVEN_FLOOR ? element_cube : cube);
        sum[OVEN_AIR] += air;
    }
    for (int k = 0; k < 4; k++) {
        sum[faces[k][0]] += n->facing[k] * (k < 3 ? element_cube : cube);
        sum[faces[k][1]] += n->facing[k] * cube;
    }
    sum[OVEN_AIR] += n->vent[0];
    sum[OVEN_SENSOR] += n->metal[5];
    sum[OVEN_DOOR] += n->metal[3];
    sum[OVEN_PANE] += n->metal[3] + n->outside_radiate[1] * cube + n->outside_free[1] * free;
    sum[OVEN_RACK] += n->metal[4];
    sum[OVEN_CORE] += n->metal[4];
}

static double longest_step(const OvenNetwork *network)
{
    double sum[OVEN_NODES], quickest = 0;
    sum_conductances(network, sum);
    for (int i = 0; i < OVEN_NODES; i++) quickest = fmax(quickest, sum[i] * network->per_capacity[i]);
    return quickest > 0 ? STEPS_PER_CONSTANT / quickest : INFINITY;
}

void oven__start(OvenLane *lane, const Oven *oven, OvenRun *run, const OvenTerms *terms)
{
    *lane = (OvenLane){.oven = oven, .run = run, .release_second = -1};
    lane->step_second =
        terms->step_second > 0 ? terms->step_second : fmin(OVEN_STEP_SECOND, longest_step(&oven->network));
    lane->is_preheating = oven->control.preheat.count > 0;
    lane->is_calling = terms->start_celsius + OVEN_ZERO_CELSIUS < oven->control.off_kelvin;
    lane->is_open = terms->opening_count > 0 && terms->open_from_second[0] <= 0;
}

static const OvenPattern *pattern_of(const OvenLane *lane)
{
    const OvenControl *control = &lane->oven->control;
    return lane->is_preheating ? &control->preheat : &control->heating;
}

/* The segment that a pattern is in; *phase: seconds since it last began. Patterns go on while the control
 * does not call, as a clock does. */
static int find_segment(const OvenPattern *pattern, double second, double *phase)
{
    const double period = pattern->until_second[pattern->count - 1];
    const double now = second + OVEN_EDGE_SECOND;
    *phase = now - period * floor(now / period);
    int segment = 0;
    while (segment + 1 < pattern->count && pattern->until_second[segment] <= *phase) segment++;
    return segment;
}

void oven__watts(const OvenLane *lane, double second, double watt[OVEN_HEATS])
{
    const OvenControl *control = &lane->oven->control;
    const OvenPattern *pattern = pattern_of(lane);
    double phase;
    const double *from = control->idle_watt;
    if (lane->is_tripped)
        from = control->tripped_watt;
    else if (lane->is_calling && pattern->count > 0)
        from = pattern->watt[find_segment(pattern, second, &phase)];
    else if (second + OVEN_EDGE_SECOND < lane->release_second)
        from = control->held_watt;
    for (int e = 0; e < OVEN_HEATS; e++) watt[e] = from[e];
}

/* When the door next moves, and whether it is open now. */
static double door_moves(const OvenTerms *terms, double second, bool *is_open)
{
    *is_open = false;
    for (int i = 0; i < terms->opening_count; i++) {
        if (second + OVEN_EDGE_SECOND < terms->open_from_second[i]) return terms->open_from_second[i];
        if (second + OVEN_EDGE_SECOND >= terms->open_until_second[i]) continue;
        *is_open = true;
        return terms->open_until_second[i];
    }
    return INFINITY;
}

double oven__longest_step(const OvenLane *lane, double second)
{
    const bool is_calm = !lane->is_open && second + OVEN_EDGE_SECOND >= lane->calm_second;
    return is_calm ? lane->step_second : fmin(lane->step_second, OVEN_OPEN_STEP_SECOND);
}

double oven__until(const OvenLane *lane, double second, const OvenTerms *terms)
{
    assert(isfinite(second));
    if (!lane->run || second > terms->second - OVEN_EDGE_SECOND) return second;
    double until = terms->second;
    const OvenPattern *pattern = pattern_of(lane);
    if (pattern->count > 1 && lane->is_calling) {
        double phase;
        const int segment = find_segment(pattern, second, &phase);
        until = fmin(until, second + pattern->until_second[segment] - phase + OVEN_EDGE_SECOND);
    }
    if (!lane->is_calling && second + OVEN_EDGE_SECOND < lane->release_second)
        until = fmin(until, lane->release_second);
    if (second + OVEN_EDGE_SECOND < lane->calm_second) until = fmin(until, lane->calm_second);
    bool is_open;
    until = fmin(until, door_moves(terms, second, &is_open));
    assert(until > second);
    return until;
}

static void note_switch(OvenLane *lane, double second)
{
    OvenRun *run = lane->run;
    if (run->switch_second && lane->switch_count < run->switch_room)
        run->switch_second[lane->switch_count] = second;
    lane->switch_count++;
}

void oven__switch(OvenLane *lane, OvenSwitch what, double second, const OvenTerms *terms)
{
    const OvenControl *control = &lane->oven->control;
    const bool was_open = lane->is_open;
    door_moves(terms, second, &lane->is_open);
    if (was_open && !lane->is_open) lane->calm_second = second + OVEN_CALM_SECOND;
    if (what == OVEN_SWITCH_TRIP) lane->is_tripped = !lane->is_tripped;
    if (what != OVEN_SWITCH_CALL) return;
    lane->is_calling = !lane->is_calling;
    if (!lane->is_calling) {
        lane->is_preheating = false;
        lane->release_second = second + control->stick_second;
    }
    note_switch(lane, second);
}

static OvenKernel *find_kernel(OvenPrecision precision, int *lanes)
{
    *lanes = precision == OVEN_SINGLE ? 8 : precision == OVEN_DOUBLE ? 4 : 1;
    if (precision == OVEN_SCALAR) return oven__run_scalar;
#ifdef __x86_64__
    if (__builtin_cpu_supports("avx2"))
        return precision == OVEN_SINGLE ? oven__run_single_wide : oven__run_double_wide;
#endif
    return precision == OVEN_SINGLE ? oven__run_single : oven__run_double;
}

void oven_simulate(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms,
                   OvenPrecision precision)
{
    int lanes;
    OvenKernel *run = find_kernel(precision, &lanes);
    assert(terms->second > 0 && terms->mean_from_second < terms->second);
    for (int done = 0; done < count; done += lanes)
        run(ovens + done, runs + done, count - done < lanes ? count - done : lanes, terms);
}

double oven_stored_joule(const OvenNetwork *network, const double celsius_of[OVEN_NODES], double celsius)
{
    double joule = 0;
    for (int i = 0; i < OVEN_NODES; i++) joule += (celsius_of[i] - celsius) / network->per_capacity[i];
    return joule;
}
