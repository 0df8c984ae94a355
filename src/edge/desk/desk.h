/* desk.h: a call laid out with all that is needed to say something of it.
 *
 * Lives here: what a name stands for (an appliance inside the program or a file, sentences, a shop's terms);
 * a call read with its appliance and its logs; its standing; a call of a store, as it stood at any record;
 * what the store's closed calls teach about it. Not here: what is computed (core), who asks for it (cli,
 * serve). Ownership: everything lives in the caller's arena or in the program. */
#ifndef EDGE_DESK_H
#define EDGE_DESK_H

#include "core/history/history.h"
#include "core/plan/plan.h"
#include "edge/store/store.h"
#include "format/call_json/call_json.h"
#include "format/log_text/log_text.h"
#include "format/plot/plot.h"
#include "format/words/words.h"

/* ---- what a name stands for */

/* The bytes of a shipped appliance by its name, or of the file at that path; *file is the name for messages.
 * An unknown name is an error that lists the shipped ones. */
bool desk_appliance_bytes(const char *name, Arena *arena, const char **file, Text *bytes,
                          Error *error) MUST_CHECK;
bool desk_is_shipped(const char *name); /* an appliance inside the program */

/* The appliance of that name or path, with the figures of a rating plate in place of its own. */
bool desk_load_appliance(const char *name, const PlateEntry *plate, int plate_count, Arena *arena,
                         Appliance *appliance, Error *error) MUST_CHECK;
bool desk_build_appliance(const char *file, Text bytes, Arena *arena, Appliance *appliance,
                          Error *error) MUST_CHECK;

/* [branch_count]: the current of each rated branch at work, when it gets the voltage of this supply that is
 * nearest to its rating; NULL when memory is out. */
const double *desk_supplied_amperes(const Appliance *appliance, Arena *arena);

/* What a shop's minutes cost and (unless NULL) how much its history weighs: of a file, or (NULL) our own. */
bool desk_load_terms(const char *path, Arena *arena, PlanTerms *terms, HistoryTerms *history,
                     Error *error) MUST_CHECK;

/* The sentences in a language, 'en' (NULL) or 'es'; ERROR_UNKNOWN_WORD for another. */
bool desk_load_words(const char *language, Arena *arena, Words *words, Error *error) MUST_CHECK;

/* ---- what closed calls teach */

typedef struct {
    HistoryShare share;                  /* where the chances come from */
    int calls, all;                      /* with something confirmed: on this appliance, on any */
    const double *before, *now, *counts; /* [fault_count + 1]; 0 is 'nothing wrong' */
} DeskLearned;

/* How the store's calls went; of an appliance (unless NULL) also what is to be expected of it. */
bool desk_history(Store *store, const HistoryTerms *terms, const char *appliance, Arena *arena,
                  HistoryAnswer *answer, Error *error) MUST_CHECK;

/* The first moment of a day, of UTC, and `days` later; untouched when nothing was typed. */
bool desk_read_day(const char *typed, int days, int64_t *millisecond, Error *error) MUST_CHECK;
bool desk_list_json(const StoreSummary *summaries, int count, TextBuilder *out, Error *error) MUST_CHECK;

/* ---- a call and its standing */

bool desk_has_begun(const Call *call); /* before the visit there are only words of the owner */

/* The bytes of the log that an entry names, and its name for messages; ERROR_IO when they cannot be had. */
typedef bool DeskReadLog(void *context, const char *name, int entry, Arena *arena, Text *bytes,
                         const char **source, Error *error);
/* From the folder of the call's file; the context is its path, a const char *. */
DeskReadLog desk_read_log_beside;

typedef struct DeskSource DeskSource;
/* May move the chances of the appliance's faults before anything is worked out. */
typedef bool DeskTeach(const DeskSource *source, const Call *call, Appliance *appliance, Error *error);

/* Where a call comes from. */
struct DeskSource {
    const char *name; /* for messages */
    Text bytes;       /* a call file */
    Text description; /* of its appliance, where that came with the call; else it is found by its name */
    DeskReadLog *read;
    DeskTeach *teach;     /* NULL: the chances of the appliance's file */
    DeskLearned *learned; /* what it says of how it moved them */
    void *context;        /* of both */
};

/* A call names its appliance, so its head is read first, then the appliance, then the entries. */
bool desk_read_call(const DeskSource *source, Arena *arena, Appliance *appliance, Call *call,
                    Error *error) MUST_CHECK;

/* A call read, with what it says. The model points into the rest, so it stays where it was made. */
typedef struct {
    Appliance appliance;
    Call call;
    BehaviourMemory *memory;
    DiagnosisModel *model;
    Standing standing;
    int imagined; /* the last entries, which nobody has made */
} DeskStanding;

enum { DESK_KEPT = 4 };
typedef struct { /* ovens that stay laid out between questions; NULL at first; for one thread */
    struct DeskOven *ovens[DESK_KEPT];
} DeskKept;
void desk_forget(DeskKept *kept);

/* With `imagined` entries at its end. A log that cannot be had leaves its run unweighed, with a line in
 * `notes`. `kept` (or NULL) has what is known of the oven already; that lives until the next question. */
bool desk_stand(const DeskSource *source, const char *const *imagined, int imagined_count, DeskKept *kept,
                Arena *arena, TextBuilder *notes, DeskStanding *stands, Error *error) MUST_CHECK;
void desk_keep(BehaviourMemory *memory); /* what was simulated, for the next time */

/* ---- a call of a store */

typedef struct { /* found by the end of its identifier, or the whole */
    char call[TRAIL_ID_SIZE];
    TrailRecord *records;
    int count;
    Trail trail;
    TrailState state; /* after `upto` records */
    int upto;
} DeskCall;

bool desk_find_call(Store *store, const char *ending, Arena *arena, DeskCall *found, Error *error) MUST_CHECK;
bool desk_replay(DeskCall *found, int upto, Arena *arena, Error *error) MUST_CHECK;

/* As a source: with its attached logs and, where `history` is given, the chances that closed calls teach. */
bool desk_source(Store *store, const DeskCall *found, const HistoryTerms *history, Arena *arena,
                 DeskSource *source, Error *error) MUST_CHECK;

/* A run of the call, by its record's number, with the log that is attached to it; its picture. */
typedef struct {
    LogText log;
    Run run;
    RunAdvice advice;
    double tolerance_kelvin; /* nothing is to be done within it */
    Plot sound;              /* of a simulated sound oven of this type: what a plot needs of it */
} DeskRun;
bool desk_read_run(Store *store, const DeskCall *found, int record, Arena *arena, DeskRun *run,
                   Error *error) MUST_CHECK;
RunControl desk_run_control(const Appliance *appliance);
bool desk_draw_run(const Words *words, const RunLog *log, const Run *run, double tolerance_kelvin,
                   Arena *arena, Plot *plot, Error *error) MUST_CHECK;

/* Would this entry stand at the end of the call? A wrong mark or word is an error. */
bool desk_judge_entry(Store *store, const DeskCall *found, const char *entry, Arena *arena,
                      Error *error) MUST_CHECK;

/* The call (which need not be there yet: count 0) with this record added, as it would then read. */
bool desk_add_record(const DeskCall *found, const TrailRecord *record, Arena *arena, DeskCall *with,
                     Error *error) MUST_CHECK;

#endif
