/* sundials_oven.c: see sundials_oven.h. */
#include "sundials_oven.h"

#include <arkode/arkode_arkstep.h>
#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

static const double SAME_SECOND = 1e-6; /* instants nearer than this are one */

struct SundialsOven {
    SundialsMethod method;
    int states;
    SUNContext context;
    N_Vector state, tolerance;
    SUNMatrix matrix;
    SUNLinearSolver linear;
    SUNNonlinearSolver nonlinear;
    void *memory;
    /* what runs now */
    const Oven *oven;
    const OvenTerms *terms;
    SundialsRun *run;
    double second, release_second;
    bool is_calling, was_reached, is_tripped, is_open;
    const double *watt;
    long evaluations, for_jacobian;
};

static void demand(bool is_done, const char *what)
{
    if (is_done) return;
    fprintf(stderr, "SUNDIALS refuses: %s\n", what);
    exit(1);
}

static int rates(realtype second, N_Vector state, N_Vector rate, void *of)
{
    SundialsOven *s = of;
    (void)second;
    s->evaluations++;
    double all[OVEN_STATES];
    oven_rates(&s->oven->network, s->watt, s->is_open, N_VGetArrayPointer(state), all);
    memcpy(N_VGetArrayPointer(rate), all, (size_t)s->states * sizeof *all);
    return 0;
}

/* What stays away from a level that it never has to meet. */
static double above(double kelvin, double level) { return isfinite(level) ? kelvin - level : -1; }

static int roots(realtype second, N_Vector state, realtype *root, void *of)
{
    const SundialsOven *s = of;
    const OvenControl *control = &s->oven->control;
    const double *kelvin = N_VGetArrayPointer(state);
    (void)second;
    root[0] = above(kelvin[OVEN_SENSOR], s->is_calling ? control->off_kelvin : control->on_kelvin);
    root[1] = above(kelvin[OVEN_WALLS], s->is_tripped ? control->reset_kelvin : control->trip_kelvin);
    return 0;
}

static void begin_cvode(SundialsOven *s, double relative)
{
    s->memory = CVodeCreate(s->method == SUNDIALS_BDF ? CV_BDF : CV_ADAMS, s->context);
    demand(s->memory && CVodeInit(s->memory, rates, 0, s->state) == 0, "CVodeInit");
    demand(CVodeSVtolerances(s->memory, relative, s->tolerance) == 0, "tolerances");
    if (s->method == SUNDIALS_BDF) {
        s->matrix = SUNDenseMatrix(s->states, s->states, s->context);
        s->linear = SUNLinSol_Dense(s->state, s->matrix, s->context);
        demand(CVodeSetLinearSolver(s->memory, s->linear, s->matrix) == 0, "linear solver");
    } else {
        s->nonlinear = SUNNonlinSol_FixedPoint(s->state, 0, s->context);
        demand(CVodeSetNonlinearSolver(s->memory, s->nonlinear) == 0, "fixed point");
    }
    demand(CVodeRootInit(s->memory, 2, roots) == 0, "roots");
    CVodeSetNoInactiveRootWarn(s->memory);
    CVodeSetMaxNumSteps(s->memory, 1000000);
    CVodeSetUserData(s->memory, s);
}

static void begin_arkode(SundialsOven *s, double relative)
{
    s->memory = ARKStepCreate(rates, NULL, 0, s->state, s->context);
    demand(s->memory && ARKStepSVtolerances(s->memory, relative, s->tolerance) == 0, "ARKStepCreate");
    demand(ARKStepSetOrder(s->memory, 4) == 0, "order");
    demand(ARKStepRootInit(s->memory, 2, roots) == 0, "roots");
    ARKStepSetNoInactiveRootWarn(s->memory);
    ARKStepSetMaxNumSteps(s->memory, 1000000);
    ARKStepSetUserData(s->memory, s);
}

