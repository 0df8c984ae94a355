/* budget.c: how sure the cycle mean is, by the GUM (JCGM 100:2008).
 *
 * Contributions, each a standard uncertainty in kelvin:
 *   probe       class limits of the sensor at the mean, rectangular: half-width / sqrt 3 (GUM 4.3.7)
 *   meter       limits of error of the display, +-(% of reading + counts), in its own degrees, likewise
 *   scatter     s / sqrt n of the cycle means (GUM 4.2.3), widened for neighbours that go together; at least
 *               what the noise of the values makes of it
 *   sampling    corners that fall between two values; see below
 *   resolution  rounding to the display's step, reduced by how many steps a cycle runs through
 *   drift       what the means still move over the settled cycles, beyond what scatter would make of it
 *
 * Sampling: the trapezoid that spans a corner, where the slope changes by D, is wrong by D h^2 x (1 - x) / 2,
 * h being the interval and x where in it the corner lies. The two corners of a cycle have opposite signs;
 * with x anywhere in 0..1 the standard deviation of x (1 - x) is sqrt(1/180), so that of a cycle's mean is D
 * h^2 / 2 sqrt(2/180) / period, D = swing (1 / rising + 1 / falling). Cycles whose corners fall to other
 * places in the interval have other errors, which is part of their scatter; what they have in common is the
 * mean resultant of these places.
 *
 * The 95 % interval is that of a rectangular and a normal quantity added, not k = 2: where the thermometer's
 * class is the largest part, k is 1.65 (GUM, annex G; G.2.2). */
#include "core/run/work_private.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

static double square(double x) { return x * x; }

/* Half-width of 1 % parts: R25 and beta each within 1 % (common practice, no source), as a change of ln R. */
static bool thermistor_half_width(const SensorKind *kind, double celsius, double *kelvin, Error *error)
{
    double cold, here, above;
    if (!sensor_ohm(kind, 25, &cold, error) || !sensor_ohm(kind, celsius, &here, error) ||
        !sensor_ohm(kind, celsius - 1, &above, error))
        return false;
    const double slope = math_log(above / here); /* change of ln R for a kelvin */
    *kelvin = 0.01 * (1 + fabs(math_log(here / cold))) / slope;
    return true;
}

/* Outside the class's own range of temperatures sensor_tolerance refuses, and so does this: no class is
 * stretched. */
bool run__probe_half_width(const RunTerms *terms, double celsius, double *kelvin, Error *error)
{
    *kelvin = 0;
    if (!terms->has_probe) return true;
    if (terms->probe.family == SENSOR_BETA || terms->probe.family == SENSOR_STEINHART_HART)
        return thermistor_half_width(&terms->probe, celsius, kelvin, error);
    return sensor_tolerance(&terms->probe, terms->probe_class, celsius, kelvin, error);
}

/* A display in Fahrenheit is off by so many of its degrees, counted from its own zero. */
double run__meter_half_width(const RunTerms *terms, bool is_fahrenheit, double step_kelvin, double celsius)
{
    if (!terms->has_meter) return 0;
    const double size = is_fahrenheit ? 1.8 : 1, shown = is_fahrenheit ? celsius * 1.8 + 32 : celsius;
    const double step = step_kelvin > 0 ? step_kelvin : 0.1 / size;
    return terms->meter.ratio * fabs(shown) / size + terms->meter.counts * step;
}

/* How much of a difference from the mean a cycle hands on to the next; too few cycles cannot tell. */
static double persistence(const RunCycle *cycles, int count, double mean)
{
    double product = 0, sum = 0;
    if (count < 8) return 0;
    for (int i = 0; i < count; i++) {
        const double off = cycles[i].span.mean_celsius - mean;
        sum += off * off;
        if (i > 0) product += off * (cycles[i - 1].span.mean_celsius - mean);
    }
    return sum > 0 ? fmin(0.7, fmax(0, product / sum)) : 0;
}

/* What the noise of the values alone makes of the mean: a few cycles can agree better than that by chance.
 * Noise is known only where a cycle has so many values that its curve is smooth between them. */
