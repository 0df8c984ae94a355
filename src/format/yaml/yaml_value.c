/* yaml_value.c: the single values: text, names, yes and no, words, quantities; and how they are refused.
 *
 * Lives here: one function for each type of scalar, and the sentences of refusals with their places. Not
 * here: how a quantity is written (base/quantity), tables (yaml_schema.c).
 *
 * What a reader has put into its target counts only when it has not refused. 'Nothing there' and 'the wrong
 * kind of thing' are different errors: the first is answered with how the value is written, the second with
 * what stands there. */
#include "format/yaml/yaml_private.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool yaml_place(const YamlReader *reader, const YamlNode *node, Error *error)
{
    return error_at(error, reader->file, node->line, node->column);
}

/* What stands there, for a message: the text in quotes, or what kind of thing it is. */
static void say_found(const YamlNode *node, char *out, size_t size)
{
    if (node->type != YAML_SCALAR)
        snprintf(out, size, "%s %s", node->count ? "a" : "an empty",
                 node->type == YAML_LIST ? "list" : "mapping");
    else if (node->text[0] == '\0')
        snprintf(out, size, "nothing");
    else
        yaml__quote(node->text, out, size);
}

/* The sentence is made here first, since a name from the file may hold a per cent sign. */
bool yaml_refuse(const YamlReader *reader, const YamlNode *node, ErrorCode code, Error *error,
                 const char *expected, ...)
{
    char found[100], wanted[300];
    say_found(node, found, sizeof found);
    va_list arguments;
    va_start(arguments, expected);
    vsnprintf(wanted, sizeof wanted, expected, arguments);
    va_end(arguments);
    error_set(error, code, found, "%s", wanted);
    return yaml_place(reader, node, error);
}

/* A long list is cut at a word, never inside one. */
bool yaml_refuse_word(const YamlReader *reader, const YamlNode *node, const char *const *known, int count,
                      Error *error)
{
    char list[360] = "";
    size_t length = 0;
    for (int i = 0; i < count; i++) {
        if (length + strlen(known[i]) + 8 > sizeof list) { /* room for ', ...' */
            snprintf(list + length, sizeof list - length, ", ...");
            break;
        }
        length += (size_t)snprintf(list + length, sizeof list - length, "%s%s", i ? ", " : "", known[i]);
    }
    char found[100];
    say_found(node, found, sizeof found);
    error_set(error, ERROR_UNKNOWN_WORD, found, "%s%s", count == 1 ? "" : "one of ", list);
    const char *nearest = count > 1 ? text_nearest(node->text, known, (size_t)count) : NULL;
    if (nearest) error_hint(error, "did you mean '%s'?", nearest);
    return yaml_place(reader, node, error);
}

/* The message says how many there are, since `[L1]` and `[L1, K1, K2]` are both lists. */
bool yaml_need_list(const YamlReader *reader, const YamlNode *node, int count, const char *expected,
                    Error *error)
{
    if (node->type != YAML_LIST) return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "%s", expected);
    if (count ? node->count == count : node->count > 0) return true;
    char found[40];
    snprintf(found, sizeof found, node->count ? "a list of %d" : "an empty list", node->count);
    error_set(error, ERROR_WRONG_KIND, found, "%s", expected);
    return yaml_place(reader, node, error);
}

bool yaml_need_mapping(const YamlReader *reader, const YamlNode *node, const char *expected, Error *error)
{
    if (node->type == YAML_MAPPING) return true;
    return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "%s: 'key: value' lines, or {key: value}",
                       expected);
}

/* A scalar with something in it. */
static bool need_scalar(const YamlReader *reader, const YamlNode *node, const char *expected, Error *error)
{
    if (node->type == YAML_SCALAR && node->text[0]) return true;
    return yaml_refuse(reader, node, node->type == YAML_SCALAR ? ERROR_MISSING : ERROR_WRONG_KIND, error,
                       "%s", expected);
}

/* An empty text is refused like a missing one: `says:` with nothing behind it is forgotten, not meant. */
bool yaml_read_text(const YamlReader *reader, const YamlNode *node, const char **text, Error *error)
{
    if (!need_scalar(reader, node, "text", error)) return false;
    *text = node->text;
    return true;
}

static bool is_name_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

/* Letters and digits with '-', '_' or `joint` between them. */
static bool is_name(const char *text, char joint)
{
    const size_t length = strlen(text);
    if (length > YAML_LONGEST_NAME) return false;
    bool was_letter = false;
    for (size_t i = 0; i < length; i++) {
        const char c = text[i];
        const bool is_letter = is_name_letter(c);
        if (!is_letter && !(was_letter && (c == '-' || c == '_' || c == joint))) return false;
        was_letter = is_letter;
    }
    return was_letter;
}