SundialsOven *sundials_oven_new(SundialsMethod method, double relative, bool has_ledgers)
{
    static const Oven nothing = {.control = {.off_kelvin = 1, .trip_kelvin = 1}};
    static const double cold[OVEN_HEATS] = {0};
    SundialsOven *s = calloc(1, sizeof *s);
    demand(s != NULL, "no memory");
    s->method = method;
    s->states = has_ledgers ? OVEN_STATES : OVEN_NODES;
    s->oven = &nothing;
    s->watt = cold;
    demand(SUNContext_Create(NULL, &s->context) == 0, "context");
    s->state = N_VNew_Serial(s->states, s->context);
    s->tolerance = N_VNew_Serial(s->states, s->context);
    N_VConst(300, s->state);
    N_VConst(relative, s->tolerance);
    for (int i = OVEN_NODES; i < s->states; i++) N_VGetArrayPointer(s->tolerance)[i] = 1e4 * relative;
    if (method == SUNDIALS_EXPLICIT)
        begin_arkode(s, relative);
    else
        begin_cvode(s, relative);
    return s;
}

void sundials_oven_free(SundialsOven *s)
{
    if (s->method == SUNDIALS_EXPLICIT)
        ARKStepFree(&s->memory);
    else
        CVodeFree(&s->memory);
    if (s->linear) SUNLinSolFree(s->linear);
    if (s->matrix) SUNMatDestroy(s->matrix);
    if (s->nonlinear) SUNNonlinSolFree(s->nonlinear);
    N_VDestroy(s->state);
    N_VDestroy(s->tolerance);
    SUNContext_Free(&s->context);
    free(s);
}

/* A pattern repeats from the beginning of the run on, whoever calls. */
static const OvenPattern *pattern_of(const SundialsOven *s)
{
    const OvenControl *control = &s->oven->control;
    return !s->was_reached && control->preheat.count > 0 ? &control->preheat : &control->heating;
}

static double phase_of(const SundialsOven *s, const OvenPattern *pattern)
{
    return fmod(s->second + SAME_SECOND, pattern->until_second[pattern->count - 1]);
}

static int segment_of(const OvenPattern *pattern, double phase)
{
    for (int i = 0; i < pattern->count; i++)
        if (phase < pattern->until_second[i]) return i;
    return pattern->count - 1;
}

static void choose_watts(SundialsOven *s)
{
    const OvenControl *control = &s->oven->control;
    const OvenPattern *pattern = pattern_of(s);
    s->is_open = false;
    for (int i = 0; i < s->terms->opening_count; i++)
        s->is_open |= s->second > s->terms->open_from_second[i] - SAME_SECOND &&
                      s->second < s->terms->open_until_second[i] - SAME_SECOND;
    if (s->is_tripped)
        s->watt = control->tripped_watt;
    else if (s->is_calling && pattern->count > 0)
        s->watt = pattern->watt[segment_of(pattern, phase_of(s, pattern))];
    else if (!s->is_calling && s->second < s->release_second - SAME_SECOND)
        s->watt = control->held_watt;
    else
        s->watt = control->idle_watt;
}

/* The next instant at which a clock changes something. */
static double next_edge(const SundialsOven *s)
{
    double next = s->terms->second;
    const double now = s->second + SAME_SECOND;
    for (int i = 0; i < s->terms->opening_count; i++) {
        if (s->terms->open_from_second[i] > now) next = fmin(next, s->terms->open_from_second[i]);
        if (s->terms->open_until_second[i] > now) next = fmin(next, s->terms->open_until_second[i]);
    }
    const OvenPattern *pattern = pattern_of(s);
    if (s->is_calling && pattern->count > 1) {
        const double phase = phase_of(s, pattern);
        next = fmin(next, now - phase + pattern->until_second[segment_of(pattern, phase)]);
    }
    if (!s->is_calling && s->release_second > now) next = fmin(next, s->release_second);
    return next;
}

typedef enum { AT_TIME, AT_EDGE, AT_ROOT } Arrival;

static Arrival go_on(SundialsOven *s, double until, double edge)
{
    int flag;
    if (s->method == SUNDIALS_EXPLICIT) {
        ARKStepSetStopTime(s->memory, edge);
        flag = ARKStepEvolve(s->memory, until, s->state, &s->second, ARK_NORMAL);
        demand(flag >= 0, "ARKStepEvolve");
        return flag == ARK_ROOT_RETURN ? AT_ROOT : flag == ARK_TSTOP_RETURN ? AT_EDGE : AT_TIME;
    }
    CVodeSetStopTime(s->memory, edge);
    flag = CVode(s->memory, until, s->state, &s->second, CV_NORMAL);
    demand(flag >= 0, "CVode");
    return flag == CV_ROOT_RETURN ? AT_ROOT : flag == CV_TSTOP_RETURN ? AT_EDGE : AT_TIME;
}

