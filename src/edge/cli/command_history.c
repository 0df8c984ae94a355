/* command_history.c: `ovenwright history [A]`: how the store's calls went, whether what the program said came
 * true, and what is to be expected of an appliance, with where that comes from. */
#include "edge/cli/load.h"
#include "edge/cli/shelf.h"
#include "format/call_json/call_json.h"

enum { MOST_MOVED = 12 };

/* ---- as text */

static void say_figures(const HistoryFigures *figures, TextBuilder *out)
{
    text_addf(out, "Closed      %d calls, %d of them came back\n", figures->closed, figures->callbacks);
    if (figures->closed == 0) return;
    text_addf(out, "First visit %d fixed, %.0f %% (%.0f to %.0f %% with 95 %% confidence)\n",
              figures->first_visit, 100 * figures->first_visit_share, 100 * figures->low,
              100 * figures->high);
    text_addf(out, "Work        %.0f min a call\n", figures->minute);
    text_add(out, "\nWhat was said before the first repair, and how often it was so\n");
    for (int b = 0; b < HISTORY_BINS; b++) {
        const HistoryBin *bin = &figures->bins[b];
        if (bin->count > 0)
            text_addf(out, "  said %3.0f %%   was so %3.0f %%   %d of %d calls\n", 100 * bin->said,
                      100.0 * bin->came / bin->count, bin->came, bin->count);
    }
}

/* What was confirmed most, then what is most to be expected. */
static int find_next(const HistoryAnswer *answer, const bool *is_said)
{
    int best = -1;
    for (int f = 0; f < answer->fault_count; f++)
        if (!is_said[f] &&
            (best < 0 || answer->counts[f] > answer->counts[best] ||
             (!(answer->counts[f] < answer->counts[best]) && answer->now[f] > answer->now[best])))
            best = f;
    return best;
}

static bool say_expected(const HistoryAnswer *answer, Arena *arena, TextBuilder *out, Error *error)
{
    bool *is_said = ARENA_ARRAY(arena, bool, (size_t)answer->fault_count);
    if (!is_said) return error_memory(error);
    text_addf(
        out,
        "\nTo be expected of %s: %.0f %% from its file, %.0f %% from closed calls on it (%d), %.0f %% from "
        "parts of the same kinds (%d)\n",
        answer->appliance, 100 * answer->share.prior, 100 * answer->share.own, answer->calls,
        100 * answer->share.others, answer->all);
    text_addf(out, "  %-34s %9s %8s %8s\n", "", "confirmed", "file", "now");
    for (int n = 0; n < MOST_MOVED && n < answer->fault_count; n++) {
        const int f = find_next(answer, is_said);
        is_said[f] = true;
        text_addf(out, "  %-34s %9.0f %6.1f %% %6.1f %%\n", answer->faults[f], answer->counts[f],
                  100 * answer->before[f], 100 * answer->now[f]);
    }
    if (answer->fault_count > MOST_MOVED)
        text_addf(out, "  and %d more; --json lists all\n", answer->fault_count - MOST_MOVED);
    return true;
}

/* ---- */

static bool tell(Invocation *invocation, const Shelf *shelf, Error *error)
{
    HistoryTerms terms;
    PlanTerms costs;
    HistoryAnswer answer;
    const char *appliance = invocation->argument_count ? invocation->arguments[0] : NULL;
    if (!load_terms(invocation, &costs, &terms, error) ||
        !desk_history(shelf->store, &terms, appliance, shelf->arena, &answer, error))
        return false;
    if (cli__has_option(invocation, OPTION_JSON)) return call_json_history(&answer, &invocation->out, error);
    say_figures(answer.figures, &invocation->out);
    return !appliance || say_expected(&answer, shelf->arena, &invocation->out, error);
}

bool cli__history(Invocation *invocation, Error *error) { return shelf_do(invocation, false, tell, error); }