static double noise_part(const RunSeries *series, const RunCycle *cycles, int count)
{
    double seconds = 0;
    for (int i = 0; i < count; i++) seconds += cycles[i].span.to_second - cycles[i].span.from_second;
    if (seconds / count < 40 * series->interval_second) return 0;
    return series->noise_kelvin * sqrt(series->interval_second / seconds);
}

/* Variance of the mean of an AR(1) sequence: s^2 / n (1 + r) / (1 - r). */
static void judge_scatter(const RunSeries *series, const RunCycle *cycles, int count, RunBudget *budget)
{
    double sum = 0, off = 0;
    for (int i = 0; i < count; i++) sum += cycles[i].span.mean_celsius;
    const double mean = sum / count;
    for (int i = 0; i < count; i++) off += square(cycles[i].span.mean_celsius - mean);
    const double r = persistence(cycles, count, mean);
    const double fewer = (1 - r) / (1 + r);
    budget->scatter = fmax(sqrt(off / (count - 1) / count / fewer), noise_part(series, cycles, count));
    budget->scatter_freedom = fmax(1, count * fewer - 1);
}

/* Slope of the cycle means over time and its standard error. */
RunDrift run__drift(const RunCycle *cycles, int count)
{
    RunDrift drift = {0, INFINITY, 0};
    if (count < 3) return drift;
    double t_mean = 0, c_mean = 0, tt = 0, tc = 0, off = 0;
    const double t0 = cycles[0].span.from_second, c0 = cycles[0].span.mean_celsius;
    for (int i = 0; i < count; i++)
        t_mean += cycles[i].span.from_second - t0, c_mean += cycles[i].span.mean_celsius - c0;
    t_mean /= count, c_mean /= count;
    for (int i = 0; i < count; i++) {
        const double t = cycles[i].span.from_second - t0 - t_mean,
                     c = cycles[i].span.mean_celsius - c0 - c_mean;
        tt += t * t, tc += t * c;
    }
    drift.kelvin_per_second = tc / tt;
    for (int i = 0; i < count; i++) {
        const double t = cycles[i].span.from_second - t0 - t_mean,
                     c = cycles[i].span.mean_celsius - c0 - c_mean;
        off += square(c - drift.kelvin_per_second * t);
    }
    drift.uncertainty = sqrt(off / (count - 2) / tt);
    drift.span_second = cycles[count - 1].span.to_second - t0;
    return drift;
}

/* Two cycles have a slope but no error of it; what they differ by is in the scatter already. */
static double judge_drift(const RunCycle *cycles, int count)
{
    const RunDrift drift = run__drift(cycles, count);
    if (count < 3) return 0;
    const double excess = square(drift.kelvin_per_second) - 2 * square(drift.uncertainty);
    return excess > 0 ? drift.span_second * sqrt(excess / 12) : 0;
}

/* Length of the mean of unit vectors, one for each cycle, that point to where in its sampling interval it
 * begins: 1 when all begin alike. */
static double resultant(const RunTrace *trace, const RunCycle *cycles, int count)
{
    double x = 0, y = 0;
    for (int i = 0; i < count; i++) {
        const int at = run__index_at(trace, cycles[i].span.from_second);
        assert(at > 0 && at < trace->count);
        const double angle = 2 * MATH_PI * (cycles[i].span.from_second - trace->second[at - 1]) /
                             (trace->second[at] - trace->second[at - 1]);
        x += math_cos(angle), y += math_sin(angle);
    }
    return sqrt(x * x + y * y) / count;
}

/* See above; irregular rows count by their median interval. */
static double judge_sampling(const RunSeries *series, const RunCycle *cycles, int count,
                             const RunFigures *figures)
{
    const double rising = figures->duty * figures->period_second;
    const double falling = figures->period_second - rising;
    if (!(rising > 0) || !(falling > 0)) return 0;
    const double h = series->interval_second;
    const double bend = figures->swing_kelvin * (1 / rising + 1 / falling);
    const double one = bend * h * h / 2 * sqrt(2.0 / 180) / figures->period_second;
    return one * resultant(&series->full, cycles, count);
}

/* Each step that a cycle runs through is rounded another way, and two such errors in three are independent
 * enough; a swing below one step gives no such help. */
