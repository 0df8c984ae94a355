/* handle_appliance.c: appliances, their wiring, and descriptions that somebody is writing. */
#include "edge/serve/serve_private.h"

#include <stdio.h>
#include <string.h>

#include "edge/desk/desk.h"
#include "edge/files/files.h"
#include "format/appliance_yaml/appliance_yaml.h"
#include "format/call_json/call_json.h"
#include "format/drawing/drawing.h"

enum { ANSWER_LIMIT = 4 << 20 };

static void answer(ServeRequest *request, bool went_well, const TextBuilder *out, const Error *error)
{
    if (went_well)
        serve__answer_json(request, 200, out);
    else
        serve__answer_error(request, error);
}

void serve__appliance_list(ServeRequest *request)
{
    size_t count = 0;
    const FilesAsset *assets = files_list_assets("appliances/", &count);
    Description *descriptions = ARENA_ARRAY(&request->arena, Description, count);
    Words words;
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    bool went_well = (descriptions || error_memory(&error)) && serve__load_words(request, &words, &error);
    for (size_t a = 0; a < count && went_well; a++)
        went_well = appliance_yaml_read(assets[a].name, (Text){assets[a].bytes, assets[a].length},
                                        &request->arena, &descriptions[a], &error);
    went_well = went_well && call_json_appliances(&words, descriptions, (int)count, &out, &error);
    answer(request, went_well, &out, &error);
}

/* Only those inside the program: a path would read this machine's files for whoever asks. */
static bool load(ServeRequest *request, Appliance *appliance)
{
    Error error = {.code = ERROR_NONE};
    if (!desk_is_shipped(request->parameter)) {
        serve__refuse(request, 404, request->parameter, "an appliance that /api/appliances lists");
        return false;
    }
    if (desk_load_appliance(request->parameter, NULL, 0, &request->arena, appliance, &error)) return true;
    serve__answer_error(request, &error);
    return false;
}

static bool write_appliance(ServeRequest *request, const Appliance *appliance, TextBuilder *out, Error *error)
{
    Words words;
    const double *amperes = desk_supplied_amperes(appliance, &request->arena);
    return (amperes || error_memory(error)) && serve__load_words(request, &words, error) &&
           call_json_appliance(&words, appliance, amperes, out, error);
}

static void answer_appliance(ServeRequest *request, const Appliance *appliance)
{
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    answer(request, write_appliance(request, appliance, &out, &error), &out, &error);
}

void serve__appliance_show(ServeRequest *request)
{
    Appliance appliance;
    if (load(request, &appliance)) answer_appliance(request, &appliance);
}

/* To begin a description of one's own with. */
void serve__appliance_file(ServeRequest *request)
{
    const char *file;
    Error error = {.code = ERROR_NONE};
    if (!desk_is_shipped(request->parameter))
        serve__refuse(request, 404, request->parameter, "an appliance that /api/appliances lists");
    else if (!desk_appliance_bytes(request->parameter, &request->arena, &file, &request->answer, &error))
        serve__answer_error(request, &error);
    else
        request->status = 200;
    if (request->status == 200) request->type = "text/plain; charset=utf-8";
}

static bool find_captions(ServeRequest *request, DrawingCaptions *captions, Error *error)
{
    Words words;
    if (!serve__load_words(request, &words, error)) return false;
    for (int c = 0; c < CAPTION_COUNT; c++) {
        char key[64];
        TextBuilder text = text_builder(&request->arena, 2000);
        snprintf(key, sizeof key, "drawing.%s", drawing_caption_key((Caption)c));
        words_say(&words, &text, key, NULL, 0);
        captions->text[c] = text_string(&text);
    }
    return true;
}

typedef struct {
    const Appliance *appliance;
    bool *is_probed;
    Error *error;
    bool is_known;
} Probes;

