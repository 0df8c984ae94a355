/* drawing_private.h: what the files of this room share: the sheet, its rows, the symbols.
 *
 * The sheet is filled in stages, each a file: feed.c (rails and what feeds them), rows.c (rungs), state.c
 * (what is live), layout.c (where everything stands); then rungs.c or drawing.c writes it. */
#ifndef FORMAT_DRAWING_PRIVATE_H
#define FORMAT_DRAWING_PRIVATE_H

#include "format/drawing/drawing.h"

enum {
    MOST_RAILS = 4,         /* two legs, neutral, frame */
    RANK_FEED = MOST_RAILS, /* a mark between the house and a rail; below it, the rails by number */
    RANK_INPUT,             /* where the control looks at its sensor ... */
    RANK_INPUT_RETURN,      /* ... and the other end */
    RANK_NONE,              /* an ordinary mark */
    TEXT_SIZE = 11,         /* of marks and parts, pixel */
    FEED_HEIGHT = 62,       /* of a part in the feed, pixel */
    LEFT_RAIL = 70          /* x, pixel */
};

/* How a row begins or ends. */
typedef enum {
    END_RAIL,     /* on its rail */
    END_JOINT,    /* by a vertical line at a mark of a row above */
    END_REPEATED, /* by a flag with the name of a mark that stands elsewhere */
    END_CONTROL,  /* at the control's input */
    END_OPEN      /* nowhere: nothing is joined there */
} RowEnd;

/* One line of the ladder, from left to right. */
typedef struct {
    int *marks, *x; /* count + 1 of them */
    int *branches;  /* count; branches[i] joins marks[i] and marks[i + 1] */
    int count;
    RowEnd begins, ends;
    int y;
} Row;

typedef enum {
    SYMBOL_HEATER,
    SYMBOL_MOTOR,
    SYMBOL_LAMP,
    SYMBOL_CONTROL,
    SYMBOL_LOAD,
    SYMBOL_SENSOR,
    SYMBOL_HAND,
    SYMBOL_DRIVEN,
    SYMBOL_THERMOSTAT,
    SYMBOL_BREAKER,
    SYMBOL_CUTOUT,
    SYMBOL_FUSE,
    SYMBOL_PLUG,
    SYMBOL_HARNESS,
    SYMBOL_BLOCK,
    SYMBOL_SOURCE,
    SYMBOL_GROUND,
    SYMBOL_WIRE,
    SYMBOL_COUNT
} Symbol;

/* A conductor of the supply: what feeds it from the house down, then the rail. */
typedef struct {
    int mark;
    int *feed;      /* branches, the house's first */
    int *feed_mark; /* below each of them; the last is `mark` */
    int feed_count;
    int x, top, bottom; /* top: where its mark stands */
} Rail;

typedef struct {
    const char *name, *note; /* under a symbol; note may be empty */
} Label;

typedef struct {
    const Appliance *appliance;
    Arena *arena;
    Rail rails[MOST_RAILS]; /* [0] stands at the left, the others at the right */
    int rail_count;
    int *level; /* of each part: its place among the parts of the feed; -1 when it is none of them */
    int level_count;
    int *rank;     /* of each mark */
    bool *is_done; /* of each branch: it stands in a feed or a row, or is not drawn at all */
    Row *rows;
    int row_count;
    int *row_of;   /* of each mark; -1: in no row */
    int *mark_x;   /* of each mark in a row */
    Label *labels; /* of each branch */
    bool has_function;
    int function;
    bool *is_live;          /* of each mark */
    bool *is_closed;        /* of each contact */
    bool *is_energised;     /* of each load */
    int top, width, height; /* top: where the feed begins */
    const bool *is_probed;  /* [marks]; NULL: no probe is shown */
} Sheet;

/* The stages; false only when memory is out, or as circuit says. */
bool drawing__find_feeds(Sheet *sheet, Error *error) MUST_CHECK;
bool drawing__find_rows(Sheet *sheet, Error *error) MUST_CHECK;
bool drawing__find_state(Sheet *sheet, int function, Error *error) MUST_CHECK;
bool drawing__lay_out(Sheet *sheet, int top, Error *error) MUST_CHECK;
bool drawing__begin(Sheet *sheet, const Appliance *appliance, int function, Arena *arena,
                    Error *error) MUST_CHECK; /* all but the layout */

int drawing__other_end(const Branch *branch, int mark);
bool drawing__is_load(const Branch *branch);

/* Symbols. Each lies on the x axis around 0, from -half to half. */
Symbol drawing__symbol(const Appliance *appliance, int branch);
int drawing__symbol_half(Symbol symbol);
const char *drawing__symbol_shape(Symbol symbol, bool is_closed); /* SVG, to be put into a group */

/* Does it take the branch's name beside the part's to say which of its ways this is? */
bool drawing__has_like_branches(const Appliance *appliance, int branch);
bool drawing__find_labels(Sheet *sheet, Error *error) MUST_CHECK;

/* Layout, asked again while drawing. */
int drawing__text_width(const char *text, int size);               /* estimated: 0.6 em for each character */
int drawing__symbol_x(const Sheet *sheet, const Row *row, int at); /* its middle */
int drawing__feed_y(const Sheet *sheet, const Rail *rail, int at); /* of the mark below that part */
int drawing__flag_width(const char *text);
int drawing__control_width(const Sheet *sheet);

/* Writing SVG: one element a line. */
typedef enum { ALIGN_START, ALIGN_MIDDLE, ALIGN_END } Align;

void drawing__add_escaped(TextBuilder *out, const char *text);
void drawing__add_text(TextBuilder *out, int x, int y, int size, Align align, bool is_bold, const char *text);
void drawing__add_line(TextBuilder *out, int x1, int y1, int x2, int y2, bool is_live);
void drawing__add_dot(TextBuilder *out, int x, int y);
/* A ring around a mark: a probe goes there. */
void drawing__add_ring(TextBuilder *out, int x, int y);
void drawing__add_mark(TextBuilder *out, int x, int y, const char *name); /* opens a group; caller closes */
void drawing__begin_symbol(TextBuilder *out, int x, int y, bool is_upright, bool is_live, bool is_energised);

/* Parts of the page. */
void drawing__add_feeds(const Sheet *sheet, TextBuilder *out);
void drawing__add_rows(const Sheet *sheet, TextBuilder *out);
int drawing__add_legend(const Sheet *sheet, const DrawingCaptions *captions, int y, TextBuilder *out);

/* Adds `text` in lines of at most `width`; gives the y below the last. */
int drawing__add_wrapped(TextBuilder *out, int x, int y, int width, int size, const char *text);

#endif
