/* svg.c: the run as a drawing for paper: one curve, one line for what was set, and as little else as
 * possible.
 *
 * Order of what the eye should see: the curve, the set line against it, the mean; then the settled part (a
 * pale ground, cycles as ticks below it); scales last. Colours are dark enough for grey print, and nothing is
 * told by colour alone. Coordinates have one decimal, rounded by the C library the same everywhere. */
#include "format/plot/plot_private.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

#define INK    "#26262b"
#define QUIET  "#6b6b73"
#define RULE   "#e3e2dd"
#define GROUND "#f4f2ec"
#define BAND   "#dfe9e4"
#define SET    "#1f6b5a"
#define MEAN   "#a8431a"
#define DOOR   "#d9d3c6"

enum { WIDTH = 960, HEIGHT = 560, LEFT = 64, RIGHT = 74, TOP = 112, BOTTOM = 74 };

/* Places on the page; the frame is never empty (plot__frame). */
static double x_of(const PlotFrame *frame, double second)
{
    const double share = (second - frame->from_second) / (frame->to_second - frame->from_second);
    return LEFT + share * (WIDTH - LEFT - RIGHT);
}

static double y_of(const PlotFrame *frame, double celsius)
{
    const double share = (frame->high_celsius - celsius) / (frame->high_celsius - frame->low_celsius);
    return TOP + share * (HEIGHT - TOP - BOTTOM);
}

/* Names of columns and captions may hold anything; no text from outside ends an element. */
static void add_escaped(TextBuilder *out, const char *text)
{
    for (; *text; text++) {
        if (*text == '&')
            text_add(out, "&amp;");
        else if (*text == '<')
            text_add(out, "&lt;");
        else if ((unsigned char)*text >= ' ')
            text_add_bytes(out, text, 1);
    }
}

static void add_text(TextBuilder *out, double x, double y, const char *style, const char *text)
{
    text_addf(out, "<text x=\"%.1f\" y=\"%.1f\" %s>", x, y, style);
    add_escaped(out, text);
    text_add(out, "</text>\n");
}

/* A negative size would be an error in the document: it is none at all instead. */
static void add_rectangle(TextBuilder *out, double x1, double y1, double x2, double y2, const char *fill)
{
    text_addf(out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" fill=\"%s\"/>\n", x1, y1,
              fmax(0, x2 - x1), fmax(0, y2 - y1), fill);
}

static void add_line(TextBuilder *out, double x1, double y1, double x2, double y2, const char *style)
{
    text_addf(out, "<path d=\"M%.1f %.1fL%.1f %.1f\" %s/>\n", x1, y1, x2, y2, style);
}

/* Figures in columns of equal width, small words above, so that they are read before the curve. */
static void add_head(const Plot *plot, TextBuilder *out)
{
    text_addf(out,
              "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" width=\"%d\" height=\"%d\" "
              "font-family=\"Helvetica, Arial, 'Liberation Sans', sans-serif\" fill=\"" INK "\">\n",
              WIDTH, HEIGHT, WIDTH, HEIGHT);
    text_addf(out, "<rect width=\"%d\" height=\"%d\" fill=\"#ffffff\"/>\n", WIDTH, HEIGHT);
    add_text(out, LEFT, 34, "font-size=\"17\" font-weight=\"bold\"", plot->captions[PLOT_TITLE]);
    const double width = (double)(WIDTH - LEFT - RIGHT) / (plot->figure_count > 0 ? plot->figure_count : 1);
    for (int i = 0; i < plot->figure_count; i++) {
        add_text(out, LEFT + i * width, 62, "font-size=\"11\" fill=\"" QUIET "\"", plot->figures[i].label);
        add_text(out, LEFT + i * width, 80, "font-size=\"14\"", plot->figures[i].value);
    }
}

/* The settled part, open doors and the band around the set temperature lie behind everything. */
static void add_grounds(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    const Run *run = plot->run;
    const double bottom = HEIGHT - BOTTOM, right = WIDTH - RIGHT;
    for (int i = 0; i < run->cycles; i++) {
        const int last = plot__last_in_row(run, i);
        add_rectangle(out, x_of(frame, run->cycle_spans[i].from_second), TOP,
                      x_of(frame, run->cycle_spans[last].to_second), bottom, GROUND);
        i = last;
    }
    for (int i = 0; i < run->door_count; i++)
        add_rectangle(out, x_of(frame, run->doors[i].from_second), TOP, x_of(frame, run->doors[i].to_second),
                      bottom, DOOR);
    if (plot->tolerance_kelvin > 0)
        text_addf(out,
                  "<rect x=\"%d\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" fill=\"" BAND
                  "\" fill-opacity=\"0.75\"/>\n",
                  LEFT, fmax(TOP, y_of(frame, run->set_celsius + plot->tolerance_kelvin)), right - LEFT,
                  fmin(bottom, y_of(frame, run->set_celsius - plot->tolerance_kelvin)) -
                      fmax(TOP, y_of(frame, run->set_celsius + plot->tolerance_kelvin)));
}

