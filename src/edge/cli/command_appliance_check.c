/* command_appliance_check.c: `ovenwright appliance check FILE`: is a description whole and its wiring sound?
 * What cannot be read or built is an error; what can be, but makes no sense, is a finding. Both end with 3.
 */
#include "core/thermal/thermal.h"

#include "edge/cli/load.h"
#include "format/call_json/call_json.h"

#include <stdio.h>

static void say_finding(const Words *words, const char *file, const Finding *finding, TextBuilder *out)
{
    char line[12];
    snprintf(line, sizeof line, "%d", finding->line);
    words_say(words, out, "appliance.finding",
              (WordValue[]){{"file", file}, {"line", line}, {"text", finding->text}}, 3);
    text_add(out, "\n");
    if (!finding->hint || !*finding->hint) return;
    words_say(words, out, "appliance.hint", (WordValue[]){{"hint", finding->hint}}, 1);
    text_add(out, "\n");
}

/* Thermal data that no oven can be made of is an error like a wire to nowhere; its own room finds it. */
static bool try_oven(const Appliance *appliance, Arena *arena, Error *error)
{
    Circuit circuit;
    ThermalModel oven;
    return circuit_begin(appliance, 22, arena, &circuit, error) && thermal_begin(&circuit, &oven, error);
}

/* Findings are the answer and go to standard output; the status tells a script that there are some. */
bool cli__appliance_check(Invocation *invocation, Error *error)
{
    const char *file = invocation->arguments[0];
    Appliance appliance;
    Words words;
    const Finding *findings = NULL;
    int count = 0;
    if (!desk_load_appliance(file, NULL, 0, invocation->arena, &appliance, error) ||
        !desk_load_words(cli__language(), invocation->arena, &words, error) ||
        !try_oven(&appliance, invocation->arena, error) ||
        !appliance_judge(&appliance, invocation->arena, &findings, &count, error))
        return false;
    invocation->exit_status = count ? error_exit_status(ERROR_INCONSISTENT) : 0;
    if (cli__has_option(invocation, OPTION_JSON))
        return call_json_findings(appliance.description->file, findings, count, &invocation->out, error);
    for (int i = 0; i < count; i++)
        say_finding(&words, appliance.description->file, &findings[i], &invocation->out);
    if (count) return true;
    words_say(&words, &invocation->out, "appliance.sound",
              (WordValue[]){{"file", appliance.description->file}}, 1);
    text_add(&invocation->out, "\n");
    return true;
}
