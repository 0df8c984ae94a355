/* serve.c: the server from start to end, and the way of a request through it.
 *
 * The library calls take_request three times or more: with the headers, with each piece of the body, and once
 * it is whole. Whoever is refused is refused with the headers, before a body is read. */
#include "edge/serve/serve_private.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <signal.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum {
    REQUEST_BYTES = 256 << 20, /* of one request's arena, at most */
    IDLE_SECOND = 75,
    BODY_SECOND = 60,
    MOST_CONNECTIONS = 900,
    HEADER_BYTES = 16 << 10
};

int64_t serve__now_millisecond(void)
{
    struct timespec time;
    clock_gettime(CLOCK_REALTIME, &time);
    return (int64_t)time.tv_sec * 1000 + time.tv_nsec / 1000000;
}

double serve__second(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* ---- a request */

static ServeRequest *begin_request(Server *server, struct MHD_Connection *connection)
{
    ServeRequest *request = calloc(1, sizeof *request);
    if (!request) return NULL;
    request->server = server;
    request->connection = connection;
    request->arena = arena_new(REQUEST_BYTES);
    return request;
}

static void end_request(void *server, struct MHD_Connection *connection, void **context,
                        enum MHD_RequestTerminationCode how)
{
    ServeRequest *request = *context;
    (void)server;
    (void)connection;
    (void)how;
    if (!request) return;
    serve__allow(request, IDLE_SECOND);
    arena_free(&request->arena);
    free(request);
    *context = NULL;
}

/* A body that says how long it is is refused before it is sent. */
static bool is_too_long(const ServeRequest *request)
{
    double length = 0;
    const char *said = MHD_lookup_connection_value(request->connection, MHD_HEADER_KIND, "Content-Length");
    return said && text_read_number(text_of(said), &length) && length > (double)request->route->most_bytes;
}

/* With the headers alone. */
static void meet(ServeRequest *request, const char *method, const char *path)
{
    bool is_path;
    request->route = serve__find_route(method, path, request->parameter, &is_path);
    if (!request->route)
        serve__refuse(request, is_path ? 405 : 404, is_path ? method : "a path that is not here",
                      is_path ? "another method" : "one of those in doc/http.md");
    else
        serve__admit(request);
    if (request->status == 0 && is_too_long(request))
        serve__refuse(request, 413, "a body of that length", "a shorter one");
    request->is_refused = request->status != 0;
    if (request->route) request->body = text_builder(&request->arena, request->route->most_bytes);
    serve__allow(request, BODY_SECOND);
}

static void take_body(ServeRequest *request, const char *bytes, size_t *length)
{
    text_add_bytes(&request->body, bytes, *length);
    *length = 0;
}

/* Whole: a handler either answers or hands it to the adviser, which answers it; then this is called again. */
static enum MHD_Result answer(ServeRequest *request)
{
    if (request->is_aside) return serve__send(request);
    if (request->status == 0 && request->body.is_cut)
        serve__refuse(request, 413, "a body of that length", "a shorter one");
    if (request->status == 0) request->route->handle(request);
    return request->is_aside ? MHD_YES : serve__send(request);
}

static enum MHD_Result take_request(void *context, struct MHD_Connection *connection, const char *path,
                                    const char *method, const char *version, const char *bytes,
                                    size_t *length, void **kept)
{
    ServeRequest *request = *kept;
    (void)version;
    if (!request) {
        *kept = request = begin_request(context, connection);
        if (!request) return MHD_NO;
        meet(request, method, path);
        return request->is_refused ? serve__send(request) : MHD_YES;
    }
    if (*length > 0) {
        take_body(request, bytes, length);
        return MHD_YES;
    }
    return answer(request);
}

/* ---- start and end */

/* The port is known before the first request can come. */
static bool listen_at(Server *server, int *socket_out, Error *error)
{
    const int listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0), yes = 1;
    struct sockaddr_in place = {.sin_family = AF_INET, .sin_port = htons((uint16_t)server->terms->port)};
    socklen_t length = sizeof place;
    place.sin_addr.s_addr = htonl(server->terms->is_open ? INADDR_ANY : INADDR_LOOPBACK);
    if (listener >= 0 && setsockopt(listener, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) == 0 &&
        bind(listener, (const struct sockaddr *)&place, sizeof place) == 0 && listen(listener, 128) == 0 &&
        getsockname(listener, (struct sockaddr *)&place, &length) == 0) {
        server->port = ntohs(place.sin_port);
        *socket_out = listener;
        return true;
    }
    error_set(error, ERROR_IO, strerror(errno), "a port that nobody else has, as --port 8742");
    if (listener >= 0) close(listener);
    return false;
}

