/* diagnosis_private.h: what the files of this room share. */
#ifndef CORE_DIAGNOSIS_PRIVATE_H
#define CORE_DIAGNOSIS_PRIVATE_H

#include "core/diagnosis/diagnosis.h"

/* The likelihood of an entry under a hypothesis, and the part of it that a slip accounts for. */
typedef struct {
    double all, slip;
} Likelihood;

/* Of a shown figure (infinite: OL) where the meter would show `display`. */
Likelihood diagnosis__reading(const DiagnosisModel *model, const Connection *connection, double shown,
                              const Display *display);
/* Of the words of a complaint: `strengths` are the hypothesis' computed conditions. */
Likelihood diagnosis__complaint(const DiagnosisModel *model, const Entry *entry, const Hypothesis *hypothesis,
                                const float *strengths, bool is_first);
/* Of seeing a word on a part; `share` is the part's share of its rated power, for words of power. */
Likelihood diagnosis__look(const DiagnosisModel *model, int part, int word, double share,
                           const Hypothesis *hypothesis);
/* The largest share of its rating that a branch of the part gets, in the function that a look is made in: as
 * said, or (-1) the first in which the part has power. */
double diagnosis__share(const DiagnosisModel *model, int part, int function, const Hypothesis *hypothesis);

/* What the model's meter would show through `meter` under a hypothesis. */
Display diagnosis__display(const DiagnosisModel *model, const CircuitMeter *meter,
                           const Hypothesis *hypothesis);
/* The same for a check, remembered: a reading's display, or (low) the share of power that is watched. The
 * check's meter must have been connected by diagnosis__connect. */
const Display *diagnosis__check_display(DiagnosisModel *model, int check, int hypothesis);
bool diagnosis__connect(DiagnosisModel *model, int check, Error *error) MUST_CHECK;
/* Density at a shown figure (the chance, for OL), and chance of showing less than x. */
double diagnosis__density(const Display *display, ReadingKind kind, double shown);
double diagnosis__chance_below(const Display *display, double x);

/* What the oven does under every hypothesis in one function at one set temperature. */
struct Simulated {
    int function;
    BehaviourTerms terms;
    bool has_family;
    const Behaviour *of;     /* [hypotheses] */
    const Behaviour *around; /* of single faults: ends of the slice and traits, see diagnosis__end, __trait */
    Simulated *next;
};

/* NULL when memory is out. `second` is the length of the run. */
const Simulated *diagnosis__simulated(DiagnosisModel *model, int function, double set_celsius, double second,
                                      bool has_family, Error *error);
int diagnosis__single_count(const DiagnosisModel *model); /* hypotheses of one fault or none */
const Behaviour *diagnosis__end(const Simulated *simulated, int single, bool is_high);
const Behaviour *diagnosis__trait(const Simulated *simulated, int single, int trait);

/* Of a run or a spot; NULL with an error when memory is out or its function does not heat. */
const Simulated *diagnosis__simulate_entry(DiagnosisModel *model, const Entry *entry, Error *error);
Likelihood diagnosis__run(const DiagnosisModel *model, const Run *run, const Simulated *simulated, int h);
Likelihood diagnosis__spot(const DiagnosisModel *model, double celsius, const Simulated *simulated, int h);
Likelihood diagnosis__setting(const DiagnosisModel *model, const Entry *entry, int h);

/* Temperature of an element's sheath at a share of its rated power, watched for three minutes. */
void diagnosis__watch_sheaths(DiagnosisModel *model);
double diagnosis__sheath(const DiagnosisModel *model, int heat, double share);

/* Chance of a sign of trouble on a part under a hypothesis. */
double diagnosis__sign_chance(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis);

/* The computed conditions of all hypotheses, found when first asked for. */
bool diagnosis__find_conditions(DiagnosisModel *model, Error *error) MUST_CHECK;

const Fault *diagnosis__fault(const DiagnosisModel *model, const Hypothesis *hypothesis, int i);

MeterMode diagnosis__mode(ReadingKind kind);

/* Chance of a standard normal below z; what is next to certain is certain, which costs nothing. */
double diagnosis__normal(double z);

#endif
