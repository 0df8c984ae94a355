/* appliance_yaml_private.h: what the files of format/appliance_yaml share. Not for other rooms. */
#ifndef FORMAT_APPLIANCE_YAML_PRIVATE_H
#define FORMAT_APPLIANCE_YAML_PRIVATE_H

#include "format/appliance_yaml/appliance_yaml.h"
#include "format/yaml/yaml.h"

#define ROWS(array) ((int)(sizeof(array) / sizeof(array)[0]))

/* Rows of one part; they read into a DescribedPart. */
extern const YamlSchema appliance_yaml__part;

/* `count` names out of a list of exactly that many, like [L1, K1]. */
bool appliance_yaml__read_marks(const YamlReader *reader, const YamlNode *node, int count, const char **marks,
                                Error *error) MUST_CHECK;

/* kinds.yaml into a catalogue that has its looks already. */
bool appliance_yaml__read_kinds(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue,
                                Error *error) MUST_CHECK;

/* words.yaml. */
bool appliance_yaml__read_words(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue,
                                Error *error) MUST_CHECK;

/* materials.yaml. */
bool appliance_yaml__read_materials(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue,
                                    Error *error) MUST_CHECK;

#endif
