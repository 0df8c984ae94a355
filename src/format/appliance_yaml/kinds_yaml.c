/* kinds_yaml.c: kinds.yaml, how each kind of part is built inside and how it can fail.
 *
 * Lives here: branches, ways, faults with their severities and signs; the checks that need one kind alone.
 * Not here: words (words_yaml.c), appliances. A fault names a branch and looks of its own kind, so the
 * rows of a kind are read in this order: looks, branches, ways, faults.
 *
 * Invariants of what is handed out: (1) a fault's branch is one that its kind has, or all, or each way; (2)
 * its signs are looks of its kind; (3) a severity is there exactly where the effect needs one, or may have
 * one; (4) weights are above 0. So core/appliance need not ask again, and a new fault is a row in a data
 * file that is refused at the first reading if it does not fit. */
#include "format/appliance_yaml/appliance_yaml_private.h"

#include <assert.h>
#include <string.h>

enum { MOST_TERMINALS = 32 };
static const double MOST_SEVERITY = 1e9; /* ohm, factor or kelvin */

static const char *const branch_types[] = {
    [BRANCH_HEATER] = "heater", [BRANCH_CONTACT] = "contact", [BRANCH_LINK] = "link",
    [BRANCH_LOAD] = "load",     [BRANCH_SENSOR] = "sensor",   [BRANCH_GAP] = "gap",
    [BRANCH_TYPE_COUNT] = NULL};

static const char *const effect_types[] = {
#define X(code, name, unit) name,
    EFFECT_LIST(X)
#undef X
        NULL};

static const char *const roles[] = {"wiring",  "cord", "plug", "supply", "breaker",
                                    "control", "fan",  "lamp", NULL};
static const char *const spreads[] = {"even", "log", NULL};
static const char *const settings[] = {"offset", NULL}; /* what a control displays of itself */

/* What the readers of one kind's faults must know. */
typedef struct {
    const Catalogue *catalogue;
    const PartKind *kind;
} KindContext;

/* A fault as written, before its branch and severity are known to fit. */
typedef struct {
    FaultMode mode;
    const YamlNode *on, *severity, *signs;
} WrittenMode;

/* Terminals count from 1 in the file, as they are marked, and from 0 in the program. */
static bool read_terminal(const YamlReader *reader, const YamlNode *node, int *terminal, Error *error)
{
    *terminal = KIND_FRAME;
    if (node->type == YAML_SCALAR && text_equal(node->text, "frame")) return true;
    double number;
    if (!yaml_read_number(reader, node, UNIT_NONE, 1, MOST_TERMINALS, &number, error)) return false;
    *terminal = (int)number - 1;
    if (number == (int)number) return true;
    return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "the number of a terminal, or frame");
}

static bool read_between(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         Error *error)
{
    (void)field;
    KindBranch *branch = into;
    if (!yaml_need_list(reader, node, 2, "two terminals, like [1, 2] or [1, frame]", error)) return false;
    if (!read_terminal(reader, node->first, &branch->from, error)) return false;
    if (!read_terminal(reader, node->first->next, &branch->to, error)) return false;
    if (branch->from != branch->to) return true;
    return yaml_refuse(reader, node, ERROR_INCONSISTENT, error, "two different terminals");
}

/* Rows that a branch and a way have in common stand first, so that one table serves both. */
static const YamlField branch_fields[] = {
    {"type", YAML_AS_WORD, .is_required = true, .offset = offsetof(KindBranch, type), .words = branch_types},
    {"ohm", YAML_AS_NUMBER, .offset = offsetof(KindBranch, ohm), .unit = UNIT_OHM, .most = 1e9},
    {"reactance", YAML_AS_NUMBER, .offset = offsetof(KindBranch, reactance_ohm), .unit = UNIT_OHM,
     .most = 1e9},
    {"hot-ratio", YAML_AS_NUMBER, .offset = offsetof(KindBranch, hot_ratio), .unit = UNIT_NONE, .least = 0.1,
     .most = 100},
    {"tolerance", YAML_AS_SHARE, .offset = offsetof(KindBranch, tolerance), .most = 0.5},
    {"driven", YAML_AS_YES, .offset = offsetof(KindBranch, is_driven)},
    {"between", YAML_AS_FUNCTION, .is_required = true, .function = read_between},
};

static const YamlSchema branch_schema = {
    .what = "a branch",
    .size = sizeof(KindBranch),
    .fields = branch_fields,
    .field_count = ROWS(branch_fields),
    .has_name = true,
    .name_offset = offsetof(KindBranch, name),
};

static const YamlSchema way_schema = {
    .what = "ways", .fields = branch_fields, .field_count = ROWS(branch_fields) - 1};

