/* thermocouple.c: the reference functions of ITS-90 and their tolerance classes. Both ways. Not here: the
 * junction in the meter (its temperature comes with the call), the meter's own error.
 *
 *   t   temperature of the measuring junction, celsius      E   emf with the other junction at 0 celsius, mV
 *   E = sum of c[i] t^i, in two pieces a type; for K above 0 also a0 exp(a1 (t - a2)^2)
 *
 * Coefficients: NIST Monograph 175 (1993), NIST Standard Reference Database 60; the same functions are in
 * IEC 60584-1:2013. The published inverse polynomials miss the functions by up to 0.05 kelvin and end at
 * -200 celsius, so the way back inverts the function itself.
 *
 * Invariant: each function rises over its whole range, so a showing belongs to one temperature. Near -270
 * celsius some rise by less than 3 microvolts a kelvin: there a good meter's last digit is worth kelvins. */
#include "core/sensor/sensor_private.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

/* K, -270 to 0 celsius */
static const double K_LOW[] = {0,
                               3.9450128025e-02,
                               2.3622373598e-05,
                               -3.2858906784e-07,
                               -4.9904828777e-09,
                               -6.7509059173e-11,
                               -5.7410327428e-13,
                               -3.1088872894e-15,
                               -1.0451609365e-17,
                               -1.9889266878e-20,
                               -1.6322697486e-23};
/* K, 0 to 1372 celsius */
static const double K_HIGH[] = {-1.7600413686e-02, 3.8921204975e-02,  1.8558770032e-05, -9.9457592874e-08,
                                3.1840945719e-10,  -5.6072844889e-13, 5.6075059059e-16, -3.2020720003e-19,
                                9.7151147152e-23,  -1.2104721275e-26};
/* J, -210 to 760 celsius */
static const double J_LOW[] = {0,
                               5.0381187815e-02,
                               3.047583693e-05,
                               -8.568106572e-08,
                               1.3228195295e-10,
                               -1.7052958337e-13,
                               2.0948090697e-16,
                               -1.2538395336e-19,
                               1.5631725697e-23};
/* J, 760 to 1200 celsius */
static const double J_HIGH[] = {2.9645625681e+02,  -1.4976127786e+00, 3.1787103924e-03,
                                -3.1847686701e-06, 1.5720819004e-09,  -3.0691369056e-13};
/* T, -270 to 0 celsius */
static const double T_LOW[] = {0,
                               3.8748106364e-02,
                               4.4194434347e-05,
                               1.1844323105e-07,
                               2.0032973554e-08,
                               9.0138019559e-10,
                               2.2651156593e-11,
                               3.6071154205e-13,
                               3.8493939883e-15,
                               2.8213521925e-17,
                               1.4251594779e-19,
                               4.8768662286e-22,
                               1.079553927e-24,
                               1.3945027062e-27,
                               7.9795153927e-31};
/* T, 0 to 400 celsius */
static const double T_HIGH[] = {0,
                                3.8748106364e-02,
                                3.329222788e-05,
                                2.0618243404e-07,
                                -2.1882256846e-09,
                                1.0996880928e-11,
                                -3.0815758772e-14,
                                4.547913529e-17,
                                -2.7512901673e-20};
/* N, -270 to 0 celsius */
static const double N_LOW[] = {0,
                               2.6159105962e-02,
                               1.0957484228e-05,
                               -9.3841111554e-08,
                               -4.6412039759e-11,
                               -2.6303357716e-12,
                               -2.2653438003e-14,
                               -7.6089300791e-17,
                               -9.3419667835e-20};
/* N, 0 to 1300 celsius */
static const double N_HIGH[] = {0,
                                2.5929394601e-02,
                                1.571014188e-05,
                                4.3825627237e-08,
                                -2.5261169794e-10,
                                6.4311819339e-13,
                                -1.0063471519e-15,
                                9.9745338992e-19,
                                -6.0863245607e-22,
                                2.0849229339e-25,
                                -3.0682196151e-29};
/* E, -270 to 0 celsius */
static const double E_LOW[] = {0,
                               5.8665508708e-02,
                               4.5410977124e-05,
                               -7.7998048686e-07,
                               -2.5800160843e-08,
                               -5.9452583057e-10,
                               -9.3214058667e-12,
                               -1.0287605534e-13,
                               -8.0370123621e-16,
                               -4.3979497391e-18,
                               -1.6414776355e-20,
                               -3.9673619516e-23,
                               -5.5827328721e-26,
                               -3.4657842013e-29};
/* E, 0 to 1000 celsius */
static const double E_HIGH[] = {0,
                                5.866550871e-02,
                                4.5032275582e-05,
                                2.8908407212e-08,
                                -3.3056896652e-10,
                                6.502440327e-13,
                                -1.9197495504e-16,
                                -1.2536600497e-18,
                                2.1489217569e-21,
                                -1.4388041782e-24,
                                3.5960899481e-28};

/* Gaussian of type K above 0 celsius: a0 in mV, a1 per square kelvin, a2 in celsius. */
static const double K_A0 = 0.1185976, K_A1 = -1.183432e-4, K_A2 = 126.9686;

typedef struct {
    double from, to; /* celsius */
    const double *c;
    int count;
} Piece;

#define PIECE(from, to, c)                                                                                   \
    {                                                                                                        \
        (from), (to), (c), sizeof(c) / sizeof((c)[0])                                                        \
    }

typedef struct {
    char letter;
    Piece piece[2];
    double to_celsius[3]; /* class 1, 2: from -40 to this; class 3: from -200 to this; 0: no such class */
    double fixed_kelvin[3], share_of_celsius[3]; /* the greater of the two */
} Type;

