/* appliance.h: what is built in, how it is wired, what can go wrong with it.
 *
 * Lives here: the appliance built from a description and a rating plate: marks, branches, parts, faults,
 * functions, places; the checks that follow from those; the judgement of a description. Not here: solving
 * the circuit, what the files say (description, kind), probabilities. Units: SI. What is built lives in the
 * caller's arena and points into description and catalogue. Things refer to each other by number.
 *
 *   description + catalogue + plate --> marks joined by branches; every branch belongs to a part, every
 *   fault changes branches of one part. Mark 0 is the earth, where the mains come from. */
#ifndef CORE_APPLIANCE_H
#define CORE_APPLIANCE_H

#include "base/arena.h"
#include "core/description/description.h"
#include "core/kind/kind.h"

enum { APPLIANCE_EARTH = 0, APPLIANCE_MOST_EFFECTS = 8, APPLIANCE_MOST_LIFTS = 2, CONNECTION_MOST_LIFTS = 8 };

typedef struct {
    const char *name; /* as on the wiring diagram; 'earth' for mark 0, which no probe reaches */
    int part;         /* whose terminal it is first of all; -1 for the earth or a joint */
    int place;        /* where hands must get to probe it */
    bool can_lift;    /* a wire can be taken off the part's terminal here */
} Mark;

typedef struct {
    const char *name;   /* 'heater', or the way's name: 'bake' */
    int part, from, to; /* part and marks */
    BranchType type;
    double cold_ohm, hot_ohm;      /* direct current: at room temperature, at working temperature */
    double reactance_ohm;          /* on the mains */
    double tolerance;              /* relative standard uncertainty of the resistance of a good one */
    double rated_watt, rated_volt; /* 0 where nothing is rated */
    int driver;                    /* the control whose running closes this contact; -1: closed by hand */
    int leg;                       /* 0, 1: comes from that leg of the mains; -1: does not */
} Branch;

typedef struct {
    const char *name, *says;
    const PartKind *kind;
    int place, seen_from, first_branch, branch_count, first_fault, fault_count; /* places of hands, eyes */
    int replaced_with, insulation_check; /* the part bought instead, itself mostly; a check or -1 */
    const DescribedPart *described;      /* NULL for a wire */
} Part;

typedef struct {
    const char *name; /* 'bake-element.open', 'thermostat.bake-open' */
    const FaultMode *mode;
    int part;
    int branches[APPLIANCE_MOST_EFFECTS], branch_count; /* mode->effect happens to these */
    double severity[KIND_POINTS(KIND_MOST_SAMPLES)];    /* severity_count points, see kind_severity_point */
    int severity_count; /* 1, with a severity of 0, where it is no matter of degree */
    double prior;       /* of this single fault; all faults and 'nothing wrong' together are 1 */
} Fault;

typedef struct {
    const char *name, *says;
    const int *contacts; /* branches that it closes */
    int contact_count;
} Function;
typedef enum { READING_OHM, READING_VOLT, READING_AMP } ReadingKind;

/* How a meter is connected, and to what. */
typedef struct {
    ReadingKind kind;
    int from, to; /* marks */
    int function; /* setting of the knob; 0 is 'off' */
    bool power_on;
    bool low_impedance;                               /* voltmeter with a low input impedance */
    int lifts[CONNECTION_MOST_LIFTS], lift_count;     /* marks whose wire is taken off the part's terminal */
    int unplugs[CONNECTION_MOST_LIFTS], unplug_count; /* plugs that are open: parts */
} Connection;

