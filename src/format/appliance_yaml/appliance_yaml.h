/* appliance_yaml.h: the files that describe ovens, read into plain structs.
 *
 * Lives here: kinds.yaml, words.yaml and materials.yaml into a Catalogue, one appliance file into a
 * Description; the checks that need only these files. Not here: what the wiring means and whether names of
 * one part fit another's (core/appliance builds that), opening files. Units: SI after reading. Ownership:
 * everything read lives in the arena; the bytes may go afterwards. Errors carry file, line and column; the
 * names of the files serve only for that. */
#ifndef FORMAT_APPLIANCE_YAML_H
#define FORMAT_APPLIANCE_YAML_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "core/description/description.h"
#include "core/kind/kind.h"

/* What kinds of parts there are (data/parts/kinds.yaml), which words people use (data/parts/words.yaml), what
 * ovens are made of (data/parts/materials.yaml): names and bytes. */
typedef struct {
    const char *kinds_file, *words_file, *materials_file;
    Text kinds, words, materials;
} CatalogueFiles;

bool catalogue_yaml_read(const CatalogueFiles *files, Arena *arena, Catalogue *catalogue,
                         Error *error) MUST_CHECK;

/* One appliance (data/appliances/). Its `file` is a copy of the name given here. */
bool appliance_yaml_read(const char *file, Text bytes, Arena *arena, Description *description,
                         Error *error) MUST_CHECK;

#endif
