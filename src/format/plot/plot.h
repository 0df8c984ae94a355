/* plot.h: a temperature run as a picture, in a terminal or on paper.
 *
 * Lives here: axes in both units, the curve, set line, settled part with its cycles, open doors. Not here:
 * any figure that is shown (core/run), sentences (format/words): captions come as text. Units: celsius and
 * second in, degrees Fahrenheit and minutes on the axes. Ownership: the text is the builder's. */
#ifndef FORMAT_PLOT_H
#define FORMAT_PLOT_H

#include "base/text.h"
#include "core/run/run.h"

/* A caption, its key under `plot.` in the sentences. */
#define PLOT_CAPTION_LIST(X)                                                                                 \
    X(TITLE, "title")                                                                                        \
    X(SET, "set")                                                                                            \
    X(MEAN, "mean")                                                                                          \
    X(SETTLED, "settled")                                                                                    \
    X(DOOR, "door")                                                                                          \
    X(MINUTES, "minutes")                                                                                    \
    X(BAND, "band")                                                                                          \
    X(SOUND, "sound")

typedef enum {
#define X(code, key) PLOT_##code,
    PLOT_CAPTION_LIST(X)
#undef X
        PLOT_CAPTION_COUNT
} PlotCaption;

const char *plot_caption_key(PlotCaption caption);

/* A figure in the head of the drawing: `Swing`, `24.1 F (13.4 K)`. */
typedef struct {
    const char *label, *value;
} PlotFigure;

typedef struct {
    const RunLog *log;
    int channel;
    const Run *run;
    double tolerance_kelvin; /* half the band around the set temperature; 0: none is drawn */
    const float *sound;      /* celsius of a simulated sound oven, drawn behind; NULL: none */
    int sound_count;
    double sound_from_second, sound_every_second;
    const char *captions[PLOT_CAPTION_COUNT];
    const PlotFigure *figures; /* of the drawing, in order */
    int figure_count;
} Plot;

/* For a terminal of 80 columns that shows braille; ends with a line feed. Nothing for a log without values.
 */
void plot_text(const Plot *plot, TextBuilder *out);

/* A whole SVG document, half a page in landscape, dark on white. */
void plot_svg(const Plot *plot, TextBuilder *out);

#endif