/* clang-format off */
typedef enum {
    CHECK_OHM, CHECK_VOLT, CHECK_AMP, /* a meter between two marks */
    CHECK_SIGHT, CHECK_WATCH, CHECK_GLANCE, /* a look: close up and dead; from afar and on; over all at one place */
    CHECK_STRIP,                      /* a strip of paper caught in the closed door and pulled: does it slip out? */
    CHECK_RUN, CHECK_SPOT,            /* temperature in the middle, everything closed: a log; one settled figure */
    CHECK_OFFSET, CHECK_CODE, CHECK_ASK /* what the control displays: offset, fault code; a question to the owner */
} CheckKind;
/* clang-format on */
/* Something a technician can do to learn more. */
typedef struct {
    CheckKind kind;
    int part;     /* what it is about; -1: the oven */
    int from, to; /* marks for the probes; -1 without */
    int function; /* the setting of the knob; -1: the one that the owner bakes in */
    bool power_on;
    int lifts[APPLIANCE_MOST_LIFTS], lift_count; /* marks whose wire comes off first */
    int unplug;                                  /* the plug that is opened first; -1 */
    int places[2];                               /* that must be open; -1 where one or none will do */
    int word;                                    /* ask: number in the catalogue's complaints */
    double second;                               /* of the check itself, once everything is open */
} Check;

typedef struct {
    const char *name;
    const Description *description;
    const Catalogue *catalogue;
    const Mark *marks;
    const Branch *branches;
    const Part *parts;
    const Fault *faults;
    const Function *functions; /* functions[0] is 'off' */
    const Check *checks;
    int mark_count, branch_count, part_count, fault_count, function_count, check_count;
    int frame, neutral, legs[2];       /* marks at the terminal block; legs[1] is -1 on single-phase */
    double leg_volt[2], leg_degree[2]; /* of each leg against the neutral */
    int control;                       /* the part of role 'control', or -1; it runs while there is */
    int control_power, control_input;  /* voltage on the first of these branches, a sensor at the other */
    double nothing_wrong_prior;
} Appliance;

/* Builds the appliance, with the plate's figures in place of the file's. Errors carry its file and line. */
bool appliance_build(const Description *description, const Catalogue *catalogue, const PlateEntry *plate,
                     int plate_count, Arena *arena, Appliance *appliance, Error *error) MUST_CHECK;

/* Numbers by name, -1 when there is none. A contact is a part's name (its only branch) or 'part.way'. */
int appliance_find_mark(const Appliance *appliance, const char *name);
int appliance_find_part(const Appliance *appliance, const char *name);
int appliance_find_fault(const Appliance *appliance, const char *name);
int appliance_find_function(const Appliance *appliance, const char *name);
int appliance_find_contact(const Appliance *appliance, const char *name);           /* a branch */
int appliance_find_effect(const Appliance *appliance, int part, EffectType effect); /* a fault */
/* Like those, but an unknown name is an error that lists the known ones. */
bool appliance_need_mark(const Appliance *appliance, const char *name, int *mark, Error *error) MUST_CHECK;
bool appliance_need_part(const Appliance *appliance, const char *name, int *part, Error *error) MUST_CHECK;
bool appliance_need_function(const Appliance *appliance, const char *name, int *function,
                             Error *error) MUST_CHECK;

bool appliance_closes(const Appliance *appliance, const Function *function, int part); /* a contact of it */
bool appliance_part_has_role(const Appliance *appliance, int part, const char *role);
int appliance_seen_from(const Appliance *appliance, int part);    /* place of its signs; -1: it shows none */
bool appliance_is_wiring(const Appliance *appliance, int branch); /* comes off when a mark is lifted */
Connection appliance_connection(const Check *reading);            /* of the meter, for that */

double appliance_number(const Part *part, const char *name, double otherwise); /* property, after the plate */

typedef struct { /* something wrong with a description although it can be built */
    int line;
    const char *text, *hint;
} Finding;

/* Judges the wiring: a mark that nothing joins, an element that no function reaches, a contact that none
 * closes, a short in some function, a part without a ground. In the arena; false only when memory is out. */
bool appliance_judge(const Appliance *appliance, Arena *arena, const Finding **findings, int *count,
                     Error *error) MUST_CHECK;

#endif