static double judge_resolution(double step, double swing)
{
    return step / sqrt(12) / sqrt(fmax(1, step > 0 ? 2 * swing / step : 1));
}

/* The order of RunBudget; contributions do not depend on each other. */
bool run__budget(const RunSeries *series, const RunTerms *terms, bool is_fahrenheit, const RunCycle *cycles,
                 int count, const RunFigures *figures, RunBudget *budget, Error *error)
{
    assert(count >= 2);
    double probe;
    const double step = series->step_kelvin;
    if (!run__probe_half_width(terms, figures->mean_celsius, &probe, error)) return false;
    budget->probe = probe / sqrt(3);
    budget->meter = run__meter_half_width(terms, is_fahrenheit, step, figures->mean_celsius) / sqrt(3);
    judge_scatter(series, cycles, count, budget);
    budget->sampling = judge_sampling(series, cycles, count, figures);
    budget->resolution = judge_resolution(terms->is_hand_read ? 2 * step : step, figures->swing_kelvin);
    budget->drift = judge_drift(cycles, count);
    return true;
}

/* GUM 5.1.2: sensitivities are all 1, since each part is of the mean itself. */
double run__budget_total(const RunBudget *budget)
{
    const double parts[] = {budget->probe,    budget->meter,      budget->scatter,
                            budget->sampling, budget->resolution, budget->drift};
    return meter_combine(parts, 6);
}

/* 97.5 % quantile of Student's t. Abramowitz and Stegun 26.7.5 from 3 degrees of freedom on (within 0.4 %);
 * below, between the table's values 12.706, 4.303 and 3.182, on a straight line in 1 / freedom. */
static double student(double freedom)
{
    const double z = 1.959963984540054, z2 = z * z;
    if (freedom < 2) return 4.303 + (12.706 - 4.303) * (1 / fmax(1, freedom) - 0.5) / 0.5;
    if (freedom < 3) return 3.182 + (4.303 - 3.182) * (1 / freedom - 1.0 / 3) / (0.5 - 1.0 / 3);
    const double g1 = z * (z2 + 1) / 4, g2 = z * ((5 * z2 + 16) * z2 + 3) / 96;
    const double g3 = z * (((3 * z2 + 19) * z2 + 17) * z2 - 15) / 384;
    return z + (g1 + (g2 + g3 / freedom) / freedom) / freedom;
}

/* Integral of the normal distribution function up to x. */
static double integral(double x) { return x * math_normal_cdf(x) + math_exp(-x * x / 2) / sqrt(2 * MATH_PI); }

/* Probability that a rectangular quantity of half-width a and a normal one of deviation s together lie
 * within +-h: the difference of two normal distribution functions, averaged over the rectangle. */
static double inside(double h, double a, double s)
{
    const double upper = integral((h + a) / s) - integral((h - a) / s);
    const double lower = integral((a - h) / s) - integral((-h - a) / s);
    return s / (2 * a) * (upper - lower);
}

/* Solved by bisection: the probability rises with h, and fifty halvings are more than a double can tell. Of
 * probe and meter the larger is the rectangle and the smaller goes with the normal part, which is wide by a
 * per cent at the most. */
double run__half_width(const RunBudget *budget)
{
    const double normal_parts[] = {budget->scatter, budget->sampling, budget->resolution, budget->drift,
                                   fmin(budget->probe, budget->meter)};
    const double freedom[] = {budget->scatter_freedom, INFINITY, INFINITY, INFINITY, INFINITY};
    const double u = meter_combine(normal_parts, 5), a = sqrt(3) * fmax(budget->probe, budget->meter);
    if (u == 0) return 0.95 * a;
    const double s = u * student(meter_effective_freedom(normal_parts, freedom, 5)) / student(INFINITY);
    if (a < 0.01 * s) return student(INFINITY) * s;
    double low = 0, high = a + 4 * s;
    for (int i = 0; i < 50; i++) {
        const double middle = (low + high) / 2;
        if (inside(middle, a, s) < 0.95)
            low = middle;
        else
            high = middle;
    }
    assert(isfinite(high));
    return high;
}