/* Classes: IEC 60584-1:2013, table of tolerance classes. */
static const Type TYPES[] = {
    {'K',
     {PIECE(-270, 0, K_LOW), PIECE(0, 1372, K_HIGH)},
     {1000, 1200, 40},
     {1.5, 2.5, 2.5},
     {0.004, 0.0075, 0.015}},
    {'J',
     {PIECE(-210, 760, J_LOW), PIECE(760, 1200, J_HIGH)},
     {750, 750, 0},
     {1.5, 2.5, 0},
     {0.004, 0.0075, 0.015}},
    {'T',
     {PIECE(-270, 0, T_LOW), PIECE(0, 400, T_HIGH)},
     {350, 350, 40},
     {0.5, 1.0, 1.0},
     {0.004, 0.0075, 0.015}},
    {'N',
     {PIECE(-270, 0, N_LOW), PIECE(0, 1300, N_HIGH)},
     {1000, 1200, 40},
     {1.5, 2.5, 2.5},
     {0.004, 0.0075, 0.015}},
    {'E',
     {PIECE(-270, 0, E_LOW), PIECE(0, 1000, E_HIGH)},
     {800, 900, 40},
     {1.5, 2.5, 2.5},
     {0.004, 0.0075, 0.015}},
};
enum { TYPE_COUNT = sizeof TYPES / sizeof TYPES[0] };

static const double TABLE_ROUNDING = 0.0005; /* mV: tables print microvolts */

/* In a release build an unknown letter gives the first type: wrong, but inside the table. */
static const Type *find_type(char letter)
{
    for (int i = 0; i < TYPE_COUNT; i++)
        if (TYPES[i].letter == letter) return &TYPES[i];
    assert(!"a letter that sensor_read_kind does not give");
    return &TYPES[0];
}

/* Emf in mV and, where `slope` is not NULL, its derivative in mV per kelvin (the Seebeck coefficient). */
static double emf(const Type *type, double t, double *slope)
{
    const Piece *piece = &type->piece[t >= type->piece[1].from];
    double sum = 0, derivative = 0;
    for (int i = piece->count - 1; i >= 0; i--) {
        derivative = derivative * t + sum;
        sum = sum * t + piece->c[i];
    }
    if (type->letter == 'K' && t >= 0) {
        const double bump = K_A0 * math_exp(K_A1 * (t - K_A2) * (t - K_A2));
        sum += bump;
        derivative += 2 * K_A1 * (t - K_A2) * bump;
    }
    if (slope) *slope = derivative;
    return sum;
}

double sensor__thermocouple_millivolt(char letter, double celsius)
{
    return emf(find_type(letter), celsius, NULL);
}

void sensor__thermocouple_range(char letter, double *low_celsius, double *high_celsius)
{
    const Type *type = find_type(letter);
    *low_celsius = type->piece[0].from;
    *high_celsius = type->piece[1].to;
}

/* Newton's steps kept inside a bracket that shrinks: the function rises everywhere, but near -270 celsius so
 * slowly that a free step would leave the range. */
static double invert(const Type *type, double millivolt, double low, double high)
{
    double t = low + (high - low) * (millivolt - emf(type, low, NULL)) /
                         (emf(type, high, NULL) - emf(type, low, NULL));
    for (int i = 0; i < 60; i++) { /* halving alone gets from 1400 K to 1e-11 in 47 */
        double slope;
        const double excess = emf(type, t, &slope) - millivolt;
        if (excess > 0)
            high = t;
        else
            low = t;
        double next = t - excess / slope;
        if (!(next > low && next < high)) next = 0.5 * (low + high);
        if (fabs(next - t) < 1e-11) return next;
        t = next;
    }
    return t;
}

/* Which piece is decided by the emf where they meet; between the pieces there is a step of some 1e-6 mV. */
bool sensor__thermocouple_celsius(char letter, double millivolt, double *celsius, Error *error)
{
    const Type *type = find_type(letter);
    const double middle = type->piece[1].from;
    const double ends[] = {type->piece[0].from, type->piece[1].to};
    const double low = emf(type, ends[0], NULL), high = emf(type, ends[1], NULL);
    if (!(millivolt >= low - TABLE_ROUNDING && millivolt <= high + TABLE_ROUNDING))
        return sensor__out_of_range(millivolt, low, high, "mV", error);
    if (millivolt <= low)
        *celsius = ends[0];
    else if (millivolt >= high)
        *celsius = ends[1];
    else if (millivolt < emf(type, middle, NULL))
        *celsius = invert(type, millivolt, ends[0], middle);
    else
        *celsius = invert(type, millivolt, middle, ends[1]);
    assert(fabs(emf(type, *celsius, NULL) - millivolt) < 2 * TABLE_ROUNDING);
    return true;
}

/* Outside its range a class promises nothing, so nothing is extrapolated. */
bool sensor__thermocouple_tolerance(char letter, SensorClass tolerance_class, double celsius, double *kelvin,
                                    Error *error)
{
    const Type *type = find_type(letter);
    assert(tolerance_class >= SENSOR_CLASS_1 && tolerance_class <= SENSOR_CLASS_3);
    const int row = (int)tolerance_class - SENSOR_CLASS_1;
    const double from = row == 2 ? -200 : -40, to = type->to_celsius[row];
    if (to == 0) {
        const char found[] = {'t', 'y', 'p', 'e', ' ', letter, '\0'};
        return error_set(error, ERROR_WRONG_KIND, found,
                         "class 1 or 2; the standard has no class %d for this type", row + 1);
    }
    if (!(celsius >= from && celsius <= to)) return sensor__out_of_range(celsius, from, to, "C", error);
    *kelvin = fmax(type->fixed_kelvin[row], type->share_of_celsius[row] * fabs(celsius));
    return true;
}