/* Fahrenheit left with rules across, Celsius right, minutes below. */
static void add_scales(const PlotFrame *frame, TextBuilder *out)
{
    const double range = frame->high_celsius - frame->low_celsius, bottom = HEIGHT - BOTTOM,
                 right = WIDTH - RIGHT;
    const double step = plot__step(range * 1.8, 8), celsius_step = plot__step(range, 8);
    const double low = plot__fahrenheit(frame->low_celsius), high = plot__fahrenheit(frame->high_celsius);
    char label[40];
    for (double f = ceil(low / step) * step; f <= high; f += step) {
        const double y = y_of(frame, plot__celsius(f));
        add_line(out, LEFT, y, right, y, "stroke=\"" RULE "\" stroke-width=\"1\"");
        snprintf(label, sizeof label, "%.0f", f + 0.0);
        add_text(out, LEFT - 10, y + 4, "font-size=\"12\" text-anchor=\"end\" fill=\"" QUIET "\"", label);
    }
    for (double c = ceil(frame->low_celsius / celsius_step) * celsius_step; c <= frame->high_celsius;
         c += celsius_step) {
        const double y = y_of(frame, c);
        add_line(out, right, y, right + 5, y, "stroke=\"" QUIET "\" stroke-width=\"1\"");
        snprintf(label, sizeof label, "%.0f", c + 0.0); /* not -0 */
        add_text(out, right + 10, y + 4, "font-size=\"12\" fill=\"" QUIET "\"", label);
    }
    add_text(out, LEFT - 10, TOP - 10, "font-size=\"12\" text-anchor=\"end\" fill=\"" QUIET "\"", "°F");
    add_text(out, right + 10, TOP - 10, "font-size=\"12\" fill=\"" QUIET "\"", "°C");
    add_line(out, LEFT, bottom, right, bottom, "stroke=\"" INK "\" stroke-width=\"1\"");
}

/* The unit stands once, behind the last number. */
static void add_minutes(const PlotFrame *frame, const char *word, TextBuilder *out)
{
    const double minutes = (frame->to_second - frame->from_second) / 60,
                 step = plot__minute_step(minutes, 12);
    const double bottom = HEIGHT - BOTTOM;
    char label[40];
    for (double m = 0; m <= minutes; m += step) {
        const double x = x_of(frame, frame->from_second + 60 * m);
        add_line(out, x, bottom, x, bottom + 5, "stroke=\"" INK "\" stroke-width=\"1\"");
        snprintf(label, sizeof label, "%.0f", m);
        add_text(out, x, bottom + 20, "font-size=\"12\" text-anchor=\"middle\" fill=\"" QUIET "\"", label);
    }
    add_text(out, WIDTH - RIGHT + 14, bottom + 20, "font-size=\"12\" fill=\"" QUIET "\"", word);
}

/* A row counts as a gap's end when it comes this many times later than rows usually do. */
static double gap_second(const Plot *plot, const PlotFrame *frame)
{
    const double usual = (frame->to_second - frame->from_second) / fmax(1, plot->log->count - 1);
    return fmax(6 * usual, 4 * (frame->to_second - frame->from_second) / (WIDTH - LEFT - RIGHT));
}

/* At most two points for each unit of width: its first extreme and its other one. */
static void add_curve(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    const double width = (frame->to_second - frame->from_second) / (WIDTH - LEFT - RIGHT),
                 gap = gap_second(plot, frame);
    double last_second = -INFINITY, low, high, before = NAN;
    int row = 0;
    text_add(out, "<path d=\"");
    for (int x = 0; x <= WIDTH - LEFT - RIGHT; x++) {
        const double until = x < WIDTH - LEFT - RIGHT ? frame->from_second + (x + 1) * width : INFINITY;
        const int first = row;
        if (!plot__extremes(plot, &row, until, &low, &high)) continue;
        const double second = plot->log->second[first];
        const double near = fabs(before - low) < fabs(before - high) ? low : high,
                     far = near == low ? high : low;
        text_addf(out, "%s%.1f %.1f", second - last_second > gap ? "M" : "L", x_of(frame, second),
                  y_of(frame, near));
        if (far != near) text_addf(out, "L%.1f %.1f", x_of(frame, second), y_of(frame, far));
        before = far;
        last_second = second;
    }
    text_add(out, "\" fill=\"none\" stroke=\"" INK "\" stroke-width=\"1.6\" stroke-linejoin=\"round\"/>\n");
}

