/* words_yaml.c: words.yaml, the words of owners and technicians with their chances.
 *
 * Lives here: looks, complaints, the weight of a sound oven. Not here: the kinds of parts (kinds_yaml.c).
 *
 * Chances here are the vocabulary of people, not of ovens: how often an owner whose oven is too cool says
 * so. They are common practice, no source (doc/method/priors.md), and one file so that a shop can put its
 * own in their place. */
#include "format/appliance_yaml/appliance_yaml_private.h"

#include <assert.h>

/* A look is seen from power, from how that comes and goes, is a sign of a fault, or says that all is well:
 * one of them. */
typedef struct {
    LookWord word;
    const YamlNode *power, *sheath, *unsteady, *runs_on, *otherwise, *sound;
    bool is_strip;
} WrittenLook;

/* {cooler: 0.8, bottom-dead: 0.5} into one chance for each condition. */
static bool read_when(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                      Error *error)
{
    (void)field;
    double *when = into;
    const char *names[CONDITION_COUNT + 1] = {0};
    for (int i = 0; i < CONDITION_COUNT; i++) names[i] = effect_condition_name((Condition)i);
    if (!yaml_need_mapping(reader, node, "conditions with their chances", error)) return false;
    for (const YamlNode *child = node->first; child; child = child->next) {
        int condition = 0;
        const YamlNode key = yaml_key(child);
        if (!yaml_read_word(reader, &key, names, &condition, error)) return false;
        assert(condition < CONDITION_COUNT);
        if (!yaml_read_share(reader, child, 0, 1, &when[condition], error)) return false;
    }
    return true;
}

static const YamlField look_fields[] = {
    {"says", YAML_AS_TEXT, .is_required = true, .offset = offsetof(WrittenLook, word.says)},
    {"power", YAML_AS_NODE, .offset = offsetof(WrittenLook, power)},
    {"sheath", YAML_AS_NODE, .offset = offsetof(WrittenLook, sheath)},
    {"unsteady", YAML_AS_NODE, .offset = offsetof(WrittenLook, unsteady)},
    {"runs-on", YAML_AS_NODE, .offset = offsetof(WrittenLook, runs_on)},
    {"otherwise", YAML_AS_NODE, .offset = offsetof(WrittenLook, otherwise)},
    {"sound", YAML_AS_NODE, .offset = offsetof(WrittenLook, sound)},
    {"strip", YAML_AS_YES, .offset = offsetof(WrittenLook, is_strip)},
    {"when", YAML_AS_FUNCTION, .offset = offsetof(WrittenLook, word.when), .function = read_when},
};

/* Which of them it is decides how the word is read, so they are kept as nodes. */
static const YamlSchema look_schema = {
    .what = "a look",
    .size = sizeof(WrittenLook),
    .fields = look_fields,
    .field_count = ROWS(look_fields),
    .has_name = true,
    .name_offset = offsetof(WrittenLook, word.name),
};

/* `power: [0.35, 2]`, shares of the rated power; a shorted element may take several times its rating. */
static bool read_power(const YamlReader *reader, const YamlNode *node, LookWord *word, Error *error)
{
    enum { MOST_TIMES_RATED = 10 };
    if (!yaml_need_list(reader, node, 2, "two shares of the rated power, like [0.35, 2]", error))
        return false;
    if (!yaml_read_share(reader, node->first, 0, MOST_TIMES_RATED, &word->ratio_from, error)) return false;
    if (!yaml_read_share(reader, node->first->next, 0, MOST_TIMES_RATED, &word->ratio_to, error))
        return false;
    word->way = LOOK_POWER;
    if (word->ratio_from < word->ratio_to) return true;
    return yaml_refuse(reader, node, ERROR_OUT_OF_RANGE, error, "the lower share first");
}

/* `sheath: [540C, 1300C]`, of an element. */
static bool read_sheath(const YamlReader *reader, const YamlNode *node, LookWord *word, Error *error)
{
    if (!yaml_need_list(reader, node, 2, "two temperatures, like [540C, 1300C]", error)) return false;
    if (!yaml_read_number(reader, node->first, UNIT_CELSIUS, -60, 2000, &word->sheath_from, error))
        return false;
    if (!yaml_read_number(reader, node->first->next, UNIT_CELSIUS, -60, 2000, &word->sheath_to, error))
        return false;
    if (word->sheath_from < word->sheath_to) return true;
    return yaml_refuse(reader, node, ERROR_OUT_OF_RANGE, error, "the lower temperature first");
}

