/* call.h: what has happened on one visit.
 *
 * Lives here: the call and its entries, in order; the checks that an entry must pass to stand at all. Not
 * here: what the entries mean for any suspect (diagnosis), files (format, edge). Knows no Bayes.
 * Units: SI. Ownership: plain data in the reader's arena; a call belongs to one appliance, whose numbers
 * (marks, parts, functions) its entries use. */
#ifndef CORE_CALL_H
#define CORE_CALL_H

#include "core/appliance/appliance.h"
#include "core/meter/meter.h"
#include "core/run/run.h"

typedef enum {
    ENTRY_COMPLAINT, /* words of the owner */
    ENTRY_ASKED,     /* the owner was asked for one of those words, and answered yes or no */
    ENTRY_LOOK,      /* something seen on a part */
    ENTRY_READING,   /* a meter between two marks */
    ENTRY_SETTING,   /* what the control displays */
    ENTRY_RUN,       /* a temperature log */
    ENTRY_SPOT,      /* one settled thermometer reading */
    ENTRY_REPAIR,    /* a part replaced or adjusted */
    ENTRY_DEAD,      /* 'disconnected and proved dead' */
    ENTRY_NOTE,
    ENTRY_KIND_COUNT
} EntryKind;

const char *call_entry_kind_name(EntryKind kind); /* 'complaint', 'look', ... as in the call file */

enum { CALL_MOST_WORDS = 16 };

typedef struct {
    EntryKind kind;
    int line;                   /* where it stands in the call file */
    bool is_struck;             /* struck out: stays in the trail, counts no more */
    int words[CALL_MOST_WORDS]; /* complaint, one asked: numbers in the catalogue's complaints; look: in its
                                   looks */
    int word_count;
    bool is_yes;    /* asked: the answer */
    int part;       /* look, repair; -1: a glance that found nothing unusual */
    bool is_glance; /* look: all that is seen from `place` was looked over, and nothing else was unusual */
    int place;      /* of a glance */
    int function;   /* look, run, spot: what was switched on; -1 when nothing was said */
    Connection connection; /* reading */
    Quantity value;        /* reading; what a setting shows; spot temperature */
    double set_celsius;    /* run, spot */
    const char *text;      /* note, repair ('replaced'), setting's name, run's file or 'by-hand' */
    const char *column;    /* run: of its file; NULL: by its heading */
    const char *sensor;    /* run: column of a second thermometer, at the sensor or bulb; NULL: none */
    const Run *run;        /* run: what its log or the figures read by hand say; NULL before that is known */
    const char *shows;     /* setting that shows a word: 'none' or a meaning */
} Entry;

typedef struct {
    const char *title;          /* the complaint in the owner's words */
    const char *appliance_name; /* as written in the file */
    double ambient_celsius;
    Meter meter;
    const PlateEntry *plate;
    int plate_count;
    const Entry *entries;
    int entry_count;
} Call;

/* May this entry stand on this appliance? Checks numbers against the appliance and what cannot be: ohms on
 * a live circuit, amps or a live voltage with the power off, a mark lifted that has no wire, a part unplugged
 * that is no plug, a look that this kind of part does not show. The error says what to do. */
bool call_check_entry(const Appliance *appliance, const Entry *entry, Error *error) MUST_CHECK;

bool call_is_adjusted(const Entry *entry); /* a repair: adjusted, so no part is new */

#endif
