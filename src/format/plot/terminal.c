/* terminal.c: the run in a terminal: a curve of braille dots between two scales.
 *
 * A cell of braille has two dots across and four down, so 64 by 14 cells make 128 by 56 dots. The set
 * temperature is a dashed line behind the curve. Below the axis of time a bracket shows the settled part with
 * a tick for each cycle, and letters show open doors. */
#include "format/plot/plot_private.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CELLS = 62, LINES = 14, DOTS_ACROSS = 2 * CELLS, DOTS_DOWN = 4 * LINES, LABEL = 7 };

typedef struct {
    unsigned char cells[LINES][CELLS]; /* braille: one bit a dot */
    PlotFrame frame;
} Canvas;

/* Bits of the dots of a cell, column by column from the top (ISO 11548-1, in Unicode from U+2800 on). */
static void set_dot(Canvas *canvas, int x, int y)
{
    static const unsigned char bits[2][4] = {{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}};
    assert(x >= 0 && x < DOTS_ACROSS && y >= 0 && y < DOTS_DOWN);
    canvas->cells[y / 4][x / 2] |= bits[x % 2][y % 4];
}

/* Clipped: rounding at the edge must not write beside the canvas. */
static int dot_row(const PlotFrame *frame, double celsius)
{
    const double share = (frame->high_celsius - celsius) / (frame->high_celsius - frame->low_celsius);
    return (int)fmin(DOTS_DOWN - 1, fmax(0, floor(share * DOTS_DOWN)));
}

static int cell_of(const PlotFrame *frame, double second)
{
    const double share = (second - frame->from_second) / (frame->to_second - frame->from_second);
    return (int)fmin(CELLS - 1, fmax(0, floor(share * CELLS)));
}

/* Dots of one column from `top` to `bottom`, joined to those of the column before it (-1: none). */
static void draw_column(Canvas *canvas, int x, int top, int bottom, int last_top, int last_bottom)
{
    if (last_top >= 0 && last_bottom < top) top = last_bottom + 1;
    if (last_top >= 0 && last_top > bottom) bottom = last_top - 1;
    for (int y = top; y <= bottom; y++) set_dot(canvas, x, y);
}

/* A straight line over the columns between two values that lie further apart than a column. */
static void bridge(Canvas *canvas, int from, int to, double first, double last)
{
    int before = dot_row(&canvas->frame, first);
    for (int x = from + 1; x < to; x++) {
        const int y = dot_row(&canvas->frame, first + (last - first) * (x - from) / (to - from));
        draw_column(canvas, x, y, y, before, before);
        before = y;
    }
}

/* Each column of dots from its lowest to its highest value; what lies between two rows is drawn as a line,
 * unless it is a gap. */
static void draw_curve(const Plot *plot, Canvas *canvas)
{
    const PlotFrame *frame = &canvas->frame;
    const double width = (frame->to_second - frame->from_second) / DOTS_ACROSS;
    const double usual = (frame->to_second - frame->from_second) / fmax(1, plot->log->count - 1);
    const int most_bridged = (int)fmin(DOTS_ACROSS, 2 + 3 * usual / width);
    int row = 0, last_x = -1;
    double low, high, last_low = 0, last_high = 0;
    for (int x = 0; x < DOTS_ACROSS; x++) {
        const double until = x + 1 < DOTS_ACROSS ? frame->from_second + (x + 1) * width : INFINITY;
        if (!plot__extremes(plot, &row, until, &low, &high)) continue;
        const bool is_joined = last_x >= 0 && x - last_x <= most_bridged;
        const double middle = (last_low + last_high) / 2;
        if (is_joined && x - last_x > 1) bridge(canvas, last_x, x, middle, (low + high) / 2);
        const bool is_next = is_joined && x - last_x == 1;
        draw_column(canvas, x, dot_row(frame, high), dot_row(frame, low),
                    is_next ? dot_row(frame, last_high) : -1, is_next ? dot_row(frame, last_low) : -1);
        last_x = x, last_low = low, last_high = high;
    }
}

/* U+2800 and the bits, as three bytes of UTF-8. */
static void add_braille(TextBuilder *out, unsigned char bits)
{
    const char bytes[3] = {(char)0xe2, (char)(0xa0 | bits >> 6), (char)(0x80 | (bits & 0x3f))};
    text_add_bytes(out, bytes, 3);
}

/* Is there a round figure of this scale within the line, and which? */
static bool find_mark(double low, double high, double step, double *mark)
{
    *mark = ceil(low / step - 1e-9) * step + 0.0; /* not -0 */
    return *mark < high - 1e-9;
}

