/* advise.c: what a call says and what to do next, on a thread of its own, since it takes tenths of a second.
 *
 * The answer depends on the call's records, on the entries that are imagined and, slowly, on what other
 * closed calls teach; it is kept by the first two, so that a page that is opened again has it at once. */
#include "edge/serve/serve_private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "edge/desk/desk.h"
#include "format/call_json/call_json.h"

enum { ANSWER_LIMIT = 4 << 20, MOST_IMAGINED = 8, KEY_LIMIT = 4000 };

/* Of thousands of suspects a page shows a dozen: the others are only counted. */
static const double LEAST_PROBABILITY = 1e-4;

/* ---- what is kept */

static const ServeAdvice *find_advice(const Server *server, const char *key)
{
    for (int a = 0; a < SERVE_CACHED; a++)
        if (server->advice[a].key && strcmp(server->advice[a].key, key) == 0) return &server->advice[a];
    return NULL;
}

static bool take_kept(ServeRequest *request, const char *key)
{
    Server *server = request->server;
    pthread_mutex_lock(&server->lock);
    const ServeAdvice *advice = find_advice(server, key);
    const char *copy = advice ? arena_copy_text(&request->arena, advice->text, strlen(advice->text)) : NULL;
    if (copy) {
        request->answer = text_of(copy);
        request->type = "application/json";
        request->status = advice->status;
    }
    pthread_mutex_unlock(&server->lock);
    return copy != NULL;
}

/* The oldest one goes. */
static void keep(Server *server, const char *key, Text text, int status)
{
    char *key_copy = malloc(strlen(key) + 1), *text_copy = malloc(text.length + 1);
    if (!key_copy || !text_copy) {
        free(key_copy);
        free(text_copy);
        return;
    }
    memcpy(key_copy, key, strlen(key) + 1);
    memcpy(text_copy, text.bytes, text.length);
    text_copy[text.length] = '\0';
    pthread_mutex_lock(&server->lock);
    ServeAdvice *advice = &server->advice[server->next_advice++ % SERVE_CACHED];
    free(advice->key);
    free(advice->text);
    *advice = (ServeAdvice){key_copy, text_copy, status};
    pthread_mutex_unlock(&server->lock);
}

/* ---- the work */

typedef struct {
    const char *imagined[MOST_IMAGINED];
    int imagined_count;
} Question;

static enum MHD_Result take_imagined(void *context, enum MHD_ValueKind kind, const char *key,
                                     const char *value)
{
    Question *question = context;
    (void)kind;
    if (strcmp(key, "if") == 0 && value && question->imagined_count < MOST_IMAGINED)
        question->imagined[question->imagined_count++] = value;
    return MHD_YES;
}

static bool work_out(const DeskSource *source, const Question *question, const Words *words, DeskKept *kept,
                     Arena *arena, TextBuilder *out, Error *error)
{
    TextBuilder notes = text_builder(arena, 1 << 16);
    DeskStanding *stands = ARENA_ARRAY(arena, DeskStanding, 1);
    Plan plan;
    PlanTerms terms;
    PlanVisit visit;
    if (!stands) return error_memory(error);
    if (!desk_load_terms(NULL, arena, &terms, NULL, error) ||
        !desk_stand(source, question->imagined, question->imagined_count, kept, arena, &notes, stands,
                    error) ||
        !plan_next(stands->model, &stands->standing, &terms, arena, &plan, error))
        return false;
    const PlanVisit *before = desk_has_begun(&stands->call) ? NULL : &visit;
    if (before && !plan_before_visit(stands->model, &stands->standing, &terms, arena, &visit, error))
        return false;
    desk_keep(stands->memory);
    return call_json_standing(words, &stands->standing, &plan, before, LEAST_PROBABILITY, out, error);
}

/* Up to which record; all of them where nobody said. */
static bool read_upto(const ServeRequest *request, const DeskCall *found, int *upto, Error *error)
{
    const char *typed = serve__query(request, "upto");
    double number = found->trail.count;
    if (typed && (!text_read_number(text_of(typed), &number) || number < 1 || number > found->trail.count ||
                  number != (double)(int)number))
        return error_set(error, ERROR_OUT_OF_RANGE, typed, "the number of a record, from 1 to %d",
                         found->trail.count);
    *upto = (int)number;
    return true;
}