static const char name_expected[] = "a name: letters and digits, '-' or '_' between them, at most 63";

bool yaml_read_name(const YamlReader *reader, const YamlNode *node, const char **name, Error *error)
{
    if (!need_scalar(reader, node, name_expected, error)) return false;
    if (!is_name(node->text, '.'))
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "%s", name_expected);
    *name = node->text;
    return true;
}

/* The name that stands before the colon. No '.' there, since it joins two names. */
bool yaml_read_key(const YamlReader *reader, const YamlNode *node, const char **name, Error *error)
{
    const YamlNode key = yaml_key(node);
    if (!is_name(node->key, '-'))
        return yaml_refuse(reader, &key, ERROR_WRONG_KIND, error, "%s", name_expected);
    *name = node->key;
    return true;
}

/* Words are told apart by every letter: `Off` is no word. */
bool yaml_read_word(const YamlReader *reader, const YamlNode *node, const char *const *words, int *word,
                    Error *error)
{
    if (node->type != YAML_SCALAR) return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "a word");
    int count = 0;
    for (; words[count]; count++) {
        if (strcmp(words[count], node->text) != 0) continue;
        *word = count;
        return true;
    }
    return yaml_refuse_word(reader, node, words, count, error);
}

/* Only these two: YAML's on, off, true, y and so on would each need a reader who knows them. */
bool yaml_read_yes(const YamlReader *reader, const YamlNode *node, bool *yes, Error *error)
{
    static const char *const words[] = {"no", "yes", NULL};
    int word = 0;
    if (!yaml_read_word(reader, node, words, &word, error)) return false;
    *yes = word == 1;
    return true;
}

/* The scalar as one that holds a quantity; the error of an empty one says how they are written. */
static bool need_quantity(const YamlReader *reader, const YamlNode *node, Unit unit, Error *error)
{
    char expected[120];
    snprintf(expected, sizeof expected, "%s, like %s", quantity_unit_says(unit), quantity_unit_example(unit));
    return need_scalar(reader, node, expected, error);
}

/* A limit as a file would write it; a plain 0 needs neither decimals nor a unit. */
static void write_limit(double limit, Unit unit, char *out, size_t size)
{
    if (limit == 0)
        snprintf(out, size, "0");
    else
        quantity_format(limit, unit, out, size);
}

/* Limits are for mistakes of typing: no oven's element has 1 MW. */
static bool check_limits(const YamlReader *reader, const YamlNode *node, Unit unit, double least, double most,
                         double value, Error *error)
{
    if ((least == 0 && most == 0) || (value >= least && value <= most)) return true;
    char low[40], high[40];
    write_limit(least, unit, low, sizeof low);
    write_limit(most, unit, high, sizeof high);
    return yaml_refuse(reader, node, ERROR_OUT_OF_RANGE, error, "from %s to %s", low, high);
}

/* What is wrong with a quantity, base/quantity says; the place is added here. */
bool yaml_read_quantity(const YamlReader *reader, const YamlNode *node, Quantity *quantity, Error *error)
{
    if (!need_scalar(reader, node, "a quantity with its unit, like 238V or 19.2ohm", error)) return false;
    if (quantity_read(text_of(node->text), quantity, error)) return true;
    return yaml_place(reader, node, error);
}

bool yaml_read_number(const YamlReader *reader, const YamlNode *node, Unit unit, double least, double most,
                      double *value, Error *error)
{
    if (!need_quantity(reader, node, unit, error)) return false;
    if (!quantity_read_as(text_of(node->text), unit, value, error)) return yaml_place(reader, node, error);
    return check_limits(reader, node, unit, least, most, *value, error);
}

/* Chances are written either way, so both are read; any other unit is refused as one. */
bool yaml_read_share(const YamlReader *reader, const YamlNode *node, double least, double most, double *value,
                     Error *error)
{
    static const char expected[] = "a share, like 0.03 or 3%";
    if (!need_scalar(reader, node, expected, error)) return false;
    Quantity quantity;
    if (!quantity_read(text_of(node->text), &quantity, error)) return yaml_place(reader, node, error);
    if (quantity.is_over || (quantity.unit != UNIT_NONE && quantity.unit != UNIT_RATIO))
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "%s", expected);
    *value = quantity.value;
    return check_limits(reader, node, UNIT_NONE, least, most, *value, error);
}

/* No limits here: what a range must stay within depends on its neighbours, which the caller knows. */
bool yaml_read_range(const YamlReader *reader, const YamlNode *node, Unit unit, double *low, double *high,
                     Error *error)
{
    if (!need_quantity(reader, node, unit, error)) return false;
    if (quantity_read_range(text_of(node->text), unit, low, high, error)) return true;
    return yaml_place(reader, node, error);
}
