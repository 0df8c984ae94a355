/* display.c: what the meter would show under a hypothesis, as a distribution.
 *
 * A fault without a degree gives one figure, blurred by the parts' tolerances, the meter and its leads: a
 * normal distribution. A fault with a degree gives a range of figures, from the one at the lower end of its
 * slice of severities to the one at the upper end; between them the distribution is flat, in the logarithm
 * where the range is wide, and its ends are blurred. An open circuit shows OL, or, through damp insulation,
 * some megohms.
 *
 * Numbers in capitals are common practice, no source.
 *
 * A display is thus a shape, of which two things are asked: its density at a figure (how well does a
 * reading fit?) and its chance below a figure (how likely is each outcome of a check?). Both come from the
 * same four numbers.
 *
 * Invariants: (1) low <= high, and a finite end has a spread above 0; (2) a density is never negative; (3)
 * chance_below rises with x.
 *
 * Bad at: the ends of a range. Their blur is that of one figure, so right at an end the density is half of
 * what it is inside. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis_private.h"

static const double MODEL_RATIO = 0.01; /* wiring drawn simpler than it is */
static const double CONTACT_OHM = 0.1;  /* probe tips, spades, slip-on terminals */
static const double STRAY_VOLT = 0.4, STRAY_AMPERE = 0.08;
static const double DAMP_SHARE = 0.1; /* sound insulation that a meter can still read, */
static const double DAMP_OHM = 2e6;   /* down to here */
static const double NEGLIGIBLE = 7;   /* beyond so many spreads a chance is below 2e-12 */
static const double WIDE = 1.3;       /* a range with ends in this ratio is flat in the logarithm */

MeterMode diagnosis__mode(ReadingKind kind)
{
    return kind == READING_OHM ? METER_OHM : kind == READING_VOLT ? METER_VOLT : METER_AMPERE;
}

double diagnosis__normal(double z)
{
    if (z > NEGLIGIBLE) return 1;
    return z < -NEGLIGIBLE ? 0 : math_normal_cdf(z);
}

double diagnosis__least_spread(ReadingKind kind)
{
    return kind == READING_OHM ? CONTACT_OHM : kind == READING_VOLT ? STRAY_VOLT : STRAY_AMPERE;
}

bool diagnosis__put_on(DiagnosisModel *model, const Connection *connection, Arena *arena, MeterOn *on,
                       Error *error)
{
    on->known = ARENA_ARRAY(arena, Shown, (size_t)model->circuit.variant_count + 1);
    if (!on->known) return error_memory(error);
    return circuit_connect(&model->circuit, connection, &on->meter, error);
}

/* Whether the leads were zeroed is not written down: anything from none of them to twice is as good. */
static Shown show(const DiagnosisModel *model, const CircuitMeter *meter, const int *variants, int count)
{
    const MeterMode mode = diagnosis__mode(meter->connection.kind);
    const CircuitReading seen = circuit_read(meter, variants, count);
    const double leads = mode == METER_OHM ? model->meter.lead_ohm : 0;
    const double value = seen.value + leads;
    if (meter_is_over(&model->meter, mode, value)) return (Shown){.value = INFINITY};
    const double parts[] = {seen.spread, meter_uncertainty(&model->meter, mode, value),
                            MODEL_RATIO * seen.value, leads / sqrt(3),
                            diagnosis__least_spread(meter->connection.kind)};
    const Shown shown = {value, meter_combine(parts, 5)};
    assert(isfinite(shown.spread) && shown.spread > 0);
    return shown;
}

/* Of two faults most readings show one or none, so three thousand pairs read as a few hundred faults do, and
 * each of those is found once. */
static Shown show_once(const DiagnosisModel *model, const MeterOn *on, const int *variants, int count)
{
    int seen[CIRCUIT_MOST_FAULTS], seen_count = 0;
    for (int i = 0; i < count; i++)
        if (circuit_sees(&on->meter, variants[i])) seen[seen_count++] = variants[i];
    if (seen_count > 1) return show(model, &on->meter, seen, seen_count);
    Shown *known = &on->known[seen_count == 0 ? model->circuit.variant_count : seen[0]];
    if (known->value == 0 && known->spread == 0) *known = show(model, &on->meter, seen, seen_count);
    return *known;
}

