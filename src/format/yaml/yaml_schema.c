/* yaml_schema.c: from a mapping to a struct by the rows of a table.
 *
 * Lives here: walking the rows, unknown and missing keys, arrays of structs. Not here: the single types of
 * value (yaml_value.c), bytes (yaml_tree.c).
 * A row of type function gets the place in the struct like any other row, so that odd values read with the
 * same errors and in the same order as plain ones.
 *
 * Invariants: (1) a struct is good only when its reading has succeeded, until then nobody looks at it; (2)
 * rows are read in the order of the table, so a row may rely on those above it (a currency before prices, a
 * system before its legs); (3) an unknown key is an error everywhere, since a key that is ignored would be
 * believed to count.
 *
 * Bad at: saying everything that is wrong. The first error ends the reading; a file with five slips takes
 * five tries. */
#include "format/yaml/yaml_private.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static bool is_known_key(const YamlSchema *schema, const char *key)
{
    for (int i = 0; i < schema->field_count; i++)
        if (strcmp(schema->fields[i].key, key) == 0) return true;
    return false;
}

/* The list of keys in the message is the table itself, in its order. */
static bool refuse_key(const YamlReader *reader, const YamlNode *node, const YamlSchema *schema, Error *error)
{
    const char *keys[YAML_MOST_FIELDS];
    for (int i = 0; i < schema->field_count; i++) keys[i] = schema->fields[i].key;
    const YamlNode key = yaml_key(node);
    yaml_refuse_word(reader, &key, keys, schema->field_count, error);
    /* {says: cold, and slow}: half a text that stands there as a key without a value */
    const bool is_half_text = node->type == YAML_SCALAR && !node->text[0] && strchr(node->key, ' ');
    return is_half_text ? error_hint(error, "a text with a comma between braces needs quotes around it")
                        : false;
}

/* Unknown keys are looked for before anything is read: a missing key is often a misspelled one, and then the
 * spelling is the better thing to say. */
static bool check_keys(const YamlReader *reader, const YamlNode *mapping, const YamlSchema *schema,
                       Error *error)
{
    for (const YamlNode *child = mapping->first; child; child = child->next)
        if (!is_known_key(schema, child->key)) return refuse_key(reader, child, schema, error);
    return true;
}

/* The place of something that is not there is where its owner begins: its key, or its first line. */
static bool refuse_missing(const YamlReader *reader, const YamlNode *mapping, const YamlSchema *schema,
                           const YamlField *field, Error *error)
{
    char found[120];
    if (mapping->key) {
        char key[80];
        yaml__quote(mapping->key, key, sizeof key);
        snprintf(found, sizeof found, "%s has no '%s'", key, field->key);
    } else {
        snprintf(found, sizeof found, "%s without '%s'", schema->what, field->key);
    }
    error_set(error, ERROR_MISSING, found, "'%s' in %s", field->key, schema->what);
    if (mapping->key) return error_at(error, reader->file, mapping->key_line, mapping->key_column);
    return yaml_place(reader, mapping, error);
}

/* As many structs as the file has; the count is that of the children, so no array ever grows. */
static bool read_structs(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                         int *count, Error *error)
{
    void *structs;
    if (!yaml_read_structs(reader, node, field->schema, &structs, count, error)) return false;
    memcpy(into, &structs, sizeof structs); /* `into` is some `const Type **` */
    return true;
}

/* A list of names, each once. */
static bool read_names(const YamlReader *reader, const YamlNode *node, const char *const **into, int *count,
                       Error *error)
{
    if (!yaml_need_list(reader, node, 0, "a list of names, like [a, b]", error)) return false;
    const char **names = ARENA_ARRAY(reader->arena, const char *, (size_t)node->count);
    if (!names) return error_memory(error);
    *count = 0;
    for (const YamlNode *child = node->first; child; child = child->next) {
        if (!yaml_read_name(reader, child, &names[*count], error)) return false;
        for (int i = 0; i < *count; i++)
            if (strcmp(names[i], names[*count]) == 0)
                return yaml_refuse(reader, child, ERROR_INCONSISTENT, error, "each name once");
        (*count)++;
    }
    *into = names;
    return true;
}

