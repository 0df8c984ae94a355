/* answer.c: what goes back, with the headers that every answer has.
 *
 * Nothing that was uploaded is ever shown as a page of this server: it goes out as a download of no known
 * type. Errors say what was found and expected, and never where on this machine. */
#include "edge/serve/serve_private.h"

#include "format/call_yaml/call_yaml.h"

#include <string.h>

enum { ANSWER_LIMIT = 4 << 20 };

static int add_piece(const char *bytes, size_t length, void *builder)
{
    text_add_bytes(builder, bytes, length);
    return 0;
}

void serve__answer_json(ServeRequest *request, int status, const TextBuilder *json)
{
    if (json->is_cut) {
        serve__refuse(request, 503, "no memory left", "a smaller answer");
        return;
    }
    request->status = status;
    request->type = "application/json";
    request->answer = (Text){text_string(json), json->length};
}

void serve__answer_tree(ServeRequest *request, int status, json_t *root)
{
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    const bool is_written = root && json_dump_callback(root, add_piece, &out, JSON_COMPACT) == 0;
    json_decref(root);
    if (is_written)
        serve__answer_json(request, status, &out);
    else
        serve__refuse(request, 503, "no memory left", "a smaller answer");
}

/* What failed inside is said in general; the details are for the log of whoever runs the server. */
void serve__answer_error(ServeRequest *request, const Error *error)
{
    const int status = error_http_status(error->code);
    const bool is_inside = status >= 500;
    json_t *root =
        json_pack("{s:{s:s, s:s, s:s, s:s, s:i, s:i, s:i}}", "error", "kind", error_says(error->code),
                  "found", is_inside ? "something in the server" : error->found, "expected",
                  is_inside ? "a store that can be read and written" : error->expected, "hint",
                  is_inside ? "" : error->hint, "line", error->line, "column", error->column, "record",
                  request->failing_record);
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    if (root) json_dump_callback(root, add_piece, &out, JSON_COMPACT);
    json_decref(root);
    request->status = status;
    request->type = "application/json";
    request->answer = (Text){text_string(&out), out.length};
}

void serve__refuse(ServeRequest *request, int status, const char *found, const char *expected)
{
    Error error = {.code = ERROR_NONE};
    error_set(&error, ERROR_USAGE, found, "%s", expected);
    serve__answer_error(request, &error);
    request->status = status;
}

const char *serve__query(const ServeRequest *request, const char *name)
{
    return MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND, name);
}

static bool read_degrees(const char *typed, Degrees *degrees, Error *error)
{
    static const char *const names[] = {
        [DEGREES_BOTH] = "both", [DEGREES_FAHRENHEIT] = "fahrenheit", [DEGREES_CELSIUS] = "celsius"};
    *degrees = DEGREES_BOTH;
    for (int d = 0; typed && d < 3; d++) {
        *degrees = (Degrees)d;
        if (strcmp(typed, names[d]) == 0) return true;
    }
    return !typed || error_set(error, ERROR_UNKNOWN_WORD, typed, "fahrenheit, celsius or both");
}

bool serve__load_words(ServeRequest *request, Words *words, Error *error)
{
    Degrees degrees;
    if (!read_degrees(serve__query(request, "degrees"), &degrees, error) ||
        !desk_load_words(serve__query(request, "language"), &request->arena, words, error))
        return false;
    words->degrees = degrees;
    return true;
}

/* The page may load what this server gives, and nothing else; nobody may frame it or read it across sites. */
static const char *const headers[][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src "
     "'self';"
     " manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "no-referrer"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Cache-Control", "no-store"},
};

static void add_headers(const ServeRequest *request, struct MHD_Response *response)
{
    for (size_t h = 0; h < sizeof headers / sizeof *headers; h++)
        MHD_add_response_header(response, headers[h][0], headers[h][1]);
    if (request->type) MHD_add_response_header(response, "Content-Type", request->type);
    if (request->cookie) MHD_add_response_header(response, "Set-Cookie", request->cookie);
    if (request->is_packed) MHD_add_response_header(response, "Content-Encoding", "gzip");
    if (request->is_download) MHD_add_response_header(response, "Content-Disposition", "attachment");
}

enum MHD_Result serve__send(ServeRequest *request)
{
    struct MHD_Response *response = request->stream;
    if (!response)
        response = MHD_create_response_from_buffer(request->answer.length, (void *)request->answer.bytes,
                                                   MHD_RESPMEM_MUST_COPY);
    if (!response) return MHD_NO;
    add_headers(request, response);
    const enum MHD_Result sent = MHD_queue_response(request->connection, (unsigned)request->status, response);
    MHD_destroy_response(response);
    return sent;
}

void serve__fail(ServeRequest *request, const Error *error)
{
    if (error->code == ERROR_UNKNOWN_WORD && text_equal(error->found, request->parameter))
        serve__refuse(request, 404, error->found, error->expected);
    else
        serve__answer_error(request, error);
}

bool serve__may_load(const DeskSource *source, Arena *arena, Error *error)
{
    Call call;
    if (source->description.bytes) return true;
    return call_yaml_read_head(source->name, source->bytes, arena, &call, error) &&
           (desk_is_shipped(call.appliance_name) ||
            error_set(error, ERROR_UNKNOWN_WORD, "an appliance of somebody's own file",
                      "one that /api/appliances lists, or its description with the call"));
}

bool serve__may_load_call(ServeRequest *request, const DeskCall *found, Error *error)
{
    DeskSource source;
    return desk_source(request->server->store, found, NULL, &request->arena, &source, error) &&
           serve__may_load(&source, &request->arena, error);
}
