/* drawing.h: the wiring of an appliance on paper, as a ladder.
 *
 * Lives here: which branches make a rung and where each stands, the drawing as one self-contained SVG, the
 * rungs as text. Not here: what is wired how (appliance), what is live (circuit), the captions in the
 * reader's language (the caller brings them).
 * Units: one unit of the drawing is a CSS pixel at natural size. Ownership: text goes to the caller's
 * builder; what is needed on the way lives in the caller's arena. The same input gives the same bytes.
 * How rungs are found: doc/method/drawing.md. */
#ifndef FORMAT_DRAWING_H
#define FORMAT_DRAWING_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "core/appliance/appliance.h"

/* Caption, its key below `drawing` in the files of sentences. Those up to GROUND explain a symbol, in the
 * order of the symbols. */
#define DRAWING_CAPTION_LIST(X)                                                                              \
    X(HEATER, "heater")                                                                                      \
    X(MOTOR, "motor")                                                                                        \
    X(LAMP, "lamp")                                                                                          \
    X(CONTROL, "control")                                                                                    \
    X(LOAD, "load")                                                                                          \
    X(SENSOR, "sensor")                                                                                      \
    X(HAND, "hand")                                                                                          \
    X(DRIVEN, "driven")                                                                                      \
    X(THERMOSTAT, "thermostat")                                                                              \
    X(BREAKER, "breaker")                                                                                    \
    X(CUTOUT, "cutout")                                                                                      \
    X(FUSE, "fuse")                                                                                          \
    X(PLUG, "plug")                                                                                          \
    X(HARNESS, "harness")                                                                                    \
    X(BLOCK, "block")                                                                                        \
    X(SOURCE, "source")                                                                                      \
    X(GROUND, "ground")                                                                                      \
    X(JOINT, "joint")                                                                                        \
    X(CROSSING, "crossing")                                                                                  \
    X(REPEATED, "repeated")                                                                                  \
    X(CLOSED, "closed")                                                                                      \
    X(LIVE, "live")                                                                                          \
    X(ENERGISED, "energised")                                                                                \
    X(KIND, "kind")                                                                                          \
    X(SUPPLY, "supply")                                                                                      \
    X(LEG, "leg")                                                                                            \
    X(FUNCTION, "function")                                                                                  \
    X(NO_FUNCTION, "no-function")                                                                            \
    X(LEGEND, "legend")                                                                                      \
    X(LOOSE, "loose")                                                                                        \
    X(CAUTION, "caution")

typedef enum {
#define X(code, key) CAPTION_##code,
    DRAWING_CAPTION_LIST(X)
#undef X
        CAPTION_COUNT
} Caption;

typedef struct {
    const char *text[CAPTION_COUNT];
} DrawingCaptions;

const char *drawing_caption_key(Caption caption); /* 'heater' */

/* Adds the drawing as an SVG document. With a function (0 is 'off') contacts stand as they do in it with the
 * power on, conductors that a leg feeds, above 30 V against earth, are marked as live, and loads with more
 * than a fifth of their rated power are filled; with -1 every contact stands open and nothing is marked.
 * ERROR_MEMORY, or what circuit_begin has to say. */
bool drawing_svg(const Appliance *appliance, int function, const DrawingCaptions *captions, Arena *arena,
                 TextBuilder *out, Error *error) MUST_CHECK;

/* The same with a ring around each mark that a probe goes to, is_probed[mark_count]; NULL: none. */
bool drawing_svg_probed(const Appliance *appliance, int function, const bool *is_probed,
                        const DrawingCaptions *captions, Arena *arena, TextBuilder *out,
                        Error *error) MUST_CHECK;

/* Adds the same as text, a line for each feed and each rung: `L1 -- K1 /bake-relay/ K2 -- BK1 [bake-element]`
 * and so on: -- a wire, = = what conducts, / / an open contact, [ ] a load, (K5) a point that stands in a
 * line above. Errors as for drawing_svg. */
bool drawing_rungs(const Appliance *appliance, int function, Arena *arena, TextBuilder *out,
                   Error *error) MUST_CHECK;

#endif
