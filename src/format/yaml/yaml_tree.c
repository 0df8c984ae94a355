/* yaml_tree.c: from the events of the YAML library to a tree of nodes.
 *
 * Lives here: the only calls of libyaml in the program; places, limits and refusals. Not here: what a key
 * means (schema). The library is asked for one event at a time and the tree is built by recursion, which
 * the limit on depth bounds. Every event is deleted by the function that asked for it.
 * Finding a key twice costs the square of a mapping's size; YAML_MOST_KEYS bounds that.
 *
 * Policy: of YAML only what everybody reads alike. No anchors (a copy that one cannot see), no tags (a type
 * that one cannot see), no second document, no key twice; every scalar is text until a row asks for more,
 * so `no`, `1e3` and `240V` mean what the row says and nothing else. Libraries that guess types would read
 * `NO` as false and `1:30` as 90.
 *
 * Invariants: (1) a node's place is where its value begins, its key's place where the key begins; (2) the
 * tree holds at most YAML_MOST_NODES nodes, YAML_MOST_DEPTH deep; (3) nothing in it points into the bytes. */
#include "format/yaml/yaml_private.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>
#include <yaml.h>

typedef struct {
    yaml_parser_t parser;
    const char *file;
    Text bytes;
    Arena *arena;
    int nodes_left;
    Error *error;
} Builder;

/* libyaml counts from 0, people and editors from 1. */
static bool place_mark(const Builder *builder, yaml_mark_t mark)
{
    return error_at(builder->error, builder->file, (int)mark.line + 1, (int)mark.column + 1);
}

/* Is there a tab before the first letter of this line (from 0)? The library's own sentence about tabs
 * does not use the word. */
static bool starts_with_tab(Text bytes, size_t line)
{
    size_t at = 0;
    for (; line > 0 && at < bytes.length; at++) line -= bytes.bytes[at] == '\n';
    while (at < bytes.length && bytes.bytes[at] == ' ') at++;
    return at < bytes.length && bytes.bytes[at] == '\t';
}

/* The library's own sentence is passed on as what was found: it knows best what it stumbled over. What we
 * add is what a right file looks like. */
static bool refuse_syntax(const Builder *builder)
{
    const yaml_parser_t *parser = &builder->parser;
    if (parser->error == YAML_MEMORY_ERROR) return error_memory(builder->error);
    char found[200];
    const char *problem = parser->problem ? parser->problem : "something that is no YAML";
    if (parser->context)
        snprintf(found, sizeof found, "%s (%s that starts in line %d)", problem, parser->context,
                 (int)parser->context_mark.line + 1);
    else
        snprintf(found, sizeof found, "%s", problem);
    error_set(builder->error, ERROR_SYNTAX, found, "YAML: 'key: value' on each line, indented with spaces");
    if (starts_with_tab(builder->bytes, parser->problem_mark.line))
        error_hint(builder->error, "indent with spaces; there is a tab in this line");
    return place_mark(builder, parser->problem_mark);
}

/* An event that was got must be deleted; one that was not must not. */
static bool next_event(Builder *builder, yaml_event_t *event)
{
    if (yaml_parser_parse(&builder->parser, event)) return true;
    return refuse_syntax(builder);
}

static bool refuse_event(const Builder *builder, const yaml_event_t *event, const char *found,
                         const char *expected)
{
    error_set(builder->error, ERROR_SYNTAX, found, "%s", expected);
    return place_mark(builder, event->start_mark);
}

/* A limit is not a syntax error: the file may be good YAML, and the reader should not look for a slip. */
static bool refuse_limit(const Builder *builder, const yaml_event_t *event, const char *found, int most,
                         const char *things)
{
    error_set(builder->error, ERROR_TOO_LARGE, found, "at most %d %s", most, things);
    return place_mark(builder, event->start_mark);
}

/* Anchors and tags of the three events that can carry them. */
static bool refuse_extras(const Builder *builder, const yaml_event_t *event)
{
    const bool is_scalar = event->type == YAML_SCALAR_EVENT,
               is_list = event->type == YAML_SEQUENCE_START_EVENT;
    const yaml_char_t *anchor = is_scalar ? event->data.scalar.anchor
                                : is_list ? event->data.sequence_start.anchor
                                          : event->data.mapping_start.anchor;
    const yaml_char_t *tag = is_scalar ? event->data.scalar.tag
                             : is_list ? event->data.sequence_start.tag
                                       : event->data.mapping_start.tag;
    if (anchor) return refuse_event(builder, event, "an anchor (&)", "plain values, written out each time");
    if (tag) return refuse_event(builder, event, "a tag (!)", "plain values without tags");
    return true;
}