/* Dotted and grey, so that nobody takes it for what was measured; cut where the picture ends. */
static void add_sound(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    if (!plot->sound || plot->sound_count == 0) return;
    text_add(out, "<path d=\"");
    for (int i = 0; i < plot->sound_count; i++) {
        const double second = plot->sound_from_second + i * plot->sound_every_second;
        const double celsius = fmin(frame->high_celsius, fmax(frame->low_celsius, plot->sound[i]));
        if (second < frame->from_second || second > frame->to_second) continue;
        text_addf(out, "%s%.1f %.1f", out->bytes[out->length - 1] == '"' ? "M" : "L", x_of(frame, second),
                  y_of(frame, celsius));
    }
    text_add(out, "\" fill=\"none\" stroke=\"" QUIET "\" stroke-width=\"1.4\" stroke-dasharray=\"2 3\"/>\n");
    add_text(out, WIDTH - RIGHT - 8, HEIGHT - BOTTOM - 8,
             "font-size=\"12\" text-anchor=\"end\" fill=\"" QUIET "\"", plot->captions[PLOT_SOUND]);
}

/* The set line is dashed and the mean is not: they can be told apart in grey, and where they cross. */
static void add_levels(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    const Run *run = plot->run;
    const double y = y_of(frame, run->set_celsius);
    add_line(out, LEFT, y, WIDTH - RIGHT, y,
             "stroke=\"" SET "\" stroke-width=\"1.4\" stroke-dasharray=\"7 4\"");
    add_text(out, LEFT + 8, y - 7, "font-size=\"12\" fill=\"" SET "\"", plot->captions[PLOT_SET]);
    if (plot->tolerance_kelvin > 0)
        add_text(out, WIDTH - RIGHT - 8, y - 7, "font-size=\"12\" text-anchor=\"end\" fill=\"" SET "\"",
                 plot->captions[PLOT_BAND]);
    if (run->cycles == 0) return;
    const double mean = y_of(frame, run->mean_celsius.value);
    const double from = x_of(frame, run->cycle_spans[0].from_second);
    const double to = x_of(frame, run->cycle_spans[run->cycles - 1].to_second);
    add_line(out, from, mean, to, mean, "stroke=\"" MEAN "\" stroke-width=\"1.8\"");
}

/* Below the axis: ticks from cycle to cycle, and what they are. */
static void add_cycles(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    const Run *run = plot->run;
    const double y = HEIGHT - BOTTOM + 32;
    if (run->cycles == 0) return;
    for (int i = 0; i < run->cycles; i++) {
        const double from = x_of(frame, run->cycle_spans[i].from_second),
                     to = x_of(frame, run->cycle_spans[i].to_second);
        add_line(out, from + 1, y, to - 1, y, "stroke=\"" MEAN "\" stroke-width=\"3\"");
    }
    const double from = x_of(frame, run->cycle_spans[0].from_second);
    text_addf(out, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"12\" fill=\"" MEAN "\">", from, y + 18);
    add_escaped(out, plot->captions[PLOT_SETTLED]);
    text_add(out, ", ");
    add_escaped(out, plot->captions[PLOT_MEAN]);
    text_add(out, "</text>\n");
}

/* At the foot, where the curve is not. */
static void add_door_words(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    for (int i = 0; i < plot->run->door_count; i++)
        add_text(out, x_of(frame, plot->run->doors[i].from_second) + 4, HEIGHT - BOTTOM - 8,
                 "font-size=\"11\" fill=\"" QUIET "\"", plot->captions[PLOT_DOOR]);
}

/* Grounds, scales, levels, curve, words: later elements lie on earlier ones. */
void plot_svg(const Plot *plot, TextBuilder *out)
{
    PlotFrame frame;
    assert(plot->channel >= 0 && plot->channel < plot->log->channel_count);
    add_head(plot, out);
    if (plot__frame(plot, &frame)) {
        add_grounds(plot, &frame, out);
        add_scales(&frame, out);
        add_minutes(&frame, plot->captions[PLOT_MINUTES], out);
        add_sound(plot, &frame, out);
        add_levels(plot, &frame, out);
        add_curve(plot, &frame, out);
        add_cycles(plot, &frame, out);
        add_door_words(plot, &frame, out);
    }
    text_add(out, "</svg>\n");
}
