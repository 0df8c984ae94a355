/* call_yaml_private.h: what the files of format/call_yaml share. Not for other rooms. */
#ifndef FORMAT_CALL_YAML_PRIVATE_H
#define FORMAT_CALL_YAML_PRIVATE_H

#include "format/call_yaml/call_yaml.h"
#include "format/yaml/yaml.h"

#define ROWS(array) ((int)(sizeof(array) / sizeof(array)[0]))

/* The list of entries; the reader's context is the appliance. */
bool call_yaml__read_entries(const YamlReader *reader, const YamlNode *node, Call *call,
                             Error *error) MUST_CHECK;

#endif
