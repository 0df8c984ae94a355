/* plan_private.h: what the files of this room share. */
#ifndef CORE_PLAN_PRIVATE_H
#define CORE_PLAN_PRIVATE_H

#include "core/plan/plan.h"

/* Where the technician stands after the trail: what is open, is the power on. */
typedef struct {
    bool is_open[64];
    bool power_on;
} Situation;

Situation plan__situation(const Appliance *appliance, const Call *call);

/* Fills places to open, power switching and the time of a step whose check or part is set. */
void plan__price(const Appliance *appliance, const Situation *situation, const PlanTerms *terms,
                 const int *places, int place_count, double own_second, Step *step);

/* Has the trail an entry that is this check, since the last repair? */
bool plan__is_done(const DiagnosisModel *model, const Call *call, int check);

enum { PLAN_MOST_ROWS = 400 };

/* The hypotheses that matter now, sorted so that groups stand together. */
typedef struct {
    int which[PLAN_MOST_ROWS];
    double weight[PLAN_MOST_ROWS];
    int count;
    int leaders[PLAN_MOST_SET]; /* groups, most probable first, 'nothing wrong' among them */
    int leader_count;
    double alike[PLAN_MOST_SET]; /* product of Bhattacharyya coefficients of each leader with the first */
} Field;

void plan__find_field(const Standing *standing, Field *field);
double plan__group_probability(const Standing *standing, int group);

/* Mutual information of suspect and outcome, nats. */
double plan__information(const Standing *standing, const Field *field, const Prediction *prediction);
/* Multiplies field->alike by how alike the leaders would look to this check. */
void plan__compare_leaders(const Standing *standing, Field *field, const Prediction *prediction);
/* Fills step->branches: outcomes, their chances, who leads after each. */
void plan__note_branches(const Standing *standing, const Field *field, const Prediction *prediction,
                         Step *step);

/* Steps that follow when the checks have done their work: mend what leads, prove; or, when the power may not
 * be switched on after that, the dead checks that are left. */
void plan__finish(const Standing *standing, const PlanTerms *terms, bool may_prove, Plan *plan);
/* Puts before all checks what cannot wait for them: the entry that contradicts the others, once more; the
 * proving run, when a repair has left nothing that stands out. */
void plan__put_first(const Standing *standing, const PlanTerms *terms, Plan *plan);
/* Minor units: repairing whatever it turns out to be, and proving it. */
double plan__expected_rest(const Standing *standing, const PlanTerms *terms);

#endif