/* `ways: {type: link, ohm: 2mohm}`: what each of them is, but not between what: an appliance says that. */
static bool read_way(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                     Error *error)
{
    (void)field;
    PartKind *kind = into;
    kind->has_ways = true;
    return yaml_read_struct(reader, node, &way_schema, &kind->way, error);
}

/* The look with this name, as its number; an unknown one lists the known. */
static bool find_look(const YamlReader *reader, const Catalogue *catalogue, const YamlNode *node, int *look,
                      Error *error)
{
    *look = kind_find_look(catalogue, node->text);
    if (*look >= 0) return true;
    const char **names = ARENA_ARRAY(reader->arena, const char *, (size_t)catalogue->look_count);
    if (!names) return error_memory(error);
    for (int i = 0; i < catalogue->look_count; i++) names[i] = catalogue->looks[i].name;
    return yaml_refuse_word(reader, node, names, catalogue->look_count, error);
}

/* The looks of a kind become numbers here and now, so words must have been read before. */
static bool read_kind_looks(const YamlReader *reader, const YamlField *field, const YamlNode *node,
                            void *into, Error *error)
{
    (void)field;
    const Catalogue *catalogue = reader->context;
    PartKind *kind = into;
    if (!yaml_need_list(reader, node, 0, "a list of looks, like [glows, dark]", error)) return false;
    int *looks = ARENA_ARRAY(reader->arena, int, (size_t)node->count);
    if (!looks) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next) {
        const char *name;
        if (!yaml_read_name(reader, child, &name, error)) return false;
        if (!find_look(reader, catalogue, child, &looks[kind->look_count++], error)) return false;
    }
    kind->looks = looks;
    return true;
}

/* The branch that a fault happens to: a name of the kind's own, all of them, or each way by itself. Anything
 * else lists what this kind has. */
static bool read_branch_of_mode(const YamlReader *reader, const PartKind *kind, const YamlNode *node,
                                int *branch, Error *error)
{
    const char *name;
    if (!yaml_read_name(reader, node, &name, error)) return false;
    *branch = text_equal(name, "all") ? KIND_EVERY_BRANCH : KIND_EACH_WAY;
    if (text_equal(name, "all") || (kind->has_ways && text_equal(name, "each"))) return true;
    const char *known[YAML_MOST_FIELDS] = {"all", "each"};
    int count = kind->has_ways ? 2 : 1;
    for (int i = 0; i < kind->branch_count; i++) {
        if (text_equal(kind->branches[i].name, name)) {
            *branch = i;
            return true;
        }
        if (count < YAML_MOST_FIELDS) known[count++] = kind->branches[i].name;
    }
    return yaml_refuse_word(reader, node, known, count, error);
}

/* A severity as written; its unit follows from the effect. */
typedef struct {
    Severity severity;
    const YamlNode *from, *to;
    int spread;
} WrittenSeverity;

static const YamlField severity_fields[] = {
    {"from", YAML_AS_NODE, .is_required = true, .offset = offsetof(WrittenSeverity, from)},
    {"to", YAML_AS_NODE, .is_required = true, .offset = offsetof(WrittenSeverity, to)},
    {"spread", YAML_AS_WORD, .offset = offsetof(WrittenSeverity, spread), .words = spreads},
    {"samples", YAML_AS_COUNT, .offset = offsetof(WrittenSeverity, severity.samples), .least = 1,
     .most = KIND_MOST_SAMPLES},
};

/* `{from: 1ohm, to: 20kohm, spread: log, samples: 3}`; three samples and an even spread unless said. */
static const YamlSchema severity_schema = {
    .what = "a severity", .fields = severity_fields, .field_count = ROWS(severity_fields)};

/* Negative only where that means something: a resistor that reads low, a sensor that reads cold. */
static bool read_severity(const YamlReader *reader, const YamlNode *node, EffectType effect,
                          Severity *severity, Error *error)
{
    WrittenSeverity written = {.severity.samples = 3};
    if (!yaml_read_struct(reader, node, &severity_schema, &written, error)) return false;
    *severity = written.severity;
    severity->is_log = written.spread == 1;
    const Unit unit = effect_unit(effect);
    const double least = effect == EFFECT_ADD_OHM || unit == UNIT_KELVIN ? -MOST_SEVERITY : 0;
    if (!yaml_read_number(reader, written.from, unit, least, MOST_SEVERITY, &severity->from, error))
        return false;
    if (!yaml_read_number(reader, written.to, unit, least, MOST_SEVERITY, &severity->to, error)) return false;
    if (severity->from > severity->to)
        return yaml_refuse(reader, written.to, ERROR_OUT_OF_RANGE, error, "not less than 'from'");
    if (!severity->is_log || severity->from > 0) return true;
    return yaml_refuse(reader, written.from, ERROR_OUT_OF_RANGE, error, "more than 0 for a spread of 'log'");
}

