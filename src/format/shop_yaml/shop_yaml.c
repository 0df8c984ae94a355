/* shop_yaml.c: see shop_yaml.h. Limits are wide: they keep out slips of the pen, not opinions. */
#include "format/shop_yaml/shop_yaml.h"

#include "format/yaml/yaml.h"

#include <math.h>

#define ROWS(rows) ((int)(sizeof(rows) / sizeof *(rows)))

/* Money as it is written, in whole units. */
typedef struct {
    PlanTerms terms;
    HistoryTerms history;
    double labour_per_hour, callback, second_visit, hand_over, carrying;
    int search;
} Written;

/* `all`, or the parts that are on the truck. */
static bool read_at_hand(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    static const char *const all[] = {"all"};
    PlanTerms *terms = into;
    (void)field;
    if (node->type == YAML_SCALAR)
        return text_equal(node->text, all[0]) ||
               yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "all, or a list of parts");
    if (node->type != YAML_LIST)
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "all, or a list of parts");
    const char **names = ARENA_ARRAY(reader->arena, const char *, (size_t)node->count + 1);
    if (!names) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next)
        if (!yaml_read_name(reader, child, &names[terms->stock_count++], error)) return false;
    terms->stock = names;
    return true;
}

#define MONEY(name, member)                                                                                  \
    {                                                                                                        \
        name, YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Written, member), .unit = UNIT_NONE,   \
                              .least = 0, .most = 1e6                                                        \
    }
#define TIME(name, member)                                                                                   \
    {                                                                                                        \
        name, YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Written, terms.member),                \
                              .unit = UNIT_SECOND, .least = 0, .most = 86400                                 \
    }
#define SHARE(name, member)                                                                                  \
    {                                                                                                        \
        name, YAML_AS_SHARE, .is_required = true, .offset = offsetof(Written, terms.member), .least = 0,     \
                             .most = 1                                                                       \
    }

#define CALLS(name, member)                                                                                  \
    {                                                                                                        \
        name, YAML_AS_NUMBER, .offset = offsetof(Written, history.member), .unit = UNIT_NONE, .least = 1,    \
                              .most = 1e6                                                                    \
    }

static const YamlField fields[] = {
    MONEY("labour-per-hour", labour_per_hour),
    MONEY("callback", callback),
    MONEY("second-visit", second_visit),
    MONEY("hand-over", hand_over),
    MONEY("carrying", carrying),
    SHARE("carrying-share", carrying_share),
    TIME("proving", proving_second),
    TIME("power-off", off_second),
    TIME("power-on", on_second),
    TIME("cooling", cool_second),
    TIME("noting", noting_second),
    TIME("live-risk", live_risk_second),
    SHARE("justified", justified),
    {"search", YAML_AS_COUNT, .is_required = true, .offset = offsetof(Written, search), .least = 1,
     .most = 100000},
    CALLS("prior-calls", prior_calls),
    CALLS("pooling-calls", pooling_calls),
    {"at-hand", YAML_AS_FUNCTION, .offset = offsetof(Written, terms), .function = read_at_hand},
};

static const YamlSchema schema = {
    .what = "the terms of a shop", .fields = fields, .field_count = ROWS(fields)};

static long long minor(double whole) { return (long long)floor(100 * whole + 0.5); }

bool shop_yaml_read_terms(const char *file, Text bytes, Arena *arena, PlanTerms *terms, HistoryTerms *history,
                          Error *error)
{
    const YamlReader reader = {.file = file, .arena = arena};
    const YamlNode *root;
    Written written = {.search = 1, .history = history_default_terms()};
    if (!yaml_read_tree(file, bytes, arena, &root, error) ||
        !yaml_read_struct(&reader, root, &schema, &written, error))
        return false;
    *terms = written.terms;
    if (history) *history = written.history;
    terms->labour_minor_per_hour = minor(written.labour_per_hour);
    terms->callback_minor = minor(written.callback);
    terms->second_visit_minor = minor(written.second_visit);
    terms->hand_over_minor = minor(written.hand_over);
    terms->carrying_minor = minor(written.carrying);
    terms->nodes = written.search;
    return true;
}