/* A whole number, written as any other: 2 and 2.0 are the same. */
static bool read_count(const YamlReader *reader, const YamlField *field, const YamlNode *node, int *into,
                       Error *error)
{
    double value;
    if (!yaml_read_number(reader, node, UNIT_NONE, field->least, field->most, &value, error)) return false;
    if (value != (int)value) return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "a whole number");
    *into = (int)value;
    return true;
}

/* A word that is kept as text: one of the table's own strings, so it may be compared and kept freely. */
static bool read_choice(const YamlReader *reader, const YamlField *field, const YamlNode *node,
                        const char **into, Error *error)
{
    int word = 0;
    if (!yaml_read_word(reader, node, field->words, &word, error)) return false;
    *into = field->words[word];
    return true;
}

/* From the type of a row to the function that reads it. A count_offset of 0 points at the struct's start and
 * is not used by the types that count nothing. */
static bool read_field(const YamlReader *reader, const YamlField *field, const YamlNode *node, char *base,
                       Error *error)
{
    void *into = base + field->offset;
    int *count = (int *)(void *)(base + field->count_offset);
    switch (field->type) {
    case YAML_AS_TEXT: return yaml_read_text(reader, node, into, error);
    case YAML_AS_NAME: return yaml_read_name(reader, node, into, error);
    case YAML_AS_NAMES: return read_names(reader, node, into, count, error);
    case YAML_AS_YES: return yaml_read_yes(reader, node, into, error);
    case YAML_AS_WORD: return yaml_read_word(reader, node, field->words, into, error);
    case YAML_AS_CHOICE: return read_choice(reader, field, node, into, error);
    case YAML_AS_COUNT: return read_count(reader, field, node, into, error);
    case YAML_AS_NUMBER:
        return yaml_read_number(reader, node, field->unit, field->least, field->most, into, error);
    case YAML_AS_SHARE: return yaml_read_share(reader, node, field->least, field->most, into, error);
    case YAML_AS_STRUCT: return yaml_read_struct(reader, node, field->schema, into, error);
    case YAML_AS_STRUCTS: return read_structs(reader, field, node, into, count, error);
    case YAML_AS_NODE: *(const YamlNode **)into = node; return true;
    case YAML_AS_FUNCTION: return field->function(reader, field, node, into, error);
    }
    assert(!"a row of a type that does not exist");
    return error_set(error, ERROR_DEFECT, field->key, "a type of row");
}

/* Fields that the file does not name keep what the caller has put there: that is what a default is. */
bool yaml_read_struct(const YamlReader *reader, const YamlNode *node, const YamlSchema *schema, void *into,
                      Error *error)
{
    assert(schema->field_count <= YAML_MOST_FIELDS);
    if (!yaml_need_mapping(reader, node, schema->what, error)) return false;
    if (!check_keys(reader, node, schema, error)) return false;
    for (int i = 0; i < schema->field_count; i++) {
        const YamlField *field = &schema->fields[i];
        const YamlNode *child = yaml_child(node, field->key);
        if (child) {
            if (!read_field(reader, field, child, into, error)) return false;
        } else if (field->is_required) {
            return refuse_missing(reader, node, schema, field, error);
        }
    }
    if (schema->has_line)
        *(int *)(void *)((char *)into + schema->line_offset) = node->key ? node->key_line : node->line;
    return true;
}

/* Named structs stand in a mapping, whose keys the tree has found to be different; nameless ones in a list.
 */
bool yaml_read_structs(const YamlReader *reader, const YamlNode *node, const YamlSchema *schema,
                       void **structs, int *count, Error *error)
{
    *count = 0;
    if (schema->has_name) {
        if (!yaml_need_mapping(reader, node, "a mapping of names", error)) return false;
        if (!node->first)
            return yaml_refuse(reader, node, ERROR_MISSING, error, "%s, with its name as key", schema->what);
    } else if (!yaml_need_list(reader, node, 0, "a list", error)) {
        return false;
    }
    char *base = arena_take_array(reader->arena, (size_t)node->count, schema->size);
    if (!base) return error_memory(error);
    for (const YamlNode *child = node->first; child; child = child->next) {
        char *one = base + (size_t)*count * schema->size;
        if (schema->has_name &&
            !yaml_read_key(reader, child, (const char **)(void *)(one + schema->name_offset), error))
            return false;
        if (!yaml_read_struct(reader, child, schema, one, error)) return false;
        (*count)++;
    }
    assert(*count == node->count);
    *structs = base;
    return true;
}