static void restart(SundialsOven *s)
{
    long for_jacobian = 0; /* SUNDIALS counts afresh from here */
    if (s->method == SUNDIALS_BDF) CVodeGetNumLinRhsEvals(s->memory, &for_jacobian);
    s->for_jacobian += for_jacobian;
    const int flag = s->method == SUNDIALS_EXPLICIT
                         ? ARKStepReInit(s->memory, rates, NULL, s->second, s->state)
                         : CVodeReInit(s->memory, s->second, s->state);
    demand(flag == 0, "to begin anew");
}

static void switch_over(SundialsOven *s)
{
    int found[2];
    if (s->method == SUNDIALS_EXPLICIT)
        ARKStepGetRootInfo(s->memory, found);
    else
        CVodeGetRootInfo(s->memory, found);
    if (found[1]) s->is_tripped = !s->is_tripped;
    if (!found[0]) return;
    s->is_calling = !s->is_calling;
    if (!s->is_calling) {
        s->was_reached = true;
        s->release_second = s->second + s->oven->control.stick_second;
    }
    if (s->run->switch_second && s->run->switch_count < s->run->switch_room)
        s->run->switch_second[s->run->switch_count] = s->second;
    s->run->switch_count++;
}

static void sample(const SundialsOven *s, int number)
{
    static const OvenNode traced[OVEN_TRACES] = {OVEN_CENTRE, OVEN_SENSOR, OVEN_WALLS};
    const double *kelvin = N_VGetArrayPointer(s->state);
    for (int k = 0; k < OVEN_TRACES; k++)
        if (s->run->trace[k]) s->run->trace[k][number] = kelvin[traced[k]] - OVEN_ZERO_CELSIUS;
}

static void start(SundialsOven *s)
{
    double *state = N_VGetArrayPointer(s->state);
    for (int i = 0; i < s->states; i++)
        state[i] = i >= OVEN_NODES ? 0 : s->terms->start_celsius + OVEN_ZERO_CELSIUS;
    state[OVEN_RACK] = state[OVEN_CORE] = s->terms->load_celsius + OVEN_ZERO_CELSIUS;
    s->second = 0;
    s->release_second = -1;
    s->is_calling = state[OVEN_SENSOR] < s->oven->control.off_kelvin;
    s->was_reached = s->is_tripped = false;
    s->run->switch_count = 0;
    choose_watts(s);
    restart(s);
    s->evaluations = s->for_jacobian = 0;
}

void sundials_oven_run(SundialsOven *s, const Oven *oven, const OvenTerms *terms, SundialsRun *run)
{
    s->oven = oven;
    s->terms = terms;
    s->run = run;
    start(s);
    int sampled = 0;
    double edge = next_edge(s);
    for (;;) {
        while (sampled < terms->sample_count && sampled * terms->sample_second <= s->second + SAME_SECOND)
            sample(s, sampled++);
        if (s->second > terms->second - SAME_SECOND) break;
        const double due = sampled < terms->sample_count ? sampled * terms->sample_second : terms->second;
        const Arrival arrival = go_on(s, fmin(due, edge), edge);
        const bool is_edge = arrival == AT_EDGE || s->second > edge - SAME_SECOND;
        if (arrival == AT_ROOT) switch_over(s);
        if (arrival != AT_ROOT && !is_edge) continue;
        choose_watts(s);
        edge = next_edge(s);
        restart(s);
    }
    const double *state = N_VGetArrayPointer(s->state);
    for (int i = 0; i < OVEN_NODES; i++) run->end_celsius[i] = state[i] - OVEN_ZERO_CELSIUS;
    run->given_joule = s->states > OVEN_NODES ? state[OVEN_GIVEN] : NAN;
    run->lost_joule = s->states > OVEN_NODES ? state[OVEN_LOST] : NAN;
    run->evaluations = s->evaluations;
    restart(s);
    run->for_jacobian = s->for_jacobian;
}
