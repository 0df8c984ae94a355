/* circuit.h: what a meter shows between two marks, healthy or with faults.
 *
 * Lives here: the appliance's wiring solved as a complex nodal network, the meter as a part of it, faults as
 * low-rank changes of a solved network, what the owner can notice of the power, what hides a fault.
 * Not here: what is wired how (appliance), how sure a figure is (meter), what a reading means (diagnosis).
 * Units: ohm, volt and ampere (effective values), watt, celsius. Ownership: a Circuit and all it gives live
 * in the arena given to circuit_begin; it solves a network when first asked for one, and keeps it.
 * A fault changes the admittance of one to eight branches. With the inverse's columns kept, a faulted reading
 * costs a system of that size. Woodbury (1950); for one branch Sherman and Morrison (1950). */
#ifndef CORE_CIRCUIT_H
#define CORE_CIRCUIT_H

#include "base/arena.h"
#include "base/dense.h"
#include "core/appliance/appliance.h"
#include "core/meter/meter.h"

/* One fault at one of its severities. */
typedef struct {
    int fault, severity; /* numbers: of the fault; into its severity[] */
} Variant;

enum { CIRCUIT_MOST_FAULTS = 2, CIRCUIT_NETWORK_MODES = 3, CIRCUIT_MOST_STAGES = 16 };

/* What no wiring diagram shows: every mark leaks a little to earth, so that no part of the network floats,
 * and every gap has insulation and a stray capacitance across it (a metre of two wires side by side has
 * about 60 pF; from memory), which is what makes ghost voltages on a high-impedance meter. */
#define CIRCUIT_MARK_LEAK_SIEMENS   1e-11
#define CIRCUIT_GAP_SIEMENS         1e-10
#define CIRCUIT_GAP_FARAD           60e-12
#define CIRCUIT_VOLTMETER_OHM       10e6 /* input; common practice, no source */
#define CIRCUIT_LOW_IMPEDANCE_OHM   3e3
#define CIRCUIT_SHORT_OHM           0.02 /* a bridged gap or welded contact without a severity of its own */
#define CIRCUIT_LEAST_OHM           1e-3 /* a resistor that reads low still is one */
#define CIRCUIT_CONTROL_LEAST_SHARE 0.7  /* of its rated supply: below, a control stops; common practice */

typedef struct CircuitPattern CircuitPattern;
typedef struct CircuitNetwork CircuitNetwork;
typedef struct CircuitView CircuitView;
typedef struct CircuitControl CircuitControl;
typedef struct {
    const Appliance *appliance;
    double ambient_celsius; /* of the cold oven */
    Arena *arena;
    const Variant *variants; /* every fault of the appliance at every severity, in the order of the faults */
    int variant_count;
    const int *first_variant; /* of each fault; fault_count + 1 entries */
    const CircuitPattern *pattern;
    Function *settings; /* the appliance's functions, then the stages */
    int setting_count;
    CircuitNetwork **networks; /* [setting][mode], each the first of a list; NULL until first asked for */
    int solves;                /* networks solved so far: a count that does not depend on the machine */
} Circuit;
/* What is shown, and the standard uncertainty from the parts' tolerances, the supply's and stray coupling;
 * the meter's own comes on top. */
typedef struct {
    double value; /* ohm, volt or ampere, never negative; infinite where no current flows at all */
    double spread;
} CircuitReading;
/* A meter put on the circuit; good for any number of readings. */
typedef struct {
    const Circuit *circuit;
    Connection connection;
    const CircuitView *view, *stopped;   /* power off or the control running; power on, it does not run */
    CircuitReading sound, sound_stopped; /* with nothing changed in either */
    const CircuitControl *control; /* power on: what decides whether the control runs; NULL without one */
    const int *through;            /* READING_AMP: the branches that join the two marks */
    int through_count;
} CircuitMeter;

/* `ambient_celsius`: what a sensor in the cold oven sits at. Memory is the only failure. */
bool circuit_begin(const Appliance *appliance, double ambient_celsius, Arena *arena, Circuit *circuit,
                   Error *error) MUST_CHECK;
/* Puts a meter on. An ampere reading needs a branch that joins its two marks directly; else an error. */
bool circuit_connect(Circuit *circuit, const Connection *connection, CircuitMeter *meter,
                     Error *error) MUST_CHECK;

