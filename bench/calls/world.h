/* world.h: one virtual call's truth, and what it shows to whoever asks.
 *
 * Lives here: the draw of an oven as it was built (values within their tolerances, an oven of its own, a
 * supply, a meter), of what is wrong with it and of its owner's words; the answer to every check as an entry;
 * what a repair does to it. Not here: minutes and money (technician.h), what to do next (policy.h).
 * Units: SI. Ownership: a world and all it gives live in its own arena until world_end; it points into the
 * assumed model, which is only read (and remembers what it computes), so it must live as long.
 *
 * The truth is drawn apart from what the diagnosis assumes: severities anywhere in their range, every
 * resistance by its tolerance, every coefficient of the oven by a factor of its own besides the family's
 * traits. The same seed gives the same call; the answer to a check depends on the seed, the check and how
 * often it was made, so two policies that make the same check read the same figure.
 *
 * Bad at: faults that come and go, a second fault caused by the first, and owners who mend things. */
#ifndef CALLS_WORLD_H
#define CALLS_WORLD_H

#include "base/random.h"
#include "core/diagnosis/diagnosis.h"

enum { WORLD_MOST_CHECKS = 1024, WORLD_MOST_WORDS = 64 };

/* The owner bakes at 350 F, and so do runs. */
#define WORLD_SET_CELSIUS 176.67

typedef struct {
    double ratio[METER_MODE_COUNT]; /* of its readings, for the whole call */
    double lead_ohm;
    double probe_kelvin; /* of the thermocouple */
} MeterError;

typedef struct {
    DiagnosisModel *assumed; /* of the appliance as its file has it */
    uint64_t seed, attempt;
    Arena arena, runs;    /* of the truth; of the logs of one play, see world_reset */
    Appliance built;      /* its values, and the faults of the parts that are broken */
    DiagnosisModel model; /* the same machinery, fed with the truth */
    int drawn[CIRCUIT_MOST_FAULTS],
        drawn_count; /* what was wrong at first: faults of the assumed appliance */
    double severity[CIRCUIT_MOST_FAULTS];
    int left[CIRCUIT_MOST_FAULTS], left_count; /* what is wrong now: numbers in drawn */
    ThermalFamily family;
    double adjusted_kelvin; /* set by the technician on top */
    MeterError meter_error;
    double strength[CONDITION_COUNT];       /* how strongly the owner noticed each, at first */
    bool would_say[WORLD_MOST_WORDS];       /* when asked for that word */
    int words[CALL_MOST_WORDS], word_count; /* of the complaint */
    double set_offset_kelvin;               /* what somebody had set at the control for reasons of his own */
    int made[WORLD_MOST_CHECKS];            /* how often each check was made since then */
    int *renewed;                           /* [parts]: how often it was mended since then */
    int runs_made, repairs;
} World;

/* Draws the call of this seed. An owner who has nothing to say does not call: what is wrong is drawn until
 * somebody calls, so what nobody notices is as rare among calls as in life; with `only_sound` until his oven
 * is sound, too. */
bool world_begin(DiagnosisModel *assumed, uint64_t seed, bool only_sound, World *world,
                 Error *error) MUST_CHECK;
void world_end(World *world);

/* As at the technician's arrival, for the next policy. */
void world_reset(World *world);

Entry world_complaint(const World *world);

/* What the technician writes down after this check: true value, meter error, now and then a slip. */
bool world_answer(World *world, int check, Entry *entry, Error *error) MUST_CHECK;

/* A run from cold, so long, in the usual function at WORLD_SET_CELSIUS. */
bool world_run(World *world, double second, Entry *entry, Error *error) MUST_CHECK;

/* Is there a fault that fitting this part cures? */
bool world_is_cured_by(const World *world, int part);

/* Is nothing wrong (any more) but what is explained to the owner when the call is closed: a bad thermometer,
 * pans? At first, now. */
bool world_was_sound(const World *world);
bool world_is_sound(const World *world);

/* Is all that is left a control further out than it can be set, which was set and now settles so near that
 * nobody minds? `error_kelvin` is what a run after the setting shows. */
bool world_is_set_right(const World *world, double error_kelvin);

/* Fits a new part; one in fifty does not help. Or sets the control so many kelvin hotter. */
void world_replace(World *world, int part);
void world_adjust(World *world, int part, double kelvin);

/* What the circuit's meter would show without any error, for tests. */
bool world_true_reading(World *world, const Connection *connection, double *value, Error *error) MUST_CHECK;

/* Chance that the owner says so, from what is noticed of the oven as it came. */
double world_chance_of_word(const World *world, int word);

/* Shared by the files of the world. */
void world__draw_truth(World *world);
void world__draw_meter(World *world);
bool world__build(World *world) MUST_CHECK; /* the appliance as built; false: memory is out */
void world__vary_oven(World *world);        /* once its model has begun */
bool world__look(World *world, int check, RandomStream *stream, Entry *entry, Error *error) MUST_CHECK;
bool world__look_over(World *world, int check, RandomStream *stream, Entry *entry, Error *error) MUST_CHECK;
RandomStream world__stream(const World *world, uint64_t about, uint64_t times);
int world__hypothesis(const World *world);                 /* what is wrong now, in the world's own model */
bool world__listen(World *world, Error *error) MUST_CHECK; /* strengths and words */
bool world__oven(const World *world, double set_celsius, Oven *oven) MUST_CHECK; /* as it is now */

#endif