/* Does this effect need a severity, or may it have one? A contact that closes has no ohms of its own. */
static bool check_severity(const YamlReader *reader, const YamlNode *node, const WrittenMode *written,
                           Error *error)
{
    const EffectType effect = written->mode.effect;
    const bool refuses =
        effect == EFFECT_NONE || effect == EFFECT_OPEN || effect == EFFECT_STOP || effect == EFFECT_STILL;
    const bool needs = !refuses && effect != EFFECT_CLOSE;
    if (needs && !written->severity)
        return yaml_refuse(reader, node, ERROR_MISSING, error, "a severity with the effect '%s'",
                           effect_types[effect]);
    if (refuses && written->severity)
        return yaml_refuse(reader, written->severity, ERROR_INCONSISTENT, error,
                           "no severity with the effect '%s'", effect_types[effect]);
    return true;
}

/* Only a look that a technician is asked about can be a sign. */
static bool kind_shows(const PartKind *kind, int look)
{
    for (int i = 0; i < kind->look_count; i++)
        if (kind->looks[i] == look) return true;
    return false;
}

/* {blistered: 0.5}: looks of this kind, each a sign with its chance. */
static bool read_signs(const YamlReader *reader, const KindContext *context, const YamlNode *node,
                       FaultMode *mode, Error *error)
{
    if (!yaml_need_mapping(reader, node, "signs with their chances", error)) return false;
    for (const YamlNode *child = node->first; child; child = child->next) {
        const YamlNode key = yaml_key(child);
        if (mode->sign_count == KIND_MOST_SIGNS)
            return yaml_refuse(reader, &key, ERROR_TOO_LARGE, error, "at most %d signs", KIND_MOST_SIGNS);
        Sign *sign = &mode->signs[mode->sign_count++];
        if (!find_look(reader, context->catalogue, &key, &sign->look, error)) return false;
        if (!kind_shows(context->kind, sign->look))
            return yaml_refuse(reader, &key, ERROR_INCONSISTENT, error, "one of the looks of this kind");
        if (!yaml_read_share(reader, child, 0, 1, &sign->probability, error)) return false;
    }
    return true;
}

/* {cooler: 1}: the conditions that a fault may declare, each with its strength. */
static bool read_oven(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    double *strength = into;
    const char *names[CONDITION_COUNT + 1] = {0};
    for (int i = 0; i < CONDITION_COUNT; i++) names[i] = effect_condition_name((Condition)i);
    if (!yaml_need_mapping(reader, node, "conditions with their strengths", error)) return false;
    for (const YamlNode *child = node->first; child; child = child->next) {
        const YamlNode key = yaml_key(child);
        int condition = 0;
        if (!yaml_read_word(reader, &key, names, &condition, error)) return false;
        assert(condition < CONDITION_COUNT);
        if (!yaml_read_share(reader, child, 0, 1, &strength[condition], error)) return false;
    }
    return true;
}

/* `on`, `severity` and `signs` are kept as nodes, because they can only be read once the effect is known.
 * A weight outside these limits is a slip of the pen. */
static const YamlField mode_fields[] = {
    {"says", YAML_AS_TEXT, .is_required = true, .offset = offsetof(WrittenMode, mode.says)},
    {"effect", YAML_AS_WORD, .is_required = true, .offset = offsetof(WrittenMode, mode.effect),
     .words = effect_types},
    {"on", YAML_AS_NODE, .offset = offsetof(WrittenMode, on)},
    {"severity", YAML_AS_NODE, .offset = offsetof(WrittenMode, severity)},
    {"weight", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(WrittenMode, mode.weight),
     .unit = UNIT_NONE, .least = 0.001, .most = 10000},
    {"source", YAML_AS_TEXT, .offset = offsetof(WrittenMode, mode.weight_source)},
    {"oven", YAML_AS_FUNCTION, .offset = offsetof(WrittenMode, mode.condition), .function = read_oven},
    {"signs", YAML_AS_NODE, .offset = offsetof(WrittenMode, signs)},
    {"setting", YAML_AS_CHOICE, .offset = offsetof(WrittenMode, mode.setting), .words = settings},
    {"adjust", YAML_AS_NUMBER, .offset = offsetof(WrittenMode, mode.adjust_second), .unit = UNIT_SECOND,
     .least = 10, .most = 14400},
    {"warning", YAML_AS_NAME, .offset = offsetof(WrittenMode, mode.warning)},
};

