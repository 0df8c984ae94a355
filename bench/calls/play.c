/* play.c: see play.h. */
#include "play.h"

#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PROCESSES = 2 };

const char *play_policy_name(PolicyCode policy)
{
    static const char *const names[] = {
#define X(code, name) name,
        POLICY_LIST(X)
#undef X
    };
    return names[policy];
}

bool play_begin(const Appliance *appliance, const PlanTerms *terms, Arena *arena, Bench *bench, Error *error)
{
    const Meter meter = meter_default();
    memset(bench, 0, sizeof *bench);
    bench->appliance = *appliance;
    return diagnosis_begin(&bench->appliance, 22, &meter, NULL, arena, &bench->model, error) &&
           customs_begin(&bench->model, terms->proving_second, &bench->customs, error);
}

/* --- one call --- */

static void say_truth(const World *world, FILE *trail)
{
    const Appliance *appliance = world->assumed->appliance;
    fprintf(trail, "call %llu on %s:", (unsigned long long)world->seed, appliance->name);
    for (int i = 0; i < world->drawn_count; i++)
        fprintf(trail, " %s(%.4g)", appliance->faults[world->drawn[i]].name, world->severity[i]);
    fprintf(trail, "%s; the owner says:", world->drawn_count ? "" : " nothing wrong");
    for (int w = 0; w < world->word_count; w++)
        fprintf(trail, " %s", appliance->catalogue->complaints[world->words[w]].name);
    fputc('\n', trail);
}

static bool play_policy(Bench *bench, World *world, const PlayTerms *terms, PolicyCode policy, FILE *trail,
                        Played *played, Error *error)
{
    static Technician technician; /* large */
    bool went_well = false;
    world_reset(world);
    if (trail) fprintf(trail, " %s\n", play_policy_name(policy));
    technician_begin(world, &terms->terms, trail, &technician);
    switch (policy) {
    case POLICY_OURS: went_well = policy_ours(&technician, &played->advice, error); break;
    case POLICY_CUSTOMARY: went_well = policy_customary(&technician, &bench->customs, error); break;
    case POLICY_SEASONED: went_well = policy_seasoned(&technician, &bench->customs, error); break;
    default: went_well = policy_information(&technician, error); break;
    }
    played->books[policy] = technician.books;
    return went_well;
}

bool play_call(Bench *bench, const PlayTerms *terms, int call, FILE *trail, Played *played, Error *error)
{
    static World world; /* large, and its models point into it */
    memset(played, 0, sizeof *played);
    bool went_well =
        world_begin(&bench->model, terms->seed + (uint64_t)call, terms->only_sound, &world, error);
    if (went_well && trail) say_truth(&world, trail);
    for (int p = 0; went_well && p < POLICY_COUNT; p++)
        if (terms->plays[p])
            went_well = play_policy(bench, &world, terms, (PolicyCode)p, trail, played, error);
    memcpy(played->drawn, world.drawn, sizeof world.drawn);
    played->drawn_count = world.drawn_count;
    played->was_sound = went_well && world_was_sound(&world);
    world_end(&world);
    return went_well;
}

/* --- many --- */

static bool play_share(Bench *bench, const PlayTerms *terms, int share, FILE *out, Error *error)
{
    static Played played;
    for (int call = share; call < terms->calls; call += PROCESSES)
        if (!play_call(bench, terms, call, NULL, &played, error) ||
            fwrite(&played, sizeof played, 1, out) != 1)
            return false;
    return fflush(out) == 0;
}

/* The child's whole life; the error cannot travel, so it is said here. */
static _Noreturn void work(Bench *bench, const PlayTerms *terms, int share, FILE *out)
{
    Error error = {0};
    char line[1400];
    if (play_share(bench, terms, share, out, &error)) _exit(0);
    error_line(&error, line, sizeof line);
    fprintf(stderr, "%s\n", line);
    _exit(1);
}

static bool gather(const PlayTerms *terms, int share, FILE *in, Played *played)
{
    rewind(in);
    for (int call = share; call < terms->calls; call += PROCESSES)
        if (fread(&played[call], sizeof *played, 1, in) != 1) return false;
    return true;
}

bool play_all(Bench *bench, const PlayTerms *terms, Played *played, Error *error)
{
    FILE *files[PROCESSES];
    pid_t children[PROCESSES];
    bool went_well = true;
    for (int p = 0; p < PROCESSES; p++) {
        files[p] = tmpfile();
        children[p] = files[p] ? fork() : -1;
        if (children[p] == 0) work(bench, terms, p, files[p]);
        went_well = went_well && children[p] > 0;
    }
    for (int p = 0; p < PROCESSES; p++) {
        int status = 1;
        if (children[p] > 0) waitpid(children[p], &status, 0);
        went_well = went_well && status == 0 && gather(terms, p, files[p], played);
        if (files[p]) fclose(files[p]);
    }
    return went_well || error_set(error, ERROR_DEFECT, "a process that plays calls", "it to end well");
}
