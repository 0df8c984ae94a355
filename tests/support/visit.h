/* visit.h: a call on a shipped appliance, entry by entry, for tests of diagnosis and the rooms above it.
 *
 * Lives here: entries by the names of marks, parts and words, and the standing that they give. Not here:
 * what the standing should be, plans. A test that uses it links format_appliance_yaml and core_diagnosis.
 * An entry that may not stand, and a name that the appliance does not have, fail the test. */
#ifndef SUPPORT_VISIT_H
#define SUPPORT_VISIT_H

#include "core/diagnosis/diagnosis.h"

enum { VISIT_MOST_ENTRIES = 40 };

typedef struct {
    Arena arena, answers; /* of the model; of the standings */
    Appliance appliance;
    DiagnosisModel model;
    Entry entries[VISIT_MOST_ENTRIES];
    Run runs[VISIT_MOST_ENTRIES]; /* room for the figures of its runs, taken in turn */
    int run_count;
    Call call;
    Standing standing;
} Visit;

void visit_begin(Visit *visit, const char *appliance);
void visit_end(Visit *visit);
void visit_forget(Visit *visit); /* all entries and standings; the model stays */

/* The same as fixtures of a group of tests: one visit to a range-relay-control for all, without entries for
 * each. */
int visit_set_up_group(void **state);
int visit_tear_down_group(void **state);
int visit_set_up(void **state);

/* Each adds one entry and returns it. `lift` and `function` may be NULL; INFINITY is OL. */
Entry *visit_complain(Visit *visit, const char *word);
Entry *visit_look(Visit *visit, const char *part, const char *word, const char *function);
Entry *visit_ohm(Visit *visit, const char *from, const char *to, double ohm, const char *lift);
Entry *visit_volt(Visit *visit, const char *from, const char *to, double volt, const char *function);
Entry *visit_spot(Visit *visit, double celsius, double set_celsius);
Entry *visit_offset(Visit *visit, double kelvin); /* what the control displays */
Entry *visit_dead(Visit *visit);
Entry *visit_mend(Visit *visit, int part, bool is_adjustment);
Entry *visit_repair(Visit *visit, const char *part); /* replaced */
Entry *visit_adjust(Visit *visit, const char *part);

/* visit->standing of the entries so far; earlier standings stay as they are until visit_forget. */
void visit_diagnose(Visit *visit);

/* The same, and its probabilities[hypotheses]. */
const double *visit_probabilities(Visit *visit);

/* Fails unless two such arrays are the same to the bit. */
void visit_assert_same_bits(const Visit *visit, const double *a, const double *b);

/* Of the suspect with one fault (NULL: 'nothing wrong') in visit->standing. */
double visit_probability(const Visit *visit, const char *fault);

#endif
