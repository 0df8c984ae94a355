/* command_appliance_list.c: `ovenwright appliance list`: the appliances inside the program. */
#include "edge/cli/load.h"
#include "edge/files/files.h"
#include "format/appliance_yaml/appliance_yaml.h"
#include "format/call_json/call_json.h"

/* Only what the files say of themselves: nothing is built, so a list costs reading and no more. */
bool cli__appliance_list(Invocation *invocation, Error *error)
{
    size_t count = 0;
    const FilesAsset *assets = files_list_assets("appliances/", &count);
    Description *descriptions = ARENA_ARRAY(invocation->arena, Description, count);
    Words words;
    if (!descriptions) return error_memory(error);
    if (!desk_load_words(cli__language(), invocation->arena, &words, error)) return false;
    for (size_t i = 0; i < count; i++)
        if (!appliance_yaml_read(assets[i].name, (Text){assets[i].bytes, assets[i].length}, invocation->arena,
                                 &descriptions[i], error))
            return false;
    if (cli__has_option(invocation, OPTION_JSON))
        return call_json_appliances(&words, descriptions, (int)count, &invocation->out, error);
    for (size_t i = 0; i < count; i++)
        text_addf(&invocation->out, "%-22s%s\n", descriptions[i].name,
                  words_translate(&words, descriptions[i].says));
    return true;
}
