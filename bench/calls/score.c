/* score.c: see score.h.
 *
 * Fixed at the first visit: closed, every fault gone, no part had to be fetched; among calls with a fault.
 * Declared healthy: closed without a part fitted; among calls with nothing wrong but what is explained to the
 * owner. */
#include "score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BINS = 10, MOST_CLASSES = 512 };

/* --- one row for each policy --- */

typedef struct {
    int calls, faulty, fixed, sound, declared, callbacks, handed_over, visits, unsafe;
    double cost, cost_square, second, checks, parts, wrong, live;
} Sum;

static void add(Sum *sum, const Played *played, const Books *books)
{
    const bool is_sound = played->was_sound;
    sum->calls++;
    sum->faulty += !is_sound;
    sum->fixed += !is_sound && books->is_fixed && books->visits == 1;
    sum->sound += is_sound;
    sum->declared += is_sound && books->is_closed && books->parts == 0;
    sum->callbacks += books->is_left;
    sum->handed_over += books->is_handed_over;
    sum->visits += books->visits;
    sum->unsafe += books->unsafe;
    sum->cost += books->cost_minor / 100;
    sum->cost_square += books->cost_minor / 100 * (books->cost_minor / 100);
    sum->second += books->second;
    sum->checks += books->checks;
    sum->parts += books->parts;
    sum->wrong += books->wrong_parts;
    sum->live += books->live;
}

static double share(int part, int whole) { return whole > 0 ? 100.0 * part / whole : NAN; }

void score_print_head(void)
{
    printf("| %-20s | %-11s | %6s | %7s | %15s | %7s | %6s | %5s | %5s | %4s | %6s | %6s | %6s |\n",
           "appliance", "policy", "fixed", "healthy", "mean cost", "minutes", "checks", "parts", "wrong",
           "live", "back", "handed", "visits");
    puts("|----------------------|-------------|--------|---------|-----------------|---------|--------|-----"
         "--|"
         "-------|------|--------|--------|--------|");
}

static void print_row(const char *name, PolicyCode policy, const Sum *sum)
{
    const double n = sum->calls, mean = sum->cost / n;
    const double error = sqrt(fmax(sum->cost_square / n - mean * mean, 0) / n);
    printf("| %-20s | %-11s | %5.1f%% | %6.1f%% | %7.2f +-%5.2f | %7.1f | %6.1f | %5.2f | %5.2f | %4.2f | "
           "%5.1f%% | %5.1f%% | %6.2f |%s\n",
           name, play_policy_name(policy), share(sum->fixed, sum->faulty), share(sum->declared, sum->sound),
           mean, error, sum->second / n / 60, sum->checks / n, sum->parts / n, sum->wrong / n, sum->live / n,
           share(sum->callbacks, sum->calls), share(sum->handed_over, sum->calls), sum->visits / n,
           sum->unsafe ? " UNSAFE" : "");
}

/* Over the same calls, so the difference has a smaller error than either. */
static void print_saving(const PlayTerms *terms, const Played *played)
{
    double ours = 0, theirs = 0, square = 0;
    for (int c = 0; c < terms->calls; c++) {
        const double a = played[c].books[POLICY_OURS].cost_minor,
                     b = played[c].books[POLICY_CUSTOMARY].cost_minor;
        ours += a;
        theirs += b;
        square += (b - a) * (b - a);
    }
    const double n = terms->calls, mean = (theirs - ours) / n;
    const double error = sqrt(fmax(square / n - mean * mean, 0) / n);
    printf("  ours against customary: %.1f %% less (+-%.1f)\n", 100 * mean * n / theirs,
           100 * error * n / theirs);
}

void score_print_rows(const Bench *bench, const PlayTerms *terms, const Played *played)
{
    for (int p = 0; p < POLICY_COUNT; p++) {
        Sum sum = {.calls = 0};
        if (!terms->plays[p]) continue;
        for (int c = 0; c < terms->calls; c++) add(&sum, &played[c], &played[c].books[p]);
        print_row(bench->appliance.name, (PolicyCode)p, &sum);
    }
    if (terms->plays[POLICY_OURS] && terms->plays[POLICY_CUSTOMARY]) print_saving(terms, played);
}

/* --- fault classes --- */

typedef struct {
    int part;
    const FaultMode *mode; /* NULL: nothing wrong */
    int calls, fixed[POLICY_COUNT];
    double cost[POLICY_COUNT];
} Class;

