/* spice.c: see spice.h. ngspice calls back with all vectors of a run; we sort them into arrays by number. */
#include "support/near.h"

#include <ngspice/sharedspice.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "spice.h"

enum { MOST_LINES = 3000, PLOTS_KEPT = 50 };

static char *lines[MOST_LINES];
static int line_count, run_count;
static Complex volts[SPICE_MOST_NODES], amperes[SPICE_MOST_SOURCES];

static int say(char *text, int id, void *data)
{
    (void)id, (void)data;
    /* Chatter about rows and temperatures comes by the thousand; trouble names itself. */
    if (strstr(text, "rror") || strstr(text, "arning") || strstr(text, "singular"))
        fprintf(stderr, "%s\n", text);
    return 0;
}

static int ignore_status(char *text, int id, void *data)
{
    (void)text, (void)id, (void)data;
    return 0;
}

static int end_process(int status, NG_BOOL at_once, NG_BOOL by_quit, int id, void *data)
{
    (void)status, (void)at_once, (void)by_quit, (void)id, (void)data;
    fprintf(stderr, "ngspice gave up\n");
    abort();
}

static int ignore_list(pvecinfoall list, int id, void *data)
{
    (void)list, (void)id, (void)data;
    return 0;
}

static int ignore_thread(NG_BOOL is_running, int id, void *data)
{
    (void)is_running, (void)id, (void)data;
    return 0;
}

/* 'V(12)' is a node, 'v12#branch' the current of a voltage source. */
static int take_values(pvecvaluesall all, int count, int id, void *data)
{
    (void)count, (void)id, (void)data;
    for (int i = 0; i < all->veccount; i++) {
        const vecvalues *value = all->vecsa[i];
        int number;
        if (sscanf(value->name, "V(%d)", &number) == 1 && number < SPICE_MOST_NODES)
            volts[number] = (Complex){value->creal, value->cimag};
        else if (sscanf(value->name, "v%d#", &number) == 1 && number < SPICE_MOST_SOURCES)
            amperes[number] = (Complex){value->creal, value->cimag};
    }
    return 0;
}

static void start(void)
{
    static bool is_started = false;
    if (is_started) return;
    is_started = true;
    ngSpice_Init(say, ignore_status, end_process, take_values, ignore_list, ignore_thread, NULL);
    spice_command("set numdgt=15");
}

void spice_begin_circuit(void)
{
    start();
    if (line_count) spice_command("remcirc");
    for (int i = 0; i < line_count; i++) free(lines[i]);
    line_count = 0;
    spice_line("circuit under test");
}

void spice_line(const char *format, ...)
{
    char line[200];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    assert_true(line_count < MOST_LINES - 1);
    lines[line_count++] = strdup(line);
}

void spice_load_circuit(void)
{
    /* No conductance of its own to ground, no pivot thrown away for being small, tight convergence. */
    spice_line(".options gmin=1e-30 pivtol=1e-40 reltol=1e-9 noacct");
    spice_line(".end");
    lines[line_count] = NULL;
    assert_int_equal(ngSpice_Circ(lines), 0);
}

void spice_command(const char *format, ...)
{
    char command[200];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    assert_int_equal(ngSpice_Command(command), 0);
}

/* Every run leaves its vectors behind as a plot. */
static void tidy(void)
{
    memset(volts, 0, sizeof volts);
    if (++run_count % PLOTS_KEPT == 0) spice_command("destroy all");
}

void spice_run_direct(void)
{
    tidy();
    spice_command("op");
}

void spice_run_mains(double hertz)
{
    tidy();
    spice_command("ac lin 1 %.17g %.17g", hertz, hertz);
}

Complex spice_volt(int node)
{
    assert_true(node >= 0 && node < SPICE_MOST_NODES);
    return volts[node];
}

Complex spice_ampere(int source)
{
    assert_true(source >= 0 && source < SPICE_MOST_SOURCES);
    return amperes[source];
}