static enum MHD_Result take_probe(void *context, enum MHD_ValueKind kind, const char *key, const char *value)
{
    Probes *probes = context;
    int mark;
    (void)kind;
    if (strcmp(key, "probe") != 0 || !value || !probes->is_known) return MHD_YES;
    probes->is_known = appliance_need_mark(probes->appliance, value, &mark, probes->error);
    if (probes->is_known) probes->is_probed[mark] = true;
    return MHD_YES;
}

static bool read_probes(ServeRequest *request, const Appliance *appliance, const bool **is_probed,
                        Error *error)
{
    Probes probes = {appliance, ARENA_ARRAY(&request->arena, bool, (size_t)appliance->mark_count), error,
                     true};
    if (!probes.is_probed) return error_memory(error);
    MHD_get_connection_values(request->connection, MHD_GET_ARGUMENT_KIND, take_probe, &probes);
    *is_probed = probes.is_probed;
    return probes.is_known;
}

static bool draw(ServeRequest *request, const Appliance *appliance, TextBuilder *out, Error *error)
{
    DrawingCaptions captions;
    int function = -1;
    const char *typed = serve__query(request, "function");
    const bool *is_probed = NULL;
    return (!typed || appliance_need_function(appliance, typed, &function, error)) &&
           read_probes(request, appliance, &is_probed, error) && find_captions(request, &captions, error) &&
           drawing_svg_probed(appliance, function, is_probed, &captions, &request->arena, out, error);
}

static void answer_drawing(ServeRequest *request, const Appliance *appliance)
{
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    answer(request, draw(request, appliance, &out, &error), &out, &error);
    if (request->status == 200) request->type = "image/svg+xml";
}

void serve__appliance_draw(ServeRequest *request)
{
    Appliance appliance;
    if (load(request, &appliance)) answer_drawing(request, &appliance);
}

/* ---- the appliance of a call, as its plate has it */

static bool load_of_call(ServeRequest *request, Appliance *appliance)
{
    DeskCall found;
    DeskSource source;
    Call call;
    Error error = {.code = ERROR_NONE};
    Arena *arena = &request->arena;
    if (desk_find_call(request->server->store, request->parameter, arena, &found, &error) &&
        desk_source(request->server->store, &found, NULL, arena, &source, &error) &&
        serve__may_load(&source, arena, &error) && desk_read_call(&source, arena, appliance, &call, &error))
        return true;
    serve__fail(request, &error);
    return false;
}

void serve__call_appliance(ServeRequest *request)
{
    Appliance appliance;
    if (load_of_call(request, &appliance)) answer_appliance(request, &appliance);
}

void serve__call_draw(ServeRequest *request)
{
    Appliance appliance;
    if (load_of_call(request, &appliance)) answer_drawing(request, &appliance);
}

/* ---- a description that somebody is writing */

static bool build(ServeRequest *request, Appliance *appliance, Error *error)
{
    const Text bytes = {text_string(&request->body), request->body.length};
    return desk_build_appliance("the description", bytes, &request->arena, appliance, error);
}

void serve__description_show(ServeRequest *request)
{
    Appliance appliance;
    Error error = {.code = ERROR_NONE};
    if (build(request, &appliance, &error))
        answer_appliance(request, &appliance);
    else
        serve__answer_error(request, &error);
}

void serve__description_draw(ServeRequest *request)
{
    Appliance appliance;
    Error error = {.code = ERROR_NONE};
    if (build(request, &appliance, &error))
        answer_drawing(request, &appliance);
    else
        serve__answer_error(request, &error);
}

/* A description that cannot be read is an answer too: where, what was found, what was expected. */
static bool judge(ServeRequest *request, TextBuilder *out, Error *error)
{
    Appliance appliance;
    const Finding *findings;
    int count;
    return build(request, &appliance, error) &&
           appliance_judge(&appliance, &request->arena, &findings, &count, error) &&
           call_json_findings("the description", findings, count, out, error);
}

void serve__appliance_check(ServeRequest *request)
{
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    answer(request, judge(request, &out, &error), &out, &error);
}