/* The records and the question name an answer; the last record stands for all before it. */
static bool find_question(ServeRequest *request, Store *store, DeskCall *found, Question *question,
                          TextBuilder *key, Error *error)
{
    int upto = 0;
    const char *language = serve__query(request, "language"), *degrees = serve__query(request, "degrees");
    *question = (Question){.imagined_count = 0};
    *key = text_builder(&request->arena, KEY_LIMIT);
    MHD_get_connection_values(request->connection, MHD_GET_ARGUMENT_KIND, take_imagined, question);
    if (!desk_find_call(store, request->parameter, &request->arena, found, error) ||
        !read_upto(request, found, &upto, error) || !desk_replay(found, upto, &request->arena, error))
        return false;
    text_addf(key, "%s %d %s %s %s", found->call, upto, found->trail.records[upto - 1]->id,
              language ? language : "", degrees ? degrees : "");
    for (int i = 0; i < question->imagined_count; i++) text_addf(key, " %s", question->imagined[i]);
    return !key->is_cut || error_set(error, ERROR_TOO_LARGE, "so much that is imagined", "a few entries");
}

static bool advise(ServeRequest *request, Store *store, DeskKept *kept, Error *error)
{
    Arena *arena = &request->arena;
    DeskCall found;
    DeskSource source;
    PlanTerms costs;
    HistoryTerms history;
    Question question;
    Words words;
    TextBuilder key, out = text_builder(arena, ANSWER_LIMIT);
    if (!find_question(request, store, &found, &question, &key, error)) return false;
    if (take_kept(request, text_string(&key))) return true;
    if (!desk_load_terms(NULL, arena, &costs, &history, error) ||
        !desk_source(store, &found, &history, arena, &source, error) ||
        !serve__may_load(&source, arena, error) || !serve__load_words(request, &words, error) ||
        !work_out(&source, &question, &words, kept, arena, &out, error))
        return false;
    serve__answer_json(request, 200, &out);
    keep(request->server, text_string(&key), request->answer, 200);
    return true;
}

/* ---- the thread */

static ServeRequest *next_job(Server *server)
{
    pthread_mutex_lock(&server->lock);
    while (!server->jobs && !server->is_ending) pthread_cond_wait(&server->has_work, &server->lock);
    ServeRequest *request = server->jobs;
    if (request) server->jobs = request->next_job;
    pthread_mutex_unlock(&server->lock);
    return request;
}

static void do_job(ServeRequest *request, Store *store, DeskKept *kept)
{
    Error error = {.code = ERROR_NONE};
    if (!store)
        serve__refuse(request, 503, "a store that cannot be read", "one that can");
    else if (!advise(request, store, kept, &error))
        serve__fail(request, &error);
    MHD_resume_connection(request->connection);
}

/* At the end what still waits is answered too, so that no request is left set aside. */
void *serve__advise(void *context)
{
    Server *server = context;
    Store *store = NULL;
    DeskKept kept = {{NULL}};
    Error ignored = {.code = ERROR_NONE};
    if (!store_open(server->terms->store, false, &store, &ignored)) store = NULL;
    for (ServeRequest *request; (request = next_job(server));) do_job(request, store, &kept);
    desk_forget(&kept);
    store_close(store);
    return NULL;
}

static void ask_adviser(ServeRequest *request)
{
    Server *server = request->server;
    pthread_mutex_lock(&server->lock);
    ServeRequest **end = &server->jobs;
    while (*end) end = &(*end)->next_job;
    *end = request;
    request->next_job = NULL;
    request->is_aside = true;
    MHD_suspend_connection(request->connection);
    pthread_cond_signal(&server->has_work);
    pthread_mutex_unlock(&server->lock);
}

/* What was worked out before is answered at once, past those who wait. */
void serve__call_advice(ServeRequest *request)
{
    DeskCall found;
    Question question;
    TextBuilder key;
    Error error = {.code = ERROR_NONE};
    if (!find_question(request, request->server->store, &found, &question, &key, &error))
        serve__fail(request, &error);
    else if (!take_kept(request, text_string(&key)))
        ask_adviser(request);
}