static Class *class_of(const Appliance *appliance, const Played *played, Class *classes, int *count)
{
    const Fault *fault = played->drawn_count ? &appliance->faults[played->drawn[0]] : NULL;
    const int part = fault ? fault->part : -1;
    const FaultMode *mode = fault ? fault->mode : NULL;
    for (int i = 0; i < *count; i++)
        if (classes[i].part == part && classes[i].mode == mode) return &classes[i];
    if (*count == MOST_CLASSES) return &classes[MOST_CLASSES - 1];
    classes[*count] = (Class){.part = part, .mode = mode};
    return &classes[(*count)++];
}

static double ratio_of(const Class *class)
{
    return class->cost[POLICY_OURS] / class->cost[POLICY_CUSTOMARY];
}

static int by_ratio(const void *a, const void *b)
{
    const Class *first = a, *second = b;
    const double one = ratio_of(first), other = ratio_of(second);
    if (one != other) return one < other ? 1 : -1;
    return first->part - second->part;
}

static void print_class(const Appliance *appliance, const Class *class)
{
    char name[120] = "nothing wrong";
    if (class->mode)
        snprintf(name, sizeof name, "%s.%s", appliance->parts[class->part].name, class->mode->name);
    printf("  %-40s %5d calls", name, class->calls);
    for (int p = 0; p < POLICY_COUNT; p++)
        if (class->cost[p] > 0)
            printf("  %s %7.2f, fixed %5.1f%%", play_policy_name((PolicyCode)p),
                   class->cost[p] / class->calls / 100, share(class->fixed[p], class->calls));
    if (isfinite(ratio_of(class)) && ratio_of(class) > 0) printf("  ratio %.2f", ratio_of(class));
    putchar('\n');
}

void score_print_classes(const Bench *bench, const PlayTerms *terms, const Played *played, int least)
{
    static Class classes[MOST_CLASSES];
    int count = 0;
    for (int c = 0; c < terms->calls; c++) {
        Class *class = class_of(&bench->appliance, &played[c], classes, &count);
        class->calls++;
        for (int p = 0; p < POLICY_COUNT; p++) {
            class->cost[p] += played[c].books[p].cost_minor;
            class->fixed[p] += played[c].books[p].is_fixed;
        }
    }
    qsort(classes, (size_t)count, sizeof *classes, by_ratio);
    for (int i = 0; i < count; i++)
        if (classes[i].calls > least) print_class(&bench->appliance, &classes[i]);
}

/* --- calls to be looked at --- */

static double excess(const Played *played)
{
    return played->books[POLICY_OURS].cost_minor - played->books[POLICY_CUSTOMARY].cost_minor;
}

static const char *end_of(const Books *books)
{
    return books->is_handed_over ? "handed over" : books->is_left ? "fault left" : "right";
}

static void print_call(const Appliance *appliance, const Played *played, int call)
{
    const Books *ours = &played->books[POLICY_OURS], *theirs = &played->books[POLICY_CUSTOMARY];
    printf("  --show %-5d ours %7.2f (%s), customary %7.2f (%s):", call, ours->cost_minor / 100, end_of(ours),
           theirs->cost_minor / 100, end_of(theirs));
    for (int i = 0; i < played->drawn_count; i++) printf(" %s", appliance->faults[played->drawn[i]].name);
    puts(played->drawn_count ? "" : " nothing wrong");
}

void score_print_worst(const Bench *bench, const PlayTerms *terms, const Played *played, int most)
{
    double last = INFINITY;
    for (int i = 0; i < most; i++) {
        int worst = -1;
        for (int c = 0; c < terms->calls; c++)
            if (excess(&played[c]) < last && excess(&played[c]) > 0 &&
                (worst < 0 || excess(&played[c]) > excess(&played[worst])))
                worst = c;
        if (worst < 0) return;
        last = excess(&played[worst]);
        print_call(&bench->appliance, &played[worst], worst);
    }
}

void score_print_left(const Bench *bench, const PlayTerms *terms, const Played *played, int most)
{
    for (int c = 0; c < terms->calls && most > 0; c++) {
        const Books *ours = &played[c].books[POLICY_OURS];
        if (played[c].was_sound ? ours->is_closed && ours->parts == 0 : ours->is_fixed) continue;
        print_call(&bench->appliance, &played[c], c);
        most--;
    }
}