static bool is_range(const Hypothesis *hypothesis)
{
    bool is = false;
    for (int i = 0; i < hypothesis->count; i++) is |= hypothesis->low[i] != hypothesis->high[i];
    return is;
}

/* Only the ends of the slice are solved, not its middle: readings of one fault move one way with its
 * severity, up or down, so the ends in their order are the range. */
Display diagnosis__display(const DiagnosisModel *model, const MeterOn *on, const Hypothesis *hypothesis)
{
    const Shown low = show_once(model, on, hypothesis->low, hypothesis->count),
                high = is_range(hypothesis) ? show_once(model, on, hypothesis->high, hypothesis->count) : low;
    if (low.value <= high.value) return (Display){low.value, high.value, low.spread, high.spread};
    return (Display){high.value, low.value, high.spread, low.spread};
}

/* Per ohm, volt or ampere: comparable only between hypotheses of one entry, which is all that Bayes' rule
 * asks. */
static double normal_density(double x, double mean, double spread)
{
    const double z = (x - mean) / spread;
    return math_exp(-0.5 * z * z) / (spread * sqrt(2 * MATH_PI));
}

/* Where nothing conducts: OL, or damp insulation, spread evenly in the logarithm over two powers of ten
 * (hence log 100). For OL the result is a chance and no density: the slip's is one too, so they compare. */
static double open_density(ReadingKind kind, double shown)
{
    if (isinf(shown)) return kind == READING_OHM ? 1 - DAMP_SHARE : 1;
    if (kind != READING_OHM || shown < DAMP_OHM) return 0;
    return DAMP_SHARE / (shown * math_log(100));
}

/* A range narrower than its own blur is a figure. */
static bool is_point(const Display *display)
{
    return display->high - display->low < 2 * display->low_spread;
}

/* A flat distribution of that width has a variance of width^2 / 12 (GUM 4.3.7). */
static double middle_spread(const Display *display)
{
    const double width = display->high - display->low,
                 spread = fmax(display->low_spread, display->high_spread);
    return sqrt(spread * spread + width * width / 12);
}

/* Flat between the ends, in x or in ln x, the ends blurred. */
static double range_density(const Display *display, double shown)
{
    const double inside = diagnosis__normal((shown - display->low) / display->low_spread) -
                          diagnosis__normal((shown - display->high) / display->high_spread);
    const bool is_wide = display->low > 0 && display->high > WIDE * display->low;
    const double at = fmin(fmax(shown, display->low), display->high);
    const double flat =
        is_wide ? 1 / (at * math_log(display->high / display->low)) : 1 / (display->high - display->low);
    return fmax(inside, 0) * flat;
}

double diagnosis__density(const Display *display, ReadingKind kind, double shown)
{
    if (isinf(display->low)) return open_density(kind, shown);
    if (isinf(display->high)) /* part of the range is beyond the meter: half of it, for want of better */
        return 0.5 * open_density(kind, shown) +
               (isinf(shown) ? 0 : 0.5 * normal_density(shown, display->low, display->low_spread));
    if (isinf(shown)) return 0;
    if (!is_point(display)) return range_density(display, shown);
    return normal_density(shown, (display->low + display->high) / 2, middle_spread(display));
}

/* In a range 1 % lies beyond either end, in the blur, and 98 % between: enough for the chance of an
 * outcome, which nobody reads to the percent. */