static const YamlSchema mode_schema = {
    .what = "a fault",
    .size = sizeof(WrittenMode),
    .fields = mode_fields,
    .field_count = ROWS(mode_fields),
    .has_name = true,
    .name_offset = offsetof(WrittenMode, mode.name),
};

/* What hangs together in one fault: effect with branch and severity, signs with the kind's looks. */
static bool finish_mode(const YamlReader *reader, const KindContext *context, const YamlNode *node,
                        const WrittenMode *written, FaultMode *mode, Error *error)
{
    const YamlNode key = yaml_key(node);
    *mode = written->mode;
    mode->branch = KIND_EVERY_BRANCH;
    mode->has_severity = written->severity != NULL;
    /* Most weights are of that sort; the file says so once, at its top. */
    if (!mode->weight_source) mode->weight_source = "common practice, no source";
    if (effect_is_electric(mode->effect) && !written->on)
        return yaml_refuse(reader, &key, ERROR_MISSING, error, "'on', the branch that it happens to");
    if (written->on && !read_branch_of_mode(reader, context->kind, written->on, &mode->branch, error))
        return false;
    if (!check_severity(reader, &key, written, error)) return false;
    if (written->severity && !read_severity(reader, written->severity, mode->effect, &mode->severity, error))
        return false;
    return !written->signs || read_signs(reader, context, written->signs, mode, error);
}

/* The faults of a kind, with the kind so far as their context. */
static bool read_modes(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    PartKind *kind = into;
    void *structs;
    int count;
    if (!yaml_read_structs(reader, node, &mode_schema, &structs, &count, error)) return false;
    const WrittenMode *written = structs;
    FaultMode *modes = ARENA_ARRAY(reader->arena, FaultMode, (size_t)count);
    if (!modes) return error_memory(error);
    const KindContext context = {.catalogue = reader->context, .kind = kind};
    const YamlNode *child = node->first;
    for (int i = 0; i < count; i++, child = child->next)
        if (!finish_mode(reader, &context, child, &written[i], &modes[i], error)) return false;
    kind->modes = modes;
    kind->mode_count = count;
    return true;
}

/* The order matters: a fault names looks, branches and ways that stand above it here. */
static const YamlField kind_fields[] = {
    {"says", YAML_AS_TEXT, .is_required = true, .offset = offsetof(PartKind, says)},
    {"role", YAML_AS_CHOICE, .offset = offsetof(PartKind, role), .words = roles},
    {"terminals", YAML_AS_COUNT, .offset = offsetof(PartKind, terminal_count), .least = 1,
     .most = MOST_TERMINALS},
    {"properties", YAML_AS_NAMES, .offset = offsetof(PartKind, properties),
     .count_offset = offsetof(PartKind, property_count)},
    {"looks", YAML_AS_FUNCTION, .function = read_kind_looks},
    {"branches", YAML_AS_STRUCTS, .offset = offsetof(PartKind, branches),
     .count_offset = offsetof(PartKind, branch_count), .schema = &branch_schema},
    {"ways", YAML_AS_FUNCTION, .function = read_way},
    {"measured", YAML_AS_YES, .offset = offsetof(PartKind, is_measured)},
    {"faults", YAML_AS_FUNCTION, .function = read_modes},
};

static const YamlSchema kind_schema = {
    .what = "a kind",
    .size = sizeof(PartKind),
    .fields = kind_fields,
    .field_count = ROWS(kind_fields),
    .has_name = true,
    .name_offset = offsetof(PartKind, name),
};

/* Terminals, branches and ways of one kind fit together? */
static bool check_kind(const YamlReader *reader, const YamlNode *node, const PartKind *kind, Error *error)
{
    const YamlNode key = yaml_key(node);
    if (kind->has_ways && (kind->branch_count || kind->terminal_count))
        return yaml_refuse(reader, &key, ERROR_INCONSISTENT, error,
                           "ways, or terminals with branches, not both");
    for (int i = 0; i < kind->branch_count; i++) {
        const KindBranch *branch = &kind->branches[i];
        if (branch->from < kind->terminal_count && branch->to < kind->terminal_count) continue;
        return yaml_refuse(reader, &key, ERROR_INCONSISTENT, error, "branch '%s' between terminals 1 to %d",
                           branch->name, kind->terminal_count);
    }
    return true;
}

bool appliance_yaml__read_kinds(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue,
                                Error *error)
{
    void *kinds;
    if (!yaml_read_structs(reader, root, &kind_schema, &kinds, &catalogue->kind_count, error)) return false;
    catalogue->kinds = kinds;
    const YamlNode *child = root->first;
    for (int i = 0; i < catalogue->kind_count; i++, child = child->next)
        if (!check_kind(reader, child, &catalogue->kinds[i], error)) return false;
    return true;
}