/* --- reliability --- */

typedef struct {
    int count[BINS], came[BINS];
    double said[BINS];
    double square[BINS]; /* sum over calls of the square of what came more often than it was said */
} Reliability;

/* Of one call. What is said at its moments of one suspect comes true every time or never, so the cases of a
 * call are one draw and not many (a ratio estimated from clusters: Cochran, Sampling Techniques, 3rd ed.,
 * 1977, chapter 9A; from memory). */
static void add_said(Reliability *reliability, const Said *said, int count)
{
    double more[BINS] = {0};
    for (int i = 0; i < count; i++) {
        const int bin = (int)fmin(fmax((double)said[i].said * BINS, 0), BINS - 1);
        reliability->count[bin]++;
        reliability->came[bin] += said[i].came;
        reliability->said[bin] += (double)said[i].said;
        more[bin] += said[i].came - (double)said[i].said;
    }
    for (int b = 0; b < BINS; b++) reliability->square[b] += more[b] * more[b];
}

/* By call, and no less than as if all cases were independent: a few calls say little of their own spread. */
static double sampling_error(const Reliability *reliability, int bin)
{
    const double n = reliability->count[bin], said = reliability->said[bin] / n,
                 apart = sqrt(fmax(said * (1 - said), 0.25 / n) / n);
    return fmax(apart, sqrt(reliability->square[bin]) / n);
}

static void print_reliability(const char *title, const Reliability *reliability)
{
    printf("%s: said, came (+- sampling, by call), how many\n", title);
    for (int b = 0; b < BINS; b++) {
        const double n = reliability->count[b];
        if (n == 0) continue;
        const double said = reliability->said[b] / n, came = reliability->came[b] / n;
        const double error = sampling_error(reliability, b);
        printf("  %.3f  %.3f +-%.3f  %6.0f %s\n", said, came, error, n,
               fabs(came - said) > 2 * error ? "off" : "");
    }
}

void score_print_reliability(const Played *played, int count)
{
    Reliability repairs = {.count = {0}}, suspects = {.count = {0}};
    for (int c = 0; c < count; c++) {
        const Advice *advice = &played[c].advice;
        if (advice->first_repair.said > 0) add_said(&repairs, &advice->first_repair, 1);
        add_said(&suspects, advice->suspects, advice->suspect_count);
    }
    print_reliability("the first repair", &repairs);
    print_reliability("all suspects above 1 %, at moments drawn at random", &suspects);
}

/* --- times --- */

static int by_size(const void *a, const void *b)
{
    const float first = *(const float *)a, second = *(const float *)b;
    return (first > second) - (first < second);
}

static void print_times(const char *title, float *times, size_t count)
{
    double sum = 0;
    if (count == 0) return;
    for (size_t i = 0; i < count; i++) sum += (double)times[i];
    qsort(times, count, sizeof *times, by_size);
    printf("  %-9s mean %.1f ms, p99 %.1f ms, max %.1f ms (%zu times)\n", title, sum / (double)count,
           (double)times[(size_t)(0.99 * (double)(count - 1))], (double)times[count - 1], count);
}

/* Diagnosis, plan, and what a technician waits for: both. */
void score_print_times(const Played *played, int count)
{
    static const char *const titles[] = {"diagnose", "plan", "both"};
    const size_t most = (size_t)count * TECHNICIAN_MOST_STEPS;
    float *times[3];
    size_t taken = 0;
    for (int t = 0; t < 3; t++) times[t] = malloc(most * sizeof *times[t]);
    const bool has_room = times[0] && times[1] && times[2];
    for (int c = 0; has_room && c < count; c++)
        for (int i = 0; i < played[c].advice.count; i++, taken++) {
            times[0][taken] = played[c].advice.diagnose_ms[i];
            times[1][taken] = played[c].advice.plan_ms[i];
            times[2][taken] = times[0][taken] + times[1][taken];
        }
    for (int t = 0; t < 3; t++) {
        if (has_room) print_times(titles[t], times[t], taken);
        free(times[t]);
    }
}

int score_count_unsafe(const Played *played, int count)
{
    int unsafe = 0;
    for (int c = 0; c < count; c++)
        for (int p = 0; p < POLICY_COUNT; p++) unsafe += played[c].books[p].unsafe;
    return unsafe;
}
