/* diagnosis_private.h: what the files of this room share. */
#ifndef CORE_DIAGNOSIS_PRIVATE_H
#define CORE_DIAGNOSIS_PRIVATE_H

#include "core/diagnosis/diagnosis.h"

/* The likelihood of an entry under a hypothesis, and the part of it that a slip accounts for. */
typedef struct {
    double all, slip;
} Likelihood;

/* Of a display (infinite: OL) where `predicted` is what the meter would show. */
Likelihood diagnosis__reading(const DiagnosisModel *model, const Connection *connection, double display,
                              CircuitReading predicted);
/* Of the words of a complaint: `holds` are the hypothesis' computed conditions. */
Likelihood diagnosis__complaint(const DiagnosisModel *model, const Entry *entry, const Hypothesis *hypothesis,
                                const bool *holds, bool is_first);
/* Of seeing `word` on a part, with `function` switched on (-1: nothing need be on). */
Likelihood diagnosis__look(const DiagnosisModel *model, int part, int function, int word,
                           const Hypothesis *hypothesis);

/* The computed conditions of all hypotheses, found when first asked for. */
bool diagnosis__find_conditions(DiagnosisModel *model, Error *error) MUST_CHECK;

const Fault *diagnosis__fault(const DiagnosisModel *model, const Hypothesis *hypothesis, int i);

/* The function that a look is made in: as said, or the first in which the part has power. */
int diagnosis__watch_function(const DiagnosisModel *model, int part, int function);

MeterMode diagnosis__mode(ReadingKind kind);

#endif
