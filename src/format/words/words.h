/* words.h: which sentence says that code.
 *
 * Lives here: the sentences of data/words/<language>.yaml, found by key, with {placeholders} filled in. Not
 * here: which code it is (core), how a quantity is written (base/quantity): values come as text.
 * A key is the path through the file: `step.ohm` is the entry `ohm` of the mapping `step`.
 * Ownership: what is read lives in the arena of words_read. */
#ifndef FORMAT_WORDS_H
#define FORMAT_WORDS_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "core/plan/plan.h"
#include "core/run/run.h"

typedef struct {
    const char *key, *text;
} Sentence;

/* How sentences count degrees: Fahrenheit with celsius behind it, since display and thermometer are often not
 * of the same sort; or the one that a reader has chosen. */
typedef enum { DEGREES_BOTH, DEGREES_FAHRENHEIT, DEGREES_CELSIUS } Degrees;

typedef struct {
    const Sentence *sentences; /* sorted by key */
    int count;
    Degrees degrees; /* both, as read; set by whoever knows the reader */
} Words;

/* What stands in for {name}. */
typedef struct {
    const char *name, *text;
} WordValue;

/* Reads a file of sentences: mappings of mappings down to text. `file` is only for errors: what
 * yaml_read_tree refuses, a list, and a brace that is not closed. */
bool words_read(const char *file, Text bytes, Arena *arena, Words *words, Error *error) MUST_CHECK;

/* Adds the sentences of another file, as data/words/catalogue/<language>.yaml; of a key in both the first
 * counts.
 */
bool words_add(const char *file, Text bytes, Arena *arena, Words *words, Error *error) MUST_CHECK;

/* What stands for words of the catalogue or of an appliance's file, which are English: theirs in this
 * language, or themselves. NULL gives NULL. */
const char *words_translate(const Words *words, const char *english);

/* What a part, place, function or look of an appliance's file is called where it is spoken of: its own name
 * in English, and where the catalogue has none; a wire keeps its marks. In the arena where it is made. */
const char *words_name(const Words *words, const char *identifier, Arena *arena);

/* The sentence with that key, placeholders as they stand; NULL when there is none. */
const char *words_find(const Words *words, const char *key);

/* Adds the sentence. What is missing shows: a missing sentence as [key], a missing value as {name}. */
void words_say(const Words *words, TextBuilder *out, const char *key, const WordValue *values, int count);

/* What the core answers in codes and numbers, as sentences. */

/* A figure as this meter's display has it, rounded to its step, `OL` above its last range. */
void words_write_figure(const Meter *meter, ReadingKind kind, double figure, char *out, size_t size);

/* The faults of a group: 'bake-element.open', 'a+b', or 'nothing-wrong' for group 0. */
void words_name_group(const DiagnosisModel *model, int group, TextBuilder *out);

/* The same where it is spoken of: 'resistencia inferior: hilo de la resistencia roto' where the part has such
 * a name. And the faults alone in plain words: 'heating wire broken'. */
void words_call_group(const Words *words, const DiagnosisModel *model, int group, TextBuilder *out);
void words_say_group(const Words *words, const DiagnosisModel *model, int group, TextBuilder *out);

/* An entry in a few words: '238 V between L1 and L2'. */
void words_say_entry(const Words *words, const Appliance *appliance, const Entry *entry, TextBuilder *out);

/* A short name of a step that stays the same: 'ohm:BK1-BK2:lift=BK1'. */
void words_name_step(const Appliance *appliance, const Step *step, TextBuilder *out);

/* The power that a step needs, as it stays the same: 'on', 'off', or 'any' for a question or paper. */
const char *words_name_power(const SafetyNeeds *needs);

/* A step as an instruction; what must be done and heeded before it, one sentence after the other; why it
 * is worth its minutes: what each outcome would mean. */
void words_say_step(const Words *words, const Standing *standing, const Step *step, TextBuilder *out);
void words_say_before(const Words *words, const Standing *standing, const Step *step, TextBuilder *out);
void words_say_why(const Words *words, const Standing *standing, const Step *step, TextBuilder *out);

/* One outcome of a step: how likely, who leads then, what would be next. What is worth doing on the same
 * occasion; nothing when there is none. Money in whole units of the appliance's currency. */
void words_say_outcome(const Words *words, const DiagnosisModel *model, const Step *step,
                       const StepBranch *branch, TextBuilder *out);
void words_say_shared(const Words *words, const Standing *standing, const Step *step, TextBuilder *out);
void words_say_money(const Appliance *appliance, double minor, TextBuilder *out);

void words_say_contradiction(const Words *words, const Standing *standing, const Contradiction *contradiction,
                             TextBuilder *out);
void words_say_verdict(const Words *words, const Standing *standing, const Plan *plan, TextBuilder *out);

/* With that many decimals, in degrees of the reader's choice: `350 F (177 C)`, `177 C`; a difference `+12.0 F
 * (+6.7 K)`, a width `12 F (6.7 K)`. And `6 min 05 s`. At most `size` bytes. */
void words_write_temperature(const Words *words, double celsius, int decimals, char *out, size_t size);
void words_write_difference(const Words *words, double kelvin, bool has_sign, char *out, size_t size);
void words_write_width(const Words *words, double kelvin, char *out, size_t size);
void words_write_time(double second, char *out, size_t size);

/* A finding and what to do, each as a sentence or two; times from the log's start on. */
void words_say_run_finding(const Words *words, const Run *run, const RunFinding *finding, TextBuilder *out);
void words_say_run_advice(const Words *words, const Run *run, const RunAdvice *advice,
                          double tolerance_kelvin, TextBuilder *out);

#endif
