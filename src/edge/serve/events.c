/* events.c: server-sent events (WHATWG HTML, section 9.2): whoever looks at a call is told how many records
 * it has, at once and whenever that changes; what they are is asked for then.
 *
 * A stream with nothing to say is set aside and costs nothing. Every quarter of a minute it says a comment,
 * so that a connection that is gone is found out. */
#include "edge/serve/serve_private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK = 1024, BEAT_SECOND = 15 };

struct ServeStream {
    ServeStream *next;
    Server *server;
    struct MHD_Connection *connection;
    char call[TRAIL_ID_SIZE];
    int told; /* records; -1: nothing yet */
    double beat_second;
    bool is_aside;
};

/* Set aside only under the lock, so that a waker never misses it. */
static ssize_t rest(ServeStream *stream)
{
    Server *server = stream->server;
    ssize_t done = 0;
    pthread_mutex_lock(&server->lock);
    if (server->is_ending) {
        done = MHD_CONTENT_READER_END_OF_STREAM;
    } else if (!stream->is_aside) {
        stream->is_aside = true;
        MHD_suspend_connection(stream->connection);
    }
    pthread_mutex_unlock(&server->lock);
    return done;
}

static ssize_t read_stream(void *context, uint64_t position, char *bytes, size_t room)
{
    ServeStream *stream = context;
    int count = stream->told;
    Error error = {.code = ERROR_NONE};
    (void)position;
    if (!store_count_records(stream->server->store, stream->call, &count, &error))
        return MHD_CONTENT_READER_END_WITH_ERROR;
    if (count != stream->told) {
        stream->told = count;
        stream->beat_second = serve__second();
        return snprintf(bytes, room, "event: records\ndata: {\"records\":%d}\n\n", count);
    }
    if (serve__second() - stream->beat_second < BEAT_SECOND) return rest(stream);
    stream->beat_second = serve__second();
    return snprintf(bytes, room, ":\n\n");
}

static void end_stream(void *context)
{
    ServeStream *stream = context;
    Server *server = stream->server;
    pthread_mutex_lock(&server->lock);
    for (ServeStream **at = &server->streams; *at; at = &(*at)->next) {
        if (*at != stream) continue;
        *at = stream->next;
        break;
    }
    pthread_mutex_unlock(&server->lock);
    free(stream);
}

void serve__call_events(ServeRequest *request)
{
    Error error = {.code = ERROR_NONE};
    Server *server = request->server;
    ServeStream *stream = calloc(1, sizeof *stream);
    if (!stream) {
        serve__refuse(request, 503, "no memory left", "fewer listeners");
        return;
    }
    if (!store_find(server->store, request->parameter, stream->call, &error)) {
        free(stream);
        serve__refuse(request, error.code == ERROR_UNKNOWN_WORD ? 404 : 503, error.found, error.expected);
        return;
    }
    stream->server = server;
    stream->connection = request->connection;
    stream->told = -1;
    stream->beat_second = serve__second();
    request->stream =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, read_stream, stream, end_stream);
    if (!request->stream) {
        free(stream);
        serve__refuse(request, 503, "no memory left", "fewer listeners");
        return;
    }
    pthread_mutex_lock(&server->lock);
    stream->next = server->streams;
    server->streams = stream;
    pthread_mutex_unlock(&server->lock);
    request->status = 200;
    request->type = "text/event-stream";
    serve__allow(request, 0);
}

static void wake_one(ServeStream *stream)
{
    if (!stream->is_aside) return;
    stream->is_aside = false;
    MHD_resume_connection(stream->connection);
}

void serve__wake(Server *server, const char *call)
{
    pthread_mutex_lock(&server->lock);
    for (ServeStream *stream = server->streams; stream; stream = stream->next)
        if (!call || strcmp(stream->call, call) == 0) wake_one(stream);
    pthread_mutex_unlock(&server->lock);
}

/* Until each of them has ended: it takes the thread that carries bytes to see it. */
void serve__end_streams(Server *server)
{
    const struct timespec moment = {.tv_nsec = 5 * 1000 * 1000};
    for (int tries = 0; tries < 400; tries++) {
        serve__wake(server, NULL);
        pthread_mutex_lock(&server->lock);
        const bool has_any = server->streams != NULL;
        pthread_mutex_unlock(&server->lock);
        if (!has_any) return;
        nanosleep(&moment, NULL);
    }
}