static bool start_daemon(Server *server, Error *error)
{
    const ServeTerms *terms = server->terms;
    int listener;
    if (!listen_at(server, &listener, error)) return false;
    struct MHD_OptionItem options[] = {
        {MHD_OPTION_LISTEN_SOCKET, listener, NULL},
        {MHD_OPTION_CONNECTION_LIMIT, MOST_CONNECTIONS, NULL},
        {MHD_OPTION_CONNECTION_TIMEOUT, IDLE_SECOND, NULL},
        {MHD_OPTION_CONNECTION_MEMORY_LIMIT, HEADER_BYTES, NULL},
        {MHD_OPTION_NOTIFY_COMPLETED, (intptr_t)end_request, server},
        {MHD_OPTION_NOTIFY_CONNECTION, (intptr_t)serve__watch, server},
        {terms->certificate ? MHD_OPTION_HTTPS_MEM_CERT : MHD_OPTION_END, 0, (void *)terms->certificate},
        {terms->certificate ? MHD_OPTION_HTTPS_MEM_KEY : MHD_OPTION_END, 0, (void *)terms->key},
        {MHD_OPTION_END, 0, NULL}};
    const unsigned flags =
        MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME | (terms->certificate ? MHD_USE_TLS : 0U);
    server->daemon = MHD_start_daemon(flags, 0, NULL, NULL, take_request, server, MHD_OPTION_ARRAY, options,
                                      MHD_OPTION_END);
    if (server->daemon) return true;
    close(listener);
    return error_set(error, ERROR_IO,
                     terms->certificate ? "a certificate or a key that cannot be used" : "no server",
                     "PEM files that belong together, and a machine with room for a thread");
}

static void say_where(const Server *server, const char *code, ServeSays *says, void *context)
{
    char address[200];
    const ServeTerms *terms = server->terms;
    snprintf(address, sizeof address, "%s://%s:%d", terms->certificate ? "https" : "http",
             terms->is_open && terms->name_count > 0 ? terms->names[0] : "localhost", server->port);
    says(context, address, code);
}

/* Events wake their listeners a last time, so that no connection is left set aside. */
static void stop(Server *server, pthread_t adviser, pthread_t watcher)
{
    pthread_mutex_lock(&server->lock);
    server->is_ending = true;
    pthread_cond_broadcast(&server->has_work);
    pthread_mutex_unlock(&server->lock);
    pthread_join(adviser, NULL);
    pthread_join(watcher, NULL);
    MHD_quiesce_daemon(server->daemon);
    serve__end_streams(server);
    MHD_stop_daemon(server->daemon);
    for (int a = 0; a < SERVE_CACHED; a++) {
        free(server->advice[a].key);
        free(server->advice[a].text);
    }
}

/* Signals are waited for by this thread alone; the others are born with them blocked. */
static bool run(Server *server, ServeSays *says, void *context, Error *error)
{
    pthread_t adviser, watcher;
    sigset_t ends;
    char code[12];
    int signal_number;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ends, NULL);
    serve__make_code(server, SERVE_OFFICE, code); /* while nobody else is there */
    if (!start_daemon(server, error)) return false;
    if (pthread_create(&adviser, NULL, serve__advise, server) != 0 ||
        pthread_create(&watcher, NULL, serve__keep_watch, server) != 0)
        return error_set(error, ERROR_MEMORY, "no thread left", "a machine with room for three");
    say_where(server, code, says, context);
    while (sigwait(&ends, &signal_number) != 0) continue;
    stop(server, adviser, watcher);
    return true;
}

bool serve_run(const ServeTerms *terms, ServeSays *says, void *context, Error *error)
{
    Server *server = calloc(1, sizeof *server);
    if (!server) return error_memory(error);
    server->terms = terms;
    pthread_mutex_init(&server->lock, NULL);
    pthread_cond_init(&server->has_work, NULL);
    const bool went_well =
        store_open(terms->store, true, &server->store, error) && run(server, says, context, error);
    store_close(server->store);
    pthread_cond_destroy(&server->has_work);
    pthread_mutex_destroy(&server->lock);
    free(server);
    return went_well;
}