double diagnosis__chance_below(const Display *display, double x)
{
    if (isinf(display->low))
        return isinf(x) ? 0 : x > DAMP_OHM ? DAMP_SHARE * math_log(x / DAMP_OHM) / math_log(100) : 0;
    const double whole = isinf(display->high) ? 0.5 : 1;
    if (isinf(x)) return whole;
    if (isinf(display->high) || is_point(display)) {
        const double middle = isinf(display->high) ? display->low : (display->low + display->high) / 2;
        const double spread = isinf(display->high) ? display->low_spread : middle_spread(display);
        return whole * diagnosis__normal((x - middle) / spread);
    }
    if (x <= display->low || x >= display->high) {
        const bool is_low = x <= display->low;
        const double end = is_low ? display->low : display->high;
        const double beyond =
            diagnosis__normal((x - end) / (is_low ? display->low_spread : display->high_spread));
        return is_low ? 0.02 * beyond : 0.98 + 0.02 * beyond;
    }
    const bool is_wide = display->low > 0 && display->high > WIDE * display->low;
    const double share = is_wide ? math_log(x / display->low) / math_log(display->high / display->low)
                                 : (x - display->low) / (display->high - display->low);
    return 0.01 + 0.98 * share;
}

static bool put_on(DiagnosisModel *model, int check, Error *error)
{
    CheckDisplays *displays = &model->displayed[check];
    const Check *asked = &model->appliance->checks[check];
    if (displays->place) return true;
    if (asked->from >= 0) {
        const Connection connection = appliance_connection(asked);
        if (!diagnosis__put_on(model, &connection, model->arena, &model->check_meters[check], error))
            return false;
    }
    displays->place = ARENA_ARRAY(model->arena, int, (size_t)model->hypothesis_count);
    return displays->place ? true : error_memory(error);
}

/* How many displays there may be in the end; a pair that is watched asks for its faults alone, too (watch.c).
 */
static int most_displays(const DiagnosisModel *model, int check, const int *which, int count)
{
    const CheckDisplays *displays = &model->displayed[check];
    int most = displays->count;
    if (!which) return model->hypothesis_count;
    for (int i = 0; i < count; i++) most += displays->place[which[i]] == 0;
    if (model->appliance->checks[check].kind == CHECK_WATCH) most += model->appliance->fault_count;
    return most < model->hypothesis_count ? most : model->hypothesis_count;
}

/* Twice the room where it must grow, so that what is left behind in the arena is never more than what is
 * used. */
static bool make_room(const DiagnosisModel *model, CheckDisplays *displays, int wanted)
{
    int room = 2 * displays->room < wanted ? wanted : 2 * displays->room;
    if (room > model->hypothesis_count) room = model->hypothesis_count;
    Display *of = ARENA_ARRAY(model->arena, Display, (size_t)room);
    if (!of) return false;
    if (displays->count > 0) memcpy(of, displays->of, (size_t)displays->count * sizeof *of);
    displays->of = of;
    displays->room = room;
    return true;
}

/* Of most hypotheses nobody ever asks, so there is room for what was asked for alone, in that order: fresh
 * memory is much of what a first advice costs. */
bool diagnosis__connect(DiagnosisModel *model, int check, const int *which, int count, Error *error)
{
    CheckDisplays *displays = &model->displayed[check];
    if (!put_on(model, check, error)) return false;
    const int wanted = most_displays(model, check, which, count);
    return wanted <= displays->room || make_room(model, displays, wanted) || error_memory(error);
}

const Display *diagnosis__check_display(DiagnosisModel *model, int check, int hypothesis)
{
    CheckDisplays *displays = &model->displayed[check];
    int *place = &displays->place[hypothesis];
    if (*place > 0) return &displays->of[*place - 1];
    assert(displays->count < displays->room);
    Display *display = &displays->of[displays->count++];
    *place = displays->count;
    const Check *asked = &model->appliance->checks[check];
    if (asked->from >= 0) {
        *display = diagnosis__display(model, &model->check_meters[check], &model->hypotheses[hypothesis]);
    } else {
        const Watched watched =
            diagnosis__watched(model, check, asked->part, asked->function, &model->hypotheses[hypothesis]);
        *display = (Display){.low = watched.share, .low_spread = 1, .high = watched.manner};
    }
    return display;
}

Watched diagnosis__check_watched(DiagnosisModel *model, int check, int hypothesis)
{
    const Display *display = diagnosis__check_display(model, check, hypothesis);
    assert(model->appliance->checks[check].kind == CHECK_WATCH);
    return (Watched){display->low, (Manner)display->high};
}
