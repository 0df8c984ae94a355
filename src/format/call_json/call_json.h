/* call_json.h: answers as JSON, for other programs.
 *
 * Lives here: one writer for each kind of answer, keys as doc/interface.md lists them. Not here: sentences
 * for people (words), computation (core), files (edge). Units: SI with the unit in the key (`celsius`,
 * `ohm`); money in minor units with its currency. A number that is infinite or unknown is null. Ownership:
 * the text is the builder's. Errors: ERROR_MEMORY only. */
#ifndef FORMAT_CALL_JSON_H
#define FORMAT_CALL_JSON_H

#include "base/text.h"
#include "core/history/history.h"
#include "core/plan/plan.h"
#include "format/words/words.h"

/* One conversion of a sensor: what it shows at a temperature. */
typedef struct {
    const char *kind; /* as the person named it, `pt100` */
    double celsius;
    double showing; /* ohm or millivolt */
    bool is_resistive;
    bool has_tolerance;
    double tolerance_kelvin; /* half-width of its class's limits */
} SensorShowing;

bool call_json_sense(const SensorShowing *showing, TextBuilder *out, Error *error) MUST_CHECK;

/* Names and sentences of several appliances. */
bool call_json_appliances(const Words *words, const Description *descriptions, int count, TextBuilder *out,
                          Error *error) MUST_CHECK;

/* One appliance whole: supply, parts, marks, functions, places, words for a call. `amperes` has one number
 * for each of its branches: the current at work on this supply. */
bool call_json_appliance(const Words *words, const Appliance *appliance, const double *amperes,
                         TextBuilder *out, Error *error) MUST_CHECK;

/* What is wrong with the description in `file`. */
bool call_json_findings(const char *file, const Finding *findings, int count, TextBuilder *out,
                        Error *error) MUST_CHECK;

/* What a meter should show, healthy and under each fault, with the sentences that warn of a parallel path
 * and the judgement of a reading (NULL: none was given). */
bool call_json_expectation(const Circuit *circuit, const Connection *connection, const Meter *meter,
                           const Expectation *expectation, const MeterJudgement *judgement,
                           const char *const *warnings, int warning_count, TextBuilder *out,
                           Error *error) MUST_CHECK;

/* The standing of a call and what to do next. Suspects are listed until what is left of their probability
 * together is below 1e-10, or, some thousand lines earlier, one is less probable than `least_probability`;
 * the rest is counted in `unlisted`. */
bool call_json_standing(const Words *words, const Standing *standing, const Plan *plan,
                        const PlanVisit *visit, double least_probability, TextBuilder *out,
                        Error *error) MUST_CHECK;

/* A line of the list of calls. */
typedef struct {
    const char *call, *title, *appliance, *by, *phase;
    char opened[32], changed[32]; /* RFC 3339 */
    int records, contradictions;
} CallOfList;

bool call_json_calls(const CallOfList *calls, int count, TextBuilder *out, Error *error) MUST_CHECK;

/* How calls went and, with an appliance, what is to be expected of it. */
typedef struct {
    const HistoryFigures *figures;
    const char *appliance;     /* NULL: none was asked for, and nothing below counts */
    const char *const *faults; /* [fault_count]; 0 is nothing wrong */
    const double *before, *now, *counts;
    int fault_count, calls, all;
    HistoryShare share;
} HistoryAnswer;

bool call_json_history(const HistoryAnswer *answer, TextBuilder *out, Error *error) MUST_CHECK;

/* One run with its advice at the top, or several in `runs`. `assumptions` are words, `said` their sentences.
 */
typedef struct {
    const Run *runs;
    int run_count;
    const RunAdvice *advice;
    double tolerance_kelvin;
    const char *const *columns; /* one for each run */
    const char *const *assumptions, *const *said;
    int assumption_count;
} RunAnswer;

bool call_json_run(const Words *words, const RunAnswer *answer, TextBuilder *out, Error *error) MUST_CHECK;

#endif