/* The letters of a scalar. Escapes in quotes can make characters that no file may hold as such. */
static const char *take_text(const Builder *builder, const yaml_event_t *event)
{
    const char *letters = (const char *)event->data.scalar.value;
    const size_t length = event->data.scalar.length;
    if (length > YAML_LONGEST_TEXT) {
        refuse_limit(builder, event, "a longer text", YAML_LONGEST_TEXT, "bytes");
        return NULL;
    }
    /* The inner error's place would count from the start of this scalar, so it is dropped for the event's
     * own. */
    Error inner = {0};
    if (!yaml__check_bytes(NULL, (Text){letters, length}, &inner)) {
        refuse_event(builder, event, "an escaped control character", "text without control characters");
        return NULL;
    }
    const char *text = arena_copy_text(builder->arena, letters, length);
    if (!text) error_memory(builder->error);
    return text;
}

static YamlNode *build_node(Builder *builder, const yaml_event_t *event, int depth);

/* Appends to the parent's list; `last` is where it ends. A child that could not be built ends the list. */
static bool add_child(YamlNode *parent, YamlNode **last, YamlNode *child)
{
    if (!child) return false;
    if (*last)
        (*last)->next = child;
    else
        parent->first = child;
    *last = child;
    parent->count++;
    return true;
}

/* Children until the end event. The event of a child is deleted once the child is whole. */
static bool build_list(Builder *builder, YamlNode *list, int depth)
{
    YamlNode *last = NULL;
    for (;;) {
        yaml_event_t event;
        if (!next_event(builder, &event)) return false;
        const bool is_end = event.type == YAML_SEQUENCE_END_EVENT;
        const bool is_added = is_end || add_child(list, &last, build_node(builder, &event, depth));
        yaml_event_delete(&event);
        if (is_end || !is_added) return is_added;
    }
}

/* Placed at the second one, with the line of the first: either may be the slip. */
static bool refuse_second(const Builder *builder, const yaml_event_t *event, const YamlNode *first)
{
    char found[80];
    yaml__quote(first->key, found, sizeof found);
    error_set(builder->error, ERROR_INCONSISTENT, found, "each key once; it stands in line %d already",
              first->key_line);
    return place_mark(builder, event->start_mark);
}

/* The key of the next child of `mapping`, as text in the arena; NULL when it may not be one. */
static const char *take_key(const Builder *builder, const yaml_event_t *event, const YamlNode *mapping)
{
    static const char expected[] = "a word as key, then a colon";
    if (event->type == YAML_ALIAS_EVENT || event->type != YAML_SCALAR_EVENT) {
        refuse_event(builder, event, "a key that is no word", expected);
        return NULL;
    }
    if (!refuse_extras(builder, event)) return NULL;
    if (mapping->count >= YAML_MOST_KEYS) {
        refuse_limit(builder, event, "more keys in one mapping", YAML_MOST_KEYS, "keys");
        return NULL;
    }
    const char *key = take_text(builder, event);
    if (!key) return NULL;
    const YamlNode *first = yaml_child(mapping, key);
    if (!key[0] || first) {
        if (first)
            refuse_second(builder, event, first);
        else
            refuse_event(builder, event, "an empty key", expected);
        return NULL;
    }
    return key;
}

/* One key and its value; `event` is the key's. */
static YamlNode *build_pair(Builder *builder, const yaml_event_t *event, const YamlNode *mapping, int depth)
{
    const char *key = take_key(builder, event, mapping);
    yaml_event_t value;
    if (!key || !next_event(builder, &value)) return NULL;
    YamlNode *child = build_node(builder, &value, depth);
    yaml_event_delete(&value);
    if (!child) return NULL;
    child->key = key;
    child->key_line = (int)event->start_mark.line + 1;
    child->key_column = (int)event->start_mark.column + 1;
    return child;
}

/* As a list, but each child takes two events, its key's and its value's. */
static bool build_mapping(Builder *builder, YamlNode *mapping, int depth)
{
    YamlNode *last = NULL;
    for (;;) {
        yaml_event_t event;
        if (!next_event(builder, &event)) return false;
        const bool is_end = event.type == YAML_MAPPING_END_EVENT;
        const bool is_added =
            is_end || add_child(mapping, &last, build_pair(builder, &event, mapping, depth));
        yaml_event_delete(&event);
        if (is_end || !is_added) return is_added;
    }
}

