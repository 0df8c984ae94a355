/* main.c: bench_calls, a population of virtual calls played by several policies.
 *
 *   bench_calls [--calls N] [--appliance A] [--seed S] [--policy P]... [--show CALL] [--stock PART,PART]
 *               [--terms NAME=VALUE]... [--only sound] [--classes N] [--worst N] [--left N]
 *
 * The same calls for every policy; seed and command are printed, so that a table can be repeated. */
#include "edge/desk/desk.h"
#include "edge/files/files.h"
#include "edge/machine/machine.h"
#include "measure.h"
#include "score.h"

#include <stdlib.h>
#include <string.h>

enum { MOST_STOCK = 64, MOST_APPLIANCES = 32 };
static const size_t MIB = (size_t)1 << 20;

typedef struct {
    PlayTerms play;
    const char *appliance;          /* NULL: all */
    int show, classes, worst, left; /* -1: no call is shown; 0: none is listed */
    const char *stock[MOST_STOCK];
} Options;

static _Noreturn void usage(const char *what)
{
    fprintf(
        stderr,
        "bench_calls: %s\nusage: bench_calls [--calls N] [--appliance A] [--seed S] [--policy P]... "
        "[--show CALL] [--stock PART,PART] [--terms NAME=VALUE]... [--only sound] [--classes N] [--worst N] "
        "[--left N]\n"
        "policies: ours, customary, seasoned, information; terms: labour, callback, hand-over, "
        "second-visit (money), "
        "cool, proving (minutes)\n",
        what);
    exit(2);
}

static long number_of(const char *text)
{
    char *end;
    const long number = strtol(text, &end, 10);
    if (end == text || *end) usage(text);
    return number;
}

static void set_policy(Options *options, const char *name)
{
    for (int p = 0; p < POLICY_COUNT; p++) {
        if (strcmp(play_policy_name((PolicyCode)p), name) != 0) continue;
        options->play.plays[p] = true;
        return;
    }
    usage(name);
}

static void set_stock(Options *options, char *list)
{
    PlanTerms *terms = &options->play.terms;
    terms->stock = options->stock;
    for (char *part = strtok(list, ","); part && terms->stock_count < MOST_STOCK; part = strtok(NULL, ","))
        options->stock[terms->stock_count++] = part;
}

static void set_term(Options *options, const char *text)
{
    PlanTerms *terms = &options->play.terms;
    const char *equals = strchr(text, '=');
    if (!equals) usage(text);
    const size_t length = (size_t)(equals - text);
    const double value = strtod(equals + 1, NULL);
    if (strncmp(text, "labour", length) == 0)
        terms->labour_minor_per_hour = (long long)(100 * value);
    else if (strncmp(text, "callback", length) == 0)
        terms->callback_minor = (long long)(100 * value);
    else if (strncmp(text, "hand-over", length) == 0)
        terms->hand_over_minor = (long long)(100 * value);
    else if (strncmp(text, "second-visit", length) == 0)
        terms->second_visit_minor = (long long)(100 * value);
    else if (strncmp(text, "cool", length) == 0)
        terms->cool_second = 60 * value;
    else if (strncmp(text, "proving", length) == 0)
        terms->proving_second = 60 * value;
    else
        usage(text);
}

static void read_option(Options *options, const char *name, char *value)
{
    if (!value) usage(name);
    if (strcmp(name, "--calls") == 0)
        options->play.calls = (int)number_of(value);
    else if (strcmp(name, "--appliance") == 0)
        options->appliance = value;
    else if (strcmp(name, "--seed") == 0)
        options->play.seed = (uint64_t)number_of(value);
    else if (strcmp(name, "--policy") == 0)
        set_policy(options, value);
    else if (strcmp(name, "--show") == 0)
        options->show = (int)number_of(value);
    else if (strcmp(name, "--stock") == 0)
        set_stock(options, value);
    else if (strcmp(name, "--terms") == 0)
        set_term(options, value);
    else if (strcmp(name, "--only") == 0 && strcmp(value, "sound") == 0)
        options->play.only_sound = true;
    else if (strcmp(name, "--worst") == 0)
        options->worst = (int)number_of(value);
    else if (strcmp(name, "--left") == 0)
        options->left = (int)number_of(value);
    else if (strcmp(name, "--classes") == 0)
        options->classes = (int)number_of(value);
    else
        usage(name);
}

