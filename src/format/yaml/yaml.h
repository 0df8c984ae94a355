/* yaml.h: from the bytes of a file to a small tree, from the tree to structs by table.
 *
 * Lives here: the document tree with a place for each key and value, its limits, and the schema reader: a
 * row says which key goes where in a struct and what its value may be, so that unknown keys, missing keys,
 * wrong kinds and wrong units are refused in one way for every file. Not here: what any key means (the
 * rooms that own the tables), how a quantity is written (base/quantity).
 * Units: SI after reading. Ownership: trees, texts and arrays live in the arena; nothing points into the
 * bytes. What YAML offers beyond plain data (anchors, tags, several documents) is refused. */
#ifndef FORMAT_YAML_H
#define FORMAT_YAML_H

#include "base/arena.h"
#include "base/error.h"
#include "base/quantity.h"
#include "base/text.h"

enum {
    YAML_MOST_BYTES = 1 << 20,
    YAML_MOST_DEPTH = 32, /* lists and mappings inside one another */
    YAML_MOST_NODES = 20000,
    YAML_MOST_KEYS = 2000, /* in one mapping */
    YAML_LONGEST_NAME = 63,
    YAML_LONGEST_TEXT = 4000
};

typedef enum { YAML_SCALAR, YAML_LIST, YAML_MAPPING } YamlType;

typedef struct YamlNode YamlNode;
struct YamlNode {
    YamlType type;
    int line, column; /* of the value, from 1; columns count letters */
    const char *text; /* scalar: its letters, "" when nothing is written; else NULL */
    const char *key;  /* inside a mapping; else NULL */
    int key_line, key_column;
    const YamlNode *first, *next; /* list, mapping: first child; the one behind this one */
    int count;                    /* of children */
};

/* The tree of one document. Errors carry file, line and column; `file` is only for them. */
bool yaml_read_tree(const char *file, Text bytes, Arena *arena, const YamlNode **root,
                    Error *error) MUST_CHECK;

const YamlNode *yaml_child(const YamlNode *mapping, const char *key); /* NULL when there is none */

YamlNode yaml_key(const YamlNode *child); /* its key as a scalar with a place, to be read like a value */

/* What all readers of one file share. */
typedef struct {
    const char *file;
    Arena *arena;
    const void *context; /* of the room that owns the schema: what a function of a row needs to know */
} YamlReader;

typedef struct YamlField YamlField;
typedef struct YamlSchema YamlSchema;

/* Reads `node` into the field's place in a struct. */
typedef bool YamlFunction(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                          Error *error);

typedef enum {
    YAML_AS_TEXT,     /* const char *: any text */
    YAML_AS_NAME,     /* const char *: letters, digits, '-', '_', and '.' between them */
    YAML_AS_NAMES,    /* const char *const *, counted: a list of names */
    YAML_AS_YES,      /* bool: yes or no */
    YAML_AS_WORD,     /* an enum: number of the word among `words` */
    YAML_AS_CHOICE,   /* const char *: one of `words` */
    YAML_AS_COUNT,    /* int: a whole number from `least` to `most` */
    YAML_AS_NUMBER,   /* double: a quantity of `unit`, from `least` to `most` */
    YAML_AS_SHARE,    /* double: 0.03 or 3%, from `least` to `most` */
    YAML_AS_STRUCT,   /* the struct itself: a mapping after `schema` */
    YAML_AS_STRUCTS,  /* a pointer to structs, counted: one for each entry of a mapping or of a list */
    YAML_AS_NODE,     /* const YamlNode *: to be read later */
    YAML_AS_FUNCTION, /* whatever `function` makes of it */
} YamlFieldType;

/* One row: a key and where its value goes. Offsets are bytes from the start of the struct. */
struct YamlField {
    const char *key;
    YamlFieldType type;
    bool is_required;
    size_t offset;
    size_t count_offset;      /* of the int that counts names or structs */
    const char *const *words; /* up to a NULL */
    Unit unit;
    double least, most; /* SI; both 0: no limit */
    const YamlSchema *schema;
    YamlFunction *function;
};

enum { YAML_MOST_FIELDS = 40 };

/* A mapping: its rows are read in their order, whatever the order in the file. */
struct YamlSchema {
    const char *what; /* 'a part', for messages */
    size_t size;      /* of the struct */
    const YamlField *fields;
    int field_count;
    bool has_name, has_line;
    size_t name_offset; /* const char *: the key of each struct, when they stand in a mapping */
    size_t line_offset; /* int: the line where it stands */
};

/* Rows into a struct that the caller has set to its defaults. */
bool yaml_read_struct(const YamlReader *reader, const YamlNode *node, const YamlSchema *schema, void *into,
                      Error *error) MUST_CHECK;

/* The same for each child: `count` structs in the arena, zeroed where the file says nothing. */
bool yaml_read_structs(const YamlReader *reader, const YamlNode *node, const YamlSchema *schema,
                       void **structs, int *count, Error *error) MUST_CHECK;

/* The single types, for the functions of rows. */
bool yaml_read_text(const YamlReader *reader, const YamlNode *node, const char **text,
                    Error *error) MUST_CHECK;
bool yaml_read_name(const YamlReader *reader, const YamlNode *node, const char **name,
                    Error *error) MUST_CHECK;
bool yaml_read_key(const YamlReader *reader, const YamlNode *node, const char **name,
                   Error *error) MUST_CHECK;
bool yaml_read_yes(const YamlReader *reader, const YamlNode *node, bool *yes, Error *error) MUST_CHECK;
bool yaml_read_word(const YamlReader *reader, const YamlNode *node, const char *const *words, int *word,
                    Error *error) MUST_CHECK;
bool yaml_read_quantity(const YamlReader *reader, const YamlNode *node, Quantity *quantity,
                        Error *error) MUST_CHECK; /* of any unit */
bool yaml_read_share(const YamlReader *reader, const YamlNode *node, double least, double most, double *value,
                     Error *error) MUST_CHECK; /* 0.03 or 3%; limits as below */
bool yaml_read_number(const YamlReader *reader, const YamlNode *node, Unit unit, double least, double most,
                      double *value, Error *error) MUST_CHECK; /* limits as in a row */

bool yaml_read_range(const YamlReader *reader, const YamlNode *node, Unit unit, double *low, double *high,
                     Error *error) MUST_CHECK; /* `0s..51s` */

/* Is it a list of exactly `count` (0: one or more), a mapping? The error names `expected`. */
bool yaml_need_list(const YamlReader *reader, const YamlNode *node, int count, const char *expected,
                    Error *error) MUST_CHECK;
bool yaml_need_mapping(const YamlReader *reader, const YamlNode *node, const char *expected,
                       Error *error) MUST_CHECK;

/* Refusals, always false: a value that does not fit; a word that is none of `known`; an error that was
 * made elsewhere and lacks its place. `expected` is a printf format. */
bool yaml_refuse(const YamlReader *reader, const YamlNode *node, ErrorCode code, Error *error,
                 const char *expected, ...) PRINTF_LIKE(5, 6);
bool yaml_refuse_word(const YamlReader *reader, const YamlNode *node, const char *const *known, int count,
                      Error *error);
bool yaml_place(const YamlReader *reader, const YamlNode *node, Error *error);

#endif
