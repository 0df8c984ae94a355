/* appliance_private.h: what the files of this room share while an appliance is being built and judged.
 *
 * Lives here: the builder, whose arrays can still be written, and the little graph questions that the check
 * list and the judgement both ask. Not here: anything that another room may call. */
#ifndef CORE_APPLIANCE_PRIVATE_H
#define CORE_APPLIANCE_PRIVATE_H

#include "core/appliance/appliance.h"

/* The appliance under construction; the arrays are those of `appliance`, writable. */
typedef struct {
    Arena *arena;
    Error *error;
    Description *description; /* a copy, in which the plate's figures stand */
    Appliance *appliance;
    Mark *marks;
    Branch *branches;
    Part *parts;
    Fault *faults;
    Function *functions;
} Builder;

enum { APPLIANCE_MOST_NAMES = 256 }; /* known names that an error message chooses from */

/* Error of `line` of the description; `expected` is a printf format. Always false. */
bool appliance__refuse(const Builder *builder, ErrorCode code, int line, const char *found,
                       const char *expected, ...) PRINTF_LIKE(5, 6);

/* Unknown word: says what was expected, lists the known ones, proposes the nearest. Always false. */
bool appliance__unknown(Error *error, const char *found, const char *what, const char *const *known,
                        int count);

/* The stages of appliance_build, in their order. */
bool appliance__apply_plate(Builder *builder, const PlateEntry *plate, int plate_count) MUST_CHECK;
bool appliance__add_parts(Builder *builder) MUST_CHECK; /* with marks, branches, wires */
bool appliance__find_supply(Builder *builder) MUST_CHECK;
bool appliance__add_faults(Builder *builder) MUST_CHECK;
bool appliance__add_functions(Builder *builder) MUST_CHECK;
bool appliance__add_checks(Builder *builder) MUST_CHECK;

/* A state of the wiring for questions of the graph: who conducts at all, with nothing broken. */
typedef struct {
    int function;
    bool power_on; /* the control runs, so that the contacts it drives close too */
    int without;   /* a branch that is thought away; -1: none */
    int lifts[APPLIANCE_MOST_LIFTS], lift_count;
    int unplug; /* a part that is thought away; -1: none */
} Wiring;

bool appliance__function_closes(const Appliance *appliance, int function, int branch);
bool appliance__conducts(const Appliance *appliance, const Wiring *wiring, int branch);

/* Ohms of the best single path from `from` to each mark, through what conducts and not through the mains;
 * infinite where there is none. `ohm` has mark_count places. */
void appliance__find_paths(const Appliance *appliance, const Wiring *wiring, int from, double *ohm);

/* Gives marks that are joined by next to no resistance in that function the same number in `joint`, which
 * has mark_count places: the smallest mark among them. */
void appliance__find_joints(const Appliance *appliance, int function, int *joint);

/* The joint that a leg of the mains arrives at (leg 0 or 1); -1 when the supply has no such leg. */
int appliance__leg_joint(const Appliance *appliance, const int *joint, int leg);

/* Do the two ends of the branch sit on two different conductors of the supply? */
bool appliance__is_powered(const Appliance *appliance, const int *joint, int branch);

/* --- parts, branches, marks --- */

/* Number of the mark, made if need be; 0, the earth, for the word 'mains'. */
int appliance__mark_of(Builder *builder, const char *name);

/* The branches of a part of either sort, and one branch by itself (for a wire). */
bool appliance__add_ways(Builder *builder, Part *part) MUST_CHECK;
bool appliance__add_fixed_branches(Builder *builder, Part *part) MUST_CHECK;
bool appliance__add_branch(Builder *builder, const Part *part, const KindBranch *built, const char *name,
                           int from, int to) MUST_CHECK;

/* Owner, place and wires of every mark, once all parts are there. */
void appliance__settle_marks(Builder *builder);

/* Is the part a wire, a harness, a cord: what is lifted off a terminal? */
bool appliance__comes_off(const Part *part);

/* --- the list of checks --- */

typedef struct {
    const Appliance *appliance;
    Part *parts;   /* the appliance's, writable: what reads their insulation is noted */
    Check *checks; /* NULL while counting */
    int count;
    double *ohm; /* of paths, one for each mark */
    int *joints; /* function_count rows of mark_count */
} Lister;

const int *appliance__joints_of(const Lister *lister, int function);

/* Sets the places that hands must reach at once; false when those are more than two. */
bool appliance__set_places(const Appliance *appliance, Check *check);

void appliance__add_check(Lister *lister, Check check); /* places set, seconds not yet */
void appliance__add_reading(Lister *lister, CheckKind kind, int part, int from, int to, int function);

bool appliance__takes_power(const Branch *branch); /* has a rating, so that power can be missed */

/* The first function that closes a contact, or puts a load on two conductors of the supply; -1: none. */
int appliance__first_closing(const Appliance *appliance, int branch);
int appliance__first_powering(const Lister *lister, int branch);

/* Checks of one branch, of one part that the supply passes through, of the supply where it arrives. */
void appliance__list_ohms(Lister *lister, int branch);
void appliance__list_insulation(Lister *lister); /* of the whole appliance, from the terminal block */
void appliance__list_live(Lister *lister, int branch);
void appliance__list_feed(Lister *lister, int part);
void appliance__list_supply(Lister *lister);
void appliance__list_oven(Lister *lister); /* of the whole oven: temperatures, displays, questions */

#endif