static void read_options(int argc, char **argv, Options *options)
{
    bool is_any = false;
    *options = (Options){
        .play = {.seed = 1, .calls = 100, .terms = plan_default_terms()}, .show = -1, .classes = 20};
    for (int i = 1; i < argc; i += 2) read_option(options, argv[i], i + 1 < argc ? argv[i + 1] : NULL);
    for (int p = 0; p < POLICY_COUNT; p++) is_any |= options->play.plays[p];
    for (int p = 0; p < POLICY_COUNT && !is_any; p++) options->play.plays[p] = true;
    if (options->play.calls < 1) usage("--calls");
}

/* 'appliances/range-208.yaml' is 'range-208'. */
static int list_appliances(const Options *options, char names[MOST_APPLIANCES][80])
{
    size_t count;
    const FilesAsset *assets = files_list_assets("appliances/", &count);
    int found = 0;
    if (options->appliance) {
        snprintf(names[0], sizeof names[0], "%s", options->appliance);
        return 1;
    }
    for (size_t i = 0; i < count && found < MOST_APPLIANCES; i++) {
        snprintf(names[found], sizeof names[found], "%s", assets[i].name + strlen("appliances/"));
        char *dot = strrchr(names[found], '.');
        if (dot) *dot = '\0';
        found++;
    }
    return found;
}

static void play_appliance(const char *name, const Options *options, Played *played)
{
    static Bench bench;
    Arena arena = arena_new(2048 * MIB);
    Appliance appliance;
    Error error = {0};
    demand(desk_load_appliance(name, NULL, 0, &arena, &appliance, &error), &error);
    demand(play_begin(&appliance, &options->play.terms, &arena, &bench, &error), &error);
    if (options->show >= 0) {
        demand(play_call(&bench, &options->play, options->show, stdout, played, &error), &error);
    } else {
        demand(play_all(&bench, &options->play, played, &error), &error);
        score_print_rows(&bench, &options->play, played);
        if (options->classes > 0) score_print_classes(&bench, &options->play, played, options->classes);
        if (options->worst > 0 && options->play.plays[POLICY_OURS] && options->play.plays[POLICY_CUSTOMARY])
            score_print_worst(&bench, &options->play, played, options->worst);
        if (options->left > 0 && options->play.plays[POLICY_OURS])
            score_print_left(&bench, &options->play, played, options->left);
    }
    fflush(stdout);
    arena_free(&arena);
}

int main(int argc, char **argv)
{
    static char names[MOST_APPLIANCES][80];
    Options options;
    machine_use_large_pages(); /* as the program does */
    printf("repeat with:");
    for (int i = 0; i < argc; i++) printf(" %s", argv[i]);
    read_options(argc, argv, &options);
    const int count = list_appliances(&options, names);
    const size_t calls = (size_t)options.play.calls * (size_t)count;
    Played *played = calloc(calls, sizeof *played);
    if (!played) return 1;
    printf("; seed %llu\n", (unsigned long long)options.play.seed);
    if (options.show < 0) score_print_head();
    fflush(stdout); /* before the processes part */
    for (int a = 0; a < count; a++)
        play_appliance(names[a], &options, played + (size_t)a * (size_t)options.play.calls);
    if (options.show < 0 && options.play.plays[POLICY_OURS]) {
        score_print_reliability(played, (int)calls);
        score_print_times(played, (int)calls);
    }
    const int unsafe = options.show < 0 ? score_count_unsafe(played, (int)calls) : 0;
    if (unsafe > 0) printf("%d steps would have switched on what must stay off\n", unsafe);
    free(played);
    return unsafe > 0;
}