/* The reading with `count` faults, 0 to CIRCUIT_MOST_FAULTS, of different parts: numbers in
 * circuit->variants. Ohms are those of a meter with a small test current; volts those of one with 10 megohm,
 * or 3 kilohm in low-impedance mode; amperes those of a clamp. */
CircuitReading circuit_read(const CircuitMeter *meter, const int *variants, int count);
/* Can a variant move any reading? If not, those with it and another are those with the other, to the bit. */
bool circuit_sees(const CircuitMeter *meter, int variant);
/* The values alone, for every variant: values[variant_count]. The whole fault dictionary of one check. */
void circuit_read_all(const CircuitMeter *meter, double *values);

/* The power on, function by function: what elements, fans and lamps get. */
typedef struct {
    const Circuit *circuit;
    const CircuitMeter *live;    /* [functions]: a voltmeter from the frame to earth */
    const double *healthy_share; /* [functions][branches]: of the rated power, when all is well */
} CircuitPower;
bool circuit_power_begin(Circuit *circuit, CircuitPower *power, Error *error) MUST_CHECK;

/* Power in `branch` as a share of its rating (0 where nothing is rated), with faults as in circuit_read. */
double circuit_power_share(const CircuitPower *power, int function, int branch, const int *variants,
                           int count);

/* A stage of a function: some contacts closed, CIRCUIT_MOST_STAGES for each function. `live` is then asked
 * for watts[branch_count] of some branches, and for the ohms that the control sees of its sensor, or NAN. */
bool circuit_stage(Circuit *circuit, const int *contacts, int count, CircuitMeter *live,
                   Error *error) MUST_CHECK;
void circuit_watts(const CircuitMeter *live, const int *branches, int branch_count, const int *variants,
                   int count, double *watts);
double circuit_sensed_ohm(const CircuitMeter *live, const int *variants, int count);

/* What the owner can notice: sets holds[c] from CONDITION_COMPUTED on; the others are untouched. */
void circuit_conditions(const CircuitPower *power, const int *variants, int count,
                        bool holds[CONDITION_COUNT]);

/* What a meter should show, healthy and under each single fault at its middle severity. */
typedef struct {
    int fault;
    double severity, value; /* value: ohm, volt, ampere; infinite: OL */
    bool is_told_apart;     /* from healthy, with a coverage of about 95 % */
} FaultReading;
typedef struct {
    double value, low, high;    /* healthy; the limits contain a good one's reading with about 95 % */
    double part_low, part_high; /* the same without the meter: what a good one is */
    bool is_over;               /* an open circuit to this meter */
    const FaultReading *faults; /* [fault_count] */
} Expectation;
bool circuit_expect(Circuit *circuit, const Connection *connection, const Meter *meter,
                    Expectation *expectation, Error *error) MUST_CHECK;
/* Is a reading (infinite: OL) that of a good one, part_low to part_high? By JCGM 106, coverage 95 %. */
MeterJudgement circuit_judge(const Expectation *expectation, const Connection *connection, const Meter *meter,
                             double reading);

/* A meter on the circuit may read through another path than the one that it is meant for. */
typedef struct {
    bool is_hidden;    /* an open fault of the part between the marks would not read as open */
    double hidden_ohm; /* what it would read */
    int around;        /* a part that the current takes instead */
    int lift;          /* the mark whose wire to take off so that it would; -1 when none helps */
    int unplug;        /* or the plug to open; -1 */
} CircuitParallel;
/* Asks that of a resistance reading across `connection`'s marks; is_hidden is false for other readings. */
bool circuit_find_parallel(Circuit *circuit, const Connection *connection, CircuitParallel *parallel,
                           Error *error) MUST_CHECK;

/* Volts of a mark against earth in a function with the power on and all well: what is live. */
bool circuit_mark_volt(Circuit *circuit, int function, int mark, double *volt, Error *error) MUST_CHECK;

/* Kirchhoff's first law: largest sum of currents at any mark, relative to the largest or to an ampere, in a
 * function (the control running) with `count` faults: with the sources on, and with one ampere through each
 * branch of up to a kilohm in turn. */
bool circuit_residual(Circuit *circuit, int function, bool power_on, const int *variants, int count,
                      double *residual, Error *error) MUST_CHECK;

#endif
