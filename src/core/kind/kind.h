/* kind.h: what kinds of parts there are, how each is built inside, and how each can fail.
 *
 * Lives here: the catalogue that data/parts/ is read into: branches, fault modes
 * with severities and prior weights, words for complaints and looks. Not here: one appliance's parts and
 * wires (appliance), reading YAML (format/appliance_yaml), probabilities from evidence (diagnosis).
 * Units: SI; a weight is relative to all other faults of an appliance. Ownership: plain data in the
 * arena of whoever read it; nothing here allocates. */
#ifndef CORE_KIND_H
#define CORE_KIND_H

#include "base/error.h"
#include "base/quantity.h"
#include "core/effect/effect.h"
#include "core/material/material.h"

/* What a two-ended piece of a part is, electrically. */
typedef enum {
    BRANCH_HEATER,  /* resistance from rated watts and volts; cold and hot differ */
    BRANCH_CONTACT, /* open until a function closes it */
    BRANCH_LINK,    /* conducts unless a fault or a technician opens it */
    BRANCH_LOAD,    /* motor, lamp, transformer, electronics: ohms for a meter, impedance on the mains */
    BRANCH_SENSOR,  /* platinum resistor or thermistor: ohms from temperature */
    BRANCH_GAP,     /* insulation: does not conduct unless a fault bridges it */
    BRANCH_TYPE_COUNT
} BranchType;

typedef struct {
    const char *name; /* 'heater'; for a kind with ways, the way's name comes from the appliance */
    BranchType type;
    int from, to;         /* terminal numbers from 0; KIND_FRAME for the appliance's frame */
    double ohm;           /* direct-current resistance when conducting, unless a property gives it */
    double reactance_ohm; /* added on the mains, 60 or 50 Hz alike */
    double hot_ratio;     /* resistance at work over resistance at room temperature; 0 or 1: no change */
    double tolerance;     /* relative standard uncertainty of the resistance between good samples */
    bool is_driven;       /* a contact closed by a running control, not by hand */
} KindBranch;

enum { KIND_FRAME = -1 };                            /* as a terminal: the frame of the appliance */
enum { KIND_EVERY_BRANCH = -1, KIND_EACH_WAY = -2 }; /* as an effect's branch: all; one fault for each */
enum { KIND_MOST_SIGNS = 6, KIND_MOST_SAMPLES = 5 };
#define KIND_POINTS(samples) (2 * (samples) + 1)

typedef struct {
    double from, to; /* ohm, factor or kelvin by the effect */
    bool is_log;     /* spread evenly in the logarithm */
    int samples;     /* 1 to KIND_MOST_SAMPLES slices of the spread, equal weights */
} Severity;

typedef struct {
    int look;           /* number in Catalogue.looks */
    double probability; /* that this sign is seen when the fault is there */
} Sign;

typedef struct {
    const char *name, *says; /* 'open', 'heating wire broken' */
    EffectType effect;
    int branch; /* which branch of the kind it happens to, or KIND_EVERY_BRANCH, KIND_EACH_WAY */
    bool has_severity;
    Severity severity;
    double weight; /* relative prior weight, above 0 */
    const char *weight_source;
    double condition[CONDITION_COUNT]; /* 0 to 1: how strongly the owner's oven shows it */
    Sign signs[KIND_MOST_SIGNS];
    int sign_count;
    const char *setting;  /* 'offset' when the control's display shows its severity, or NULL */
    double adjust_second; /* cured without a new part, in that time; 0: only by replacing it */
    const char *warning;  /* key of a safety sentence, or NULL */
} FaultMode;

typedef struct {
    const char *name, *says;
    const char *role; /* 'wiring' can be lifted, 'plug' can be unplugged, 'supply' feeds, 'breaker' takes the
                         power off, 'control' drives, 'fan' moves the oven's air, 'lamp' lights it; or NULL */
    const KindBranch *branches; /* of a kind with fixed terminals */
    int branch_count, terminal_count;
    bool has_ways; /* the appliance lists ways: any number of branches like `way` */
    KindBranch way;
    const FaultMode *modes;
    int mode_count;
    const int *looks; /* what can be seen on it, numbers in Catalogue.looks */
    int look_count;
    const char *const *properties; /* numeric properties that an appliance may give, e.g. 'watts' */
    int property_count;
    bool is_measured; /* readings across its branches are on the check list */
} PartKind;

/* How one comes to see it: close up, everything off; of a part that is on; with a strip of paper in the door.
 */
typedef enum { LOOK_CLOSE, LOOK_POWER, LOOK_STRIP } LookWay;

typedef struct {
    const char *name, *says;
    LookWay way;
    bool is_sound;                 /* nothing unusual; else of power (glows) or a sign (blistered) */
    double ratio_from, ratio_to;   /* of power: the share of rated power at which it is seen */
    double sheath_from, sheath_to; /* of power, on an element: its sheath's celsius; both 0: share */
    double unsteady, runs_on; /* of power without a share: chance that who watches notices that it comes and
                                 goes, or that it runs on after it was switched off */
    double otherwise, when[CONDITION_COUNT]; /* sign: chance of it on a good part; with a condition */
} LookWord;

typedef struct {
    const char *name, *says;
    double when[CONDITION_COUNT]; /* chance of this word when the condition holds */
    double otherwise;             /* chance of it with some other fault */
    double nothing_wrong;         /* chance of it from the owner of a sound oven */
} ComplaintWord;

typedef struct {
    const PartKind *kinds;
    int kind_count;
    const LookWord *looks;
    int look_count;
    const ComplaintWord *complaints;
    int complaint_count;
    double nothing_wrong_weight; /* prior weight of a sound oven, on the scale of the fault modes */
    double second_fault;         /* chance that a call with one fault has another, independent one */
    MaterialTable materials;     /* what ovens are made of */
} Catalogue;

/* Numbers by name; -1 when there is none. */
int kind_find(const Catalogue *catalogue, const char *name);
int kind_find_look(const Catalogue *catalogue, const char *name);
int kind_find_complaint(const Catalogue *catalogue, const char *name);
int kind_find_sound(const Catalogue *catalogue); /* nothing unusual close up; the last word without one */

/* The condition that makes owners say a word most. */
Condition kind_first_cause(const ComplaintWord *word);
bool kind_is_sign(const LookWord *look, LookWay way); /* of trouble, and seen in that way; none is of power */

/* Point i of KIND_POINTS(samples): ends (even) and middles (odd) of `samples` equally probable slices. */
double kind_severity_point(const Severity *severity, int i);

#endif
