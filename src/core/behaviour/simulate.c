/* simulate.c: ovens to behaviours, eight at a time. */
#include "core/behaviour/behaviour_private.h"

#include "core/heat/heat.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { LANES = OVEN_MOST_LANES, MOST_SAMPLES = (int)(BEHAVIOUR_MOST_SECOND / BEHAVIOUR_SAMPLE_SECOND) + 1 };

/* What bakes is looked at from here on, as far as the run goes: dough goes in when the oven is hot. */
static const double BAKE_FROM = 1200;
/* Convection onto something of 100 C, W/m2K; common practice, no source. */
static const double ONTO_FOOD = 10, FOOD_KELVIN = 373;
static const double FACING_SHARE = 0.6,
                    WALL_SHARE = 0.3; /* of what a dish sees: the panel it faces, walls, door */

/* Of one side of a dish: the panel and element that it faces, weighted by what they send, the walls and the
 * door, and the air. The denominator is that of a sound ceiling, so that a covered floor counts for less. */
static double flux(const Oven *oven, const OvenRun *run, OvenNode element, OvenNode panel)
{
    const double *star = oven->network.star, *fourth = run->mean_fourth;
    const double full = star[OVEN_CEILING] + star[OVEN_TOP];
    const double faced = (star[element] * fourth[element] + star[panel] * fourth[panel]) / full;
    const double radiated = FACING_SHARE * faced + WALL_SHARE * fourth[OVEN_WALLS] +
                            (1 - FACING_SHARE - WALL_SHARE) * fourth[OVEN_DOOR];
    const double air = sqrt(sqrt(fourth[OVEN_AIR]));
    const double blown = oven->network.forced[OVEN_RACK] > 0 ? 2.5 : 1;
    return HEAT_STEFAN * radiated + blown * ONTO_FOOD * (air - FOOD_KELVIN);
}

static void find_figures(const float *trace, int samples, double set_celsius, RunFigures *figures)
{
    double second[MOST_SAMPLES], celsius[MOST_SAMPLES];
    for (int i = 0; i < samples; i++) {
        second[i] = i * BEHAVIOUR_SAMPLE_SECOND;
        celsius[i] = (double)trace[i];
    }
    run_figures(second, celsius, samples, set_celsius, figures);
}

static Behaviour boil_down(const Oven *oven, const OvenRun *run, int samples, double set_celsius)
{
    RunFigures figures, sensor;
    find_figures(run->trace[OVEN_TRACE_CENTRE], samples, set_celsius, &figures);
    find_figures(run->trace[OVEN_TRACE_SENSOR], samples, set_celsius, &sensor);
    return (Behaviour){.mean_celsius = (float)figures.mean_celsius,
                       .swing_kelvin = (float)figures.swing_kelvin,
                       .period_second = (float)figures.period_second,
                       .preheat_second = (float)figures.preheat_second,
                       .overshoot_kelvin = (float)figures.overshoot_kelvin,
                       .duty = (float)figures.duty,
                       .end_celsius = (float)figures.end_celsius,
                       .end_kelvin_per_second = (float)figures.end_kelvin_per_second,
                       .cycles = figures.cycles,
                       .sensor_celsius = (float)sensor.mean_celsius,
                       .sensor_swing_kelvin = (float)sensor.swing_kelvin,
                       .top_flux = (float)flux(oven, run, OVEN_TOP, OVEN_CEILING),
                       .bottom_flux = (float)flux(oven, run, OVEN_BOTTOM, OVEN_FLOOR)};
}

void behaviour__simulate(const Oven *const *ovens, int count, const BehaviourTerms *terms,
                         Behaviour *behaviours)
{
    float traces[LANES][2][MOST_SAMPLES];
    const double from = fmin(BAKE_FROM, terms->second / 2);
    const OvenTerms run_terms = {.second = terms->second,
                                 .sample_second = BEHAVIOUR_SAMPLE_SECOND,
                                 .sample_count = (int)(terms->second / BEHAVIOUR_SAMPLE_SECOND) + 1,
                                 .start_celsius = terms->ambient_celsius,
                                 .load_celsius = terms->ambient_celsius,
                                 .mean_from_second = from};
    assert(run_terms.sample_count <= MOST_SAMPLES && run_terms.sample_count >= 3);
    for (int done = 0; done < count; done += LANES) {
        const int lanes = count - done < LANES ? count - done : LANES;
        OvenRun runs[LANES] = {{.trace = {NULL}}};
        for (int l = 0; l < lanes; l++) {
            runs[l].trace[OVEN_TRACE_CENTRE] = traces[l][0];
            runs[l].trace[OVEN_TRACE_SENSOR] = traces[l][1];
        }
        oven_simulate(ovens + done, runs, lanes, &run_terms, OVEN_SINGLE);
        for (int l = 0; l < lanes; l++)
            behaviours[done + l] =
                boil_down(ovens[done + l], &runs[l], run_terms.sample_count, terms->set_celsius);
    }
}
