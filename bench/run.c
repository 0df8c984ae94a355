/* run.c: a log of a million rows read and analysed, and the figures of a simulated trace.
 *
 * Ours: the bytes in memory become a log, and the log a run; seconds and all memory that is held at the end,
 * the bytes among it. Theirs: the C library's strtod over the same bytes, cell by cell, which finds no
 * columns, units or errors and analyses nothing. Goals: 0.5 s and 200 MiB for the million rows, 15
 * microseconds for the figures of 721 values. */
#include "core/run/run.h"
#include "base/random.h"
#include "format/log_text/log_text.h"
#include "measure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROWS = 1000000, REPEATS = 3, VALUES = 721, CALLS = 20000 };

/* An oven of one node, 5 s steps, with a switch at 170 and 184 celsius and 0.2 K of noise. */
typedef struct {
    double celsius;
    bool is_on;
} Oven;

static double next_value(Oven *oven)
{
    oven->is_on = oven->celsius < 170 || (oven->is_on && oven->celsius < 184);
    oven->celsius += 5 * ((oven->is_on ? 2400 : 0) - 4 * (oven->celsius - 22)) / 12000;
    return oven->celsius;
}

/* Written as a logger of four channels does, with clock and date. */
static char *write_log(size_t *length)
{
    char *bytes = malloc((size_t)ROWS * 80), *at = bytes;
    RandomStream stream = random_stream(7);
    Oven oven = {22, true};
    if (!bytes) exit(1);
    at += sprintf(at, "second,centre_celsius,sensor_celsius,liner_celsius,bake_element_watt\n");
    for (int i = 0; i < ROWS; i++) {
        const double c = next_value(&oven);
        at += sprintf(at, "%d,%.2f,%.2f,%.2f,%d\n", 5 * i, c + 0.2 * random_normal(&stream), c - 1, c - 3,
                      oven.is_on ? 2400 : 0);
    }
    *length = (size_t)(at - bytes);
    return bytes;
}

static double read_by_strtod(const char *bytes, double *sum)
{
    const double start = now();
    const char *at = strchr(bytes, '\n');
    *sum = 0;
    while (at && at[1]) {
        char *end;
        const double value = strtod(at + 1, &end);
        if (end == at + 1) break;
        *sum += value;
        at = end;
    }
    return now() - start;
}

static void bench_log(void)
{
    size_t length;
    char *bytes = write_log(&length);
    double best_read = INFINITY, best_analyse = INFINITY, best_theirs = INFINITY, sum;
    size_t held = 0;
    Run run;
    for (int i = 0; i < REPEATS; i++) {
        Arena arena = arena_new((size_t)1 << 30);
        LogText log;
        Error error = {0};
        const LogTextTerms log_terms = {0};
        const RunTerms terms = {.set_celsius = 177};
        const double start = now();
        demand(log_text_read("bench", (Text){bytes, length}, &log_terms, &arena, &log, &error), &error);
        const double is_read = now();
        demand(run_analyse(&log.log, 0, &terms, &arena, &run, &error), &error);
        best_read = fmin(best_read, is_read - start);
        best_analyse = fmin(best_analyse, now() - is_read);
        held = arena.held_bytes + length;
        arena_free(&arena);
        best_theirs = fmin(best_theirs, read_by_strtod(bytes, &sum));
    }
    const double mib = 1024 * 1024;
    printf(
        "log of %d rows, %.0f MiB: read %.3f s, analysed %.3f s, together %.3f s (goal 0.5 s), %d cycles\n",
        ROWS, (double)length / mib, best_read, best_analyse, best_read + best_analyse, run.cycles);
    printf("held at the end, the file's bytes among it: %.0f MiB (goal 200 MiB)\n", (double)held / mib);
    printf(
        "strtod of the C library over the same bytes, nothing else: %.3f s, %.1f times as long as reading\n",
        best_theirs, best_theirs / best_read);
    free(bytes);
}

static void bench_figures(void)
{
    static double second[VALUES], celsius[VALUES];
    Oven oven = {22, true};
    RunFigures figures;
    for (int i = 0; i < VALUES; i++) {
        second[i] = 10 * i;
        next_value(&oven);
        celsius[i] = next_value(&oven);
    }
    double sum = 0;
    const double start = now();
    for (int i = 0; i < CALLS; i++) {
        run_figures(second, celsius, VALUES, 177, &figures);
        sum += figures.mean_celsius;
    }
    const double each = (now() - start) / CALLS;
    printf("figures of %d values: %.2f us (goal 15 us), mean %.2f C over %d cycles\n", VALUES, 1e6 * each,
           sum / CALLS, figures.cycles);
}

int main(void)
{
    bench_log();
    bench_figures();
    return 0;
}
