/* call_file.c: see call_file.h.
 *
 * Bad at: comments of a file; they are the writer's notes to himself and do not travel. */
#include "format/call_file/call_file.h"

#include <jansson.h>
#include <string.h>

#include "format/yaml/yaml.h"

static const size_t writing = JSON_COMPACT | JSON_PRESERVE_ORDER;

static int add_piece(const char *bytes, size_t length, void *builder)
{
    text_add_bytes(builder, bytes, length);
    return 0;
}

/* ---- in */

/* NULL when memory is out, or a letter is none of UTF-8. */
static json_t *json_of(const YamlNode *node)
{
    if (node->type == YAML_SCALAR) return json_string(node->text);
    json_t *made = node->type == YAML_LIST ? json_array() : json_object();
    for (const YamlNode *child = node->first; child && made; child = child->next) {
        json_t *item = json_of(child);
        const int failed = !item                     ? 1
                           : node->type == YAML_LIST ? json_array_append_new(made, item)
                                                     : json_object_set_new(made, child->key, item);
        if (failed) {
            json_decref(made);
            return NULL;
        }
    }
    return made;
}

static const char *write_json(json_t *object, Arena *arena)
{
    TextBuilder out = text_builder(arena, YAML_MOST_BYTES);
    const bool went_well = object && json_dump_callback(object, add_piece, &out, writing) == 0 && !out.is_cut;
    return went_well ? text_string(&out) : NULL;
}

static bool make_piece(const char *file, const YamlNode *node, const char *without, Arena *arena,
                       CallFilePiece *piece, Error *error)
{
    if (node->type != YAML_MAPPING || !node->first) {
        error_set(error, ERROR_WRONG_KIND, node->text ? node->text : "a list",
                  "an entry like {look: bake-element, sees: dark}");
        return error_at(error, file, node->line, node->column);
    }
    const YamlNode *log = yaml_child(node, "run");
    json_t *object = json_of(node);
    if (object && without) json_object_del(object, without);
    *piece = (CallFilePiece){.content = write_json(object, arena),
                             .subject = node->first->key,
                             .log = log && log->type == YAML_SCALAR ? log->text : NULL};
    json_decref(object);
    return piece->content ? true : error_memory(error);
}

bool call_file_read(const char *file, Text bytes, Arena *arena, CallFilePiece *head,
                    const CallFilePiece **entries, int *count, Error *error)
{
    const YamlNode *root;
    if (!yaml_read_tree(file, bytes, arena, &root, error) ||
        !make_piece(file, root, "entries", arena, head, error))
        return false;
    head->subject = "call";
    const YamlNode *list = yaml_child(root, "entries");
    CallFilePiece *made = ARENA_ARRAY(arena, CallFilePiece, list ? (size_t)list->count : 0);
    if (!made) return error_memory(error);
    *count = 0;
    for (const YamlNode *entry = list ? list->first : NULL; entry; entry = entry->next)
        if (!make_piece(file, entry, NULL, arena, &made[(*count)++], error)) return false;
    *entries = made;
    return true;
}

bool call_file_name_appliance(const char *head, const char *name, Arena *arena, const char **content,
                              Error *error)
{
    json_t *object = json_loads(head, 0, NULL);
    const bool went_well = object && json_object_set_new(object, "appliance", json_string(name)) == 0;
    *content = went_well ? write_json(object, arena) : NULL;
    json_decref(object);
    return *content ? true : error_memory(error);
}

bool call_file_read_entry(const char *file, Text bytes, Arena *arena, CallFilePiece *entry, Error *error)
{
    const YamlNode *root;
    return yaml_read_tree(file, bytes, arena, &root, error) &&
           make_piece(file, root, NULL, arena, entry, error);
}

/* ---- out */

bool call_file_write_reason(const CallFileReason *reason, Arena *arena, const char **content, Error *error)
{
    json_t *object = json_object(), *confirmed = json_array();
    int failed = !object || !confirmed;
    for (int c = 0; c < reason->confirmed_count; c++)
        failed |= json_array_append_new(confirmed, json_string(reason->confirmed[c])) != 0;
    if (reason->confirmed_count > 0) failed |= json_object_set(object, "confirmed", confirmed) != 0;
    if (reason->minutes) failed |= json_object_set_new(object, "minutes", json_string(reason->minutes)) != 0;
    if (reason->visits) failed |= json_object_set_new(object, "visits", json_string(reason->visits)) != 0;
    if (reason->said_fault)
        failed |= json_object_set_new(object, "said",
                                      json_pack("{s:s, s:s}", "fault", reason->said_fault, "probability",
                                                reason->said_probability)) != 0;
    if (reason->why) failed |= json_object_set_new(object, "why", json_string(reason->why)) != 0;
    *content = failed ? NULL : write_json(object, arena);
    json_decref(confirmed);
    json_decref(object);
    return *content ? true
                    : error_set(error, ERROR_SYNTAX, "a reason with letters of no alphabet", "text in UTF-8");
}

/* The content of the opening, with every later change that holds put over it. */
static json_t *find_head(const Trail *trail, const TrailState *state, int count)
{
    json_t *head = json_object();
    for (int r = 0; r < count && head; r++) {
        const TrailRecord *record = trail->records[r];
        if (state->is_struck[r] || (record->kind != TRAIL_OPENED && record->kind != TRAIL_CHANGED)) continue;
        json_t *content = json_loads(record->payload, JSON_REJECT_DUPLICATES, NULL);
        if (content) json_object_update(head, content);
        json_decref(content);
    }
    return head;
}

static bool write_head(json_t *head, TextBuilder *out)
{
    const char *key;
    json_t *value;
    bool went_well = true;
    json_object_foreach(head, key, value)
    {
        text_add(out, key);
        text_add(out, ": ");
        went_well = went_well && json_dump_callback(value, add_piece, out, writing | JSON_ENCODE_ANY) == 0;
        text_add(out, "\n");
    }
    return went_well;
}

bool call_file_write(const Trail *trail, const TrailState *state, int count, TextBuilder *out,
                     int *entry_records, int *entry_count, Error *error)
{
    *entry_count = 0;
    if (state->opened < 0)
        return error_set(error, ERROR_INCONSISTENT, "a call that was never opened", "its head");
    json_t *head = find_head(trail, state, count);
    const bool went_well = head && write_head(head, out);
    json_decref(head);
    for (int r = 0; r < count; r++) {
        if (state->is_struck[r] || trail->records[r]->kind != TRAIL_ENTRY) continue;
        text_add(out, *entry_count ? "  - " : "entries:\n  - ");
        text_add(out, trail->records[r]->payload);
        text_add(out, "\n");
        entry_records[(*entry_count)++] = r;
    }
    return went_well && !out->is_cut ? true : error_memory(error);
}