/* A manner, seen with that chance by whoever watches. */
static bool read_manner(const YamlReader *reader, const YamlNode *node, LookWord *word, double *chance,
                        Error *error)
{
    word->way = LOOK_POWER;
    return yaml_read_share(reader, node, 0.01, 1, chance, error);
}

/* Exactly one, since what a look means is read from which of them stands there. */
static bool finish_look(const YamlReader *reader, const YamlNode *node, const WrittenLook *written,
                        LookWord *word, Error *error)
{
    const YamlNode key = yaml_key(node);
    *word = written->word;
    word->way = written->is_strip ? LOOK_STRIP : LOOK_CLOSE;
    if (!!written->power + !!written->unsteady + !!written->runs_on + !!written->otherwise +
            !!written->sound !=
        1)
        return yaml_refuse(reader, &key, ERROR_INCONSISTENT, error,
                           "one of power, unsteady, runs-on, otherwise, sound");
    if (written->is_strip && !written->otherwise && !written->sound)
        return yaml_refuse(reader, &key, ERROR_INCONSISTENT, error,
                           "otherwise or sound with strip: paper in the door has no power");
    if (written->sheath && !read_sheath(reader, written->sheath, word, error)) return false;
    if (written->power) return read_power(reader, written->power, word, error);
    if (written->unsteady) return read_manner(reader, written->unsteady, word, &word->unsteady, error);
    if (written->runs_on) return read_manner(reader, written->runs_on, word, &word->runs_on, error);
    if (written->otherwise) return yaml_read_share(reader, written->otherwise, 0, 1, &word->otherwise, error);
    return yaml_read_yes(reader, written->sound, &word->is_sound, error);
}

/* Read as written, then finished one by one into the catalogue's own array. */
static bool read_looks(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                       Error *error)
{
    (void)field;
    Catalogue *catalogue = into;
    void *structs;
    int count;
    if (!yaml_read_structs(reader, node, &look_schema, &structs, &count, error)) return false;
    const WrittenLook *written = structs;
    LookWord *looks = ARENA_ARRAY(reader->arena, LookWord, (size_t)count);
    if (!looks) return error_memory(error);
    const YamlNode *child = node->first;
    for (int i = 0; i < count; i++, child = child->next)
        if (!finish_look(reader, child, &written[i], &looks[i], error)) return false;
    catalogue->looks = looks;
    catalogue->look_count = count;
    return true;
}

/* Chances are given in full for each word: none of them has a default that anybody could remember. */
static const YamlField complaint_fields[] = {
    {"says", YAML_AS_TEXT, .is_required = true, .offset = offsetof(ComplaintWord, says)},
    {"when", YAML_AS_FUNCTION, .is_required = true, .offset = offsetof(ComplaintWord, when),
     .function = read_when},
    {"otherwise", YAML_AS_SHARE, .is_required = true, .offset = offsetof(ComplaintWord, otherwise),
     .most = 1},
    {"nothing-wrong", YAML_AS_SHARE, .is_required = true, .offset = offsetof(ComplaintWord, nothing_wrong),
     .most = 1},
};

static const YamlSchema complaint_schema = {
    .what = "a complaint",
    .size = sizeof(ComplaintWord),
    .fields = complaint_fields,
    .field_count = ROWS(complaint_fields),
    .has_name = true,
    .name_offset = offsetof(ComplaintWord, name),
};

/* A mapping of one key, `nothing-wrong: {weight: 12}`, so that a source can stand beside it one day. */
static const YamlField weight_fields[] = {
    {"weight", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Catalogue, nothing_wrong_weight),
     .unit = UNIT_NONE, .least = 0.001, .most = 10000},
};

static const YamlSchema weight_schema = {
    .what = "nothing-wrong", .fields = weight_fields, .field_count = ROWS(weight_fields)};

static const YamlField words_fields[] = {
    {"nothing-wrong", YAML_AS_STRUCT, .is_required = true, .schema = &weight_schema},
    {"second-fault", YAML_AS_SHARE, .is_required = true, .offset = offsetof(Catalogue, second_fault),
     .most = 0.5},
    {"looks", YAML_AS_FUNCTION, .is_required = true, .function = read_looks},
    {"complaints", YAML_AS_STRUCTS, .is_required = true, .offset = offsetof(Catalogue, complaints),
     .count_offset = offsetof(Catalogue, complaint_count), .schema = &complaint_schema},
};

static const YamlSchema words_schema = {
    .what = "the file of words", .fields = words_fields, .field_count = ROWS(words_fields)};

bool appliance_yaml__read_words(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue,
                                Error *error)
{
    return yaml_read_struct(reader, root, &words_schema, catalogue, error);
}