/* Both limits are looked at before anything is taken, so hostile bytes cost no more than honest ones. */
static YamlNode *new_node(Builder *builder, const yaml_event_t *event, int depth)
{
    if (depth > YAML_MOST_DEPTH) {
        refuse_limit(builder, event, "more lists and mappings inside one another", YAML_MOST_DEPTH, "levels");
        return NULL;
    }
    if (builder->nodes_left-- <= 0) {
        refuse_limit(builder, event, "more values in the file", YAML_MOST_NODES, "values");
        return NULL;
    }
    YamlNode *node = arena_take(builder->arena, sizeof *node);
    if (!node) {
        error_memory(builder->error);
        return NULL;
    }
    node->line = (int)event->start_mark.line + 1;
    node->column = (int)event->start_mark.column + 1;
    return node;
}

/* The node that begins with `event`, whole; NULL with the error set. */
static YamlNode *build_node(Builder *builder, const yaml_event_t *event, int depth)
{
    if (event->type == YAML_ALIAS_EVENT) {
        refuse_event(builder, event, "an alias (*)", "plain values, written out each time");
        return NULL;
    }
    assert(event->type == YAML_SCALAR_EVENT || event->type == YAML_SEQUENCE_START_EVENT ||
           event->type == YAML_MAPPING_START_EVENT);
    if (!refuse_extras(builder, event)) return NULL;
    YamlNode *node = new_node(builder, event, depth);
    if (!node) return NULL;
    if (event->type == YAML_SCALAR_EVENT) {
        node->type = YAML_SCALAR;
        node->text = take_text(builder, event);
        return node->text ? node : NULL;
    }
    node->type = event->type == YAML_SEQUENCE_START_EVENT ? YAML_LIST : YAML_MAPPING;
    const bool is_built = node->type == YAML_LIST ? build_list(builder, node, depth + 1)
                                                  : build_mapping(builder, node, depth + 1);
    return is_built ? node : NULL;
}

/* Stream and document events around the root: what may come is the same each time, so one loop. */
static bool build_document(Builder *builder, const YamlNode **root)
{
    *root = NULL;
    for (bool is_end = false; !is_end;) {
        yaml_event_t event;
        if (!next_event(builder, &event)) return false;
        bool is_good = true;
        if (event.type == YAML_STREAM_END_EVENT) {
            is_end = true;
        } else if (event.type == YAML_DOCUMENT_START_EVENT) {
            if (*root) is_good = refuse_event(builder, &event, "a second document (---)", "one in a file");
        } else if (event.type != YAML_STREAM_START_EVENT && event.type != YAML_DOCUMENT_END_EVENT) {
            *root = build_node(builder, &event, 1);
            is_good = *root != NULL;
        }
        yaml_event_delete(&event);
        if (!is_good) return false;
    }
    if (*root) return true;
    error_set(builder->error, ERROR_MISSING, "an empty file", "'key: value' lines");
    return error_at(builder->error, builder->file, 1, 1);
}

/* Some editors write one in front of UTF-8; it says nothing. */
static Text without_byte_order_mark(Text bytes)
{
    if (bytes.length < 3 || memcmp(bytes.bytes, "\xEF\xBB\xBF", 3) != 0) return bytes;
    return (Text){bytes.bytes + 3, bytes.length - 3};
}

bool yaml_read_tree(const char *file, Text bytes, Arena *arena, const YamlNode **root, Error *error)
{
    bytes = without_byte_order_mark(bytes);
    if (!yaml__check_bytes(file, bytes, error)) return false;
    Builder builder = {
        .file = file, .bytes = bytes, .arena = arena, .nodes_left = YAML_MOST_NODES, .error = error};
    if (!yaml_parser_initialize(&builder.parser)) return error_memory(error);
    /* Said, not guessed: the bytes have been found to be UTF-8. */
    yaml_parser_set_encoding(&builder.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&builder.parser, (const unsigned char *)bytes.bytes, bytes.length);
    const bool is_read = build_document(&builder, root);
    yaml_parser_delete(&builder.parser);
    return is_read;
}

/* From the front: mappings are short, and the order of the file is kept for messages. */
const YamlNode *yaml_child(const YamlNode *mapping, const char *key)
{
    assert(mapping->type == YAML_MAPPING);
    for (const YamlNode *child = mapping->first; child; child = child->next)
        if (strcmp(child->key, key) == 0) return child;
    return NULL;
}

YamlNode yaml_key(const YamlNode *child)
{
    assert(child->key);
    return (YamlNode){
        .type = YAML_SCALAR, .text = child->key, .line = child->key_line, .column = child->key_column};
}