/* A round figure stands at the line in which it lies, left in Fahrenheit, right in Celsius. */
static void add_line(const Canvas *canvas, int line, int set_line, TextBuilder *out)
{
    const PlotFrame *frame = &canvas->frame;
    const double height = (frame->high_celsius - frame->low_celsius) / LINES;
    const double high = frame->high_celsius - line * height, low = high - height;
    const double range = frame->high_celsius - frame->low_celsius;
    char label[32];
    double mark;
    const bool is_left =
        find_mark(plot__fahrenheit(low), plot__fahrenheit(high), plot__step(range * 1.8, 6), &mark);
    snprintf(label, sizeof label, "%.0f F", mark);
    text_addf(out, "%*s %s", LABEL, is_left ? label : "", is_left ? "┤" : "│");
    for (int c = 0; c < CELLS; c++) {
        if (canvas->cells[line][c])
            add_braille(out, canvas->cells[line][c]);
        else
            text_add(out, line == set_line ? "╌" : " ");
    }
    const bool is_right = find_mark(low, high, plot__step(range, 6), &mark);
    text_addf(out, "%s", is_right ? "├" : "│");
    if (is_right) text_addf(out, " %.0f C", mark);
    text_add(out, "\n");
}

/* Marks are as many as their numbers have room for. */
static void add_axis(const PlotFrame *frame, const char *minutes_word, TextBuilder *out)
{
    const double minutes = (frame->to_second - frame->from_second) / 60, step = plot__minute_step(minutes, 8);
    char numbers[CELLS + 16];
    memset(numbers, ' ', sizeof numbers);
    text_addf(out, "%*s └", LABEL, "");
    for (int c = 0, mark = 0; c < CELLS; c++) {
        const bool is_mark = mark * step <= minutes && c == (int)floor(mark * step / minutes * CELLS);
        text_add(out, is_mark ? "┴" : "─");
        if (!is_mark) continue;
        char label[16];
        const int length = snprintf(label, sizeof label, "%.0f", mark++ * step);
        memcpy(numbers + c, label, (size_t)length);
    }
    size_t length = sizeof numbers;
    while (length > 0 && numbers[length - 1] == ' ') length--;
    text_addf(out, "┘\n%*s  %.*s %s\n", LABEL, "", (int)length, numbers, minutes_word);
}

/* The settled part as a bracket with a tick where a cycle begins. */
static void add_cycles(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    const Run *run = plot->run;
    const char *signs[CELLS];
    for (int c = 0; c < CELLS; c++) signs[c] = " ";
    if (run->cycles == 0) return;
    for (int i = 0; i < run->cycles; i++) {
        const bool is_first = i == 0 || plot__last_in_row(run, i - 1) == i - 1;
        const int from = cell_of(frame, run->cycle_spans[i].from_second);
        const int to = cell_of(frame, run->cycle_spans[i].to_second);
        for (int c = from; c < to; c++) signs[c] = "─";
        signs[from] = is_first ? "└" : "┴";
        signs[to] = "┘";
    }
    text_addf(out, "%*s  ", LABEL, "");
    int last = CELLS - 1;
    while (text_equal(signs[last], " ")) last--;
    for (int c = 0; c <= last; c++) text_add(out, signs[c]);
    text_addf(out, " %s\n", plot->captions[PLOT_SETTLED]);
}

/* A line of its own: the curve at that place shows the fall already. */
static void add_doors(const Plot *plot, const PlotFrame *frame, TextBuilder *out)
{
    bool is_open[CELLS] = {false};
    int last = -1;
    for (int i = 0; i < plot->run->door_count; i++) {
        const int to = cell_of(frame, plot->run->doors[i].to_second);
        for (int c = cell_of(frame, plot->run->doors[i].from_second); c <= to; c++) is_open[c] = true;
        last = to > last ? to : last;
    }
    if (last < 0) return;
    text_addf(out, "%*s  ", LABEL, "");
    for (int c = 0; c <= last; c++) text_add(out, is_open[c] ? "▲" : " ");
    text_addf(out, " %s\n", plot->captions[PLOT_DOOR]);
}

/* About 2 kB, whatever the log. */
void plot_text(const Plot *plot, TextBuilder *out)
{
    Canvas canvas = {.cells = {{0}}};
    if (!plot__frame(plot, &canvas.frame)) return;
    draw_curve(plot, &canvas);
    const int set_line = dot_row(&canvas.frame, plot->run->set_celsius) / 4;
    for (int line = 0; line < LINES; line++) add_line(&canvas, line, set_line, out);
    add_axis(&canvas.frame, plot->captions[PLOT_MINUTES], out);
    add_cycles(plot, &canvas.frame, out);
    add_doors(plot, &canvas.frame, out);
}
