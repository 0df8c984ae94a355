/* Pictures of runs: whole documents whatever the log holds, a terminal's width, and the curve where it
 * belongs. */
#include "format/plot/plot.h"
#include "support/near.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { ROWS = 400 };

static double second[ROWS], celsius[ROWS];

/* A rise to 180 celsius and a sine around it; what tests put in later replaces some of it. */
static Plot make_plot(RunLog *log, Run *run, RunSpan *cycles)
{
    static const PlotFigure figures[] = {{"Mean <of it>", "1 & 2"}};
    for (int i = 0; i < ROWS; i++) {
        second[i] = 1000 + 15 * i;
        celsius[i] = i < 60 ? 22 + 158 * i / 60.0 : 180 + 10 * sin(2 * 3.14159265 * (i - 60) / 24);
    }
    *log = (RunLog){.second = second, .count = ROWS, .channels = {{"", celsius, true}}, .channel_count = 1};
    for (int i = 0; i < 8; i++)
        cycles[i] = (RunSpan){1000 + 15 * (84 + 24 * i), 1000 + 15 * (108 + 24 * i), 180, 170, 190};
    *run = (Run){.set_celsius = 185,
                 .mean_celsius = {180, 1},
                 .cycles = 8,
                 .cycle_spans = cycles,
                 .from_second = second[0],
                 .to_second = second[ROWS - 1]};
    Plot plot = {.log = log, .run = run, .tolerance_kelvin = 8, .figures = figures, .figure_count = 1};
    for (int i = 0; i < PLOT_CAPTION_COUNT; i++) plot.captions[i] = "a < b & \"c\"";
    return plot;
}

/* Every element that is opened is closed, in order, and nothing stands between them that ends one. */
static void check_document(const char *text)
{
    char open[20][16];
    int depth = 0;
    for (const char *at = text; *at; at++) {
        if (*at != '<') continue;
        const char *end = strchr(at, '>');
        assert_non_null(end);
        const bool is_end = at[1] == '/', is_empty = end[-1] == '/';
        char name[16] = {0};
        for (int i = 0; i < 15; i++) {
            const char c = at[1 + is_end + i];
            if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'))) break;
            name[i] = c;
        }
        assert_true(name[0] != '\0');
        if (is_end) {
            assert_true(depth > 0);
            assert_string_equal(open[--depth], name);
        } else if (!is_empty) {
            assert_true(depth < 20);
            memcpy(open[depth++], name, sizeof name);
        }
        at = end;
    }
    assert_int_equal(depth, 0);
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf"));
}

/* Characters, not bytes, of the longest line. */
static int widest(const char *text)
{
    int most = 0, width = 0;
    for (const char *at = text; *at; at++) {
        if (*at == '\n') width = 0;
        width += *at != '\n' && ((unsigned char)*at & 0xc0) != 0x80;
        most = width > most ? width : most;
    }
    return most;
}

static void draw_both(const Plot *plot)
{
    Arena arena = arena_new((size_t)8 << 20);
    TextBuilder svg = text_builder(&arena, 4 << 20), text = text_builder(&arena, 1 << 20);
    plot_svg(plot, &svg);
    plot_text(plot, &text);
    assert_false(svg.is_cut || text.is_cut);
    check_document(text_string(&svg));
    assert_true(widest(text_string(&text)) <= 100);
    arena_free(&arena);
}

static void drawings_are_whole_documents(void **state)
{
    (void)state;
    RunLog log;
    Run run;
    RunSpan cycles[8], door = {3000, 3200, 40, 140, 180};
    Plot plot = make_plot(&log, &run, cycles);
    draw_both(&plot);
    run.doors = &door;
    run.door_count = 1;
    draw_both(&plot);
    for (int i = 100; i < 200; i++) celsius[i] = i % 2 ? NAN : INFINITY;
    draw_both(&plot);
    run.cycles = 0;
    run.mean_celsius.value = NAN;
    draw_both(&plot);
}

/* No values, one value, one and the same value: an empty picture is a picture. */
static void hardly_any_values_are_no_trouble(void **state)
{
    (void)state;
    RunLog log;
    Run run;
    RunSpan cycles[8];
    Plot plot = make_plot(&log, &run, cycles);
    run.cycles = 0;
    for (int i = 0; i < ROWS; i++) celsius[i] = 185;
    draw_both(&plot);
    for (int i = 0; i < ROWS; i++) celsius[i] = NAN;
    draw_both(&plot);
    log.count = 1;
    run.to_second = run.from_second;
    draw_both(&plot);
    log.count = 0;
    run.from_second = run.to_second = NAN;
    draw_both(&plot);
}

/* The top of the curve stands in the line of its temperature, the set line in its own. */
static void the_curve_is_where_it_belongs(void **state)
{
    (void)state;
    RunLog log;
    Run run;
    RunSpan cycles[8];
    Arena arena = arena_new((size_t)8 << 20);
    const Plot plot = make_plot(&log, &run, cycles);
    TextBuilder out = text_builder(&arena, 1 << 20);
    plot_text(&plot, &out);
    /* 22 to 190 celsius with a twentieth and 2 kelvin of room: 11.6 to 200.4; 14 lines of 13.49 kelvin. The
     * peaks at 190 are in the first line, the set line at 185 in the second. */
    const char *first = text_string(&out), *line = strchr(first, '\n') + 1;
    const char *set = strstr(first, "╌");
    assert_non_null(set);
    assert_true(set > line && set < strchr(line, '\n'));
    assert_non_null(strstr(first, "C"));
    arena_free(&arena);
}

/* A terminal has eighty columns, and the captions are short. */
static void a_terminal_is_wide_enough(void **state)
{
    (void)state;
    RunLog log;
    Run run;
    RunSpan cycles[8];
    Arena arena = arena_new((size_t)8 << 20);
    Plot plot = make_plot(&log, &run, cycles);
    for (int i = 0; i < PLOT_CAPTION_COUNT; i++) plot.captions[i] = "minutes";
    TextBuilder out = text_builder(&arena, 1 << 20);
    plot_text(&plot, &out);
    assert_true(widest(text_string(&out)) <= 80);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drawings_are_whole_documents), cmocka_unit_test(hardly_any_values_are_no_trouble),
        cmocka_unit_test(the_curve_is_where_it_belongs), cmocka_unit_test(a_terminal_is_wide_enough)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
