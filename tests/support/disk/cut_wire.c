/* cut_wire.c: see cut_wire.h. */
#include "support/cut_wire.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

typedef struct {
    CutMoment moment;
    int bytes, arm;
    bool is_armed, has_been_cut, is_committing;
} Cut;

static struct sockaddr_in loopback(int port)
{
    struct sockaddr_in place = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    place.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    return place;
}

/* In binary bytes too: NULs are no end. */
static bool holds(const char *bytes, ssize_t length, const char *word)
{
    const ssize_t size = (ssize_t)strlen(word);
    for (ssize_t at = 0; at + size <= length; at++)
        if (memcmp(bytes + at, word, (size_t)size) == 0) return true;
    return false;
}

static void look_at_arm(Cut *cut)
{
    struct pollfd arm = {.fd = cut->arm, .events = POLLIN};
    if (!cut->is_armed && poll(&arm, 1, 0) == 1 && (arm.revents & POLLIN)) cut->is_armed = true;
}

/* Is the wire cut here, before these bytes are carried on? */
static bool is_cut_here(Cut *cut, const char *bytes, ssize_t length, bool is_answer)
{
    look_at_arm(cut);
    if (cut->has_been_cut || !cut->is_armed) return false;
    if (cut->moment == CUT_ANYWHERE) return (cut->bytes -= (int)length) < 0;
    if (cut->is_committing && is_answer) return true; /* CUT_AFTER_COMMIT */
    if (is_answer || !holds(bytes, length, "COMMIT")) return false;
    cut->is_committing = cut->moment == CUT_AFTER_COMMIT;
    return cut->moment == CUT_BEFORE_COMMIT;
}

static bool carry(int from, int to, Cut *cut, bool is_answer)
{
    static char bytes[65536];
    const ssize_t length = read(from, bytes, sizeof bytes);
    if (length <= 0) return false;
    if (is_cut_here(cut, bytes, length, is_answer)) {
        cut->has_been_cut = true;
        return false;
    }
    for (ssize_t done = 0, count; done < length; done += count) {
        count = write(to, bytes + done, (size_t)(length - done));
        if (count <= 0) return false;
    }
    return true;
}

static void carry_connection(int client, int server_port, Cut *cut)
{
    const struct sockaddr_in place = loopback(server_port);
    const int server = socket(AF_INET, SOCK_STREAM, 0);
    bool is_whole = connect(server, (const struct sockaddr *)&place, sizeof place) == 0;
    while (is_whole) {
        struct pollfd ends[] = {{.fd = client, .events = POLLIN}, {.fd = server, .events = POLLIN}};
        if (poll(ends, 2, -1) < 0) break;
        if (ends[0].revents) is_whole = carry(client, server, cut, false);
        if (is_whole && ends[1].revents) is_whole = carry(server, client, cut, true);
    }
    close(server);
    close(client);
}

CutWire cut_wire_begin(const char *address, CutMoment moment, int bytes, char *through, size_t size)
{
    const char *port = strstr(address, "127.0.0.1:");
    struct sockaddr_in place = loopback(0);
    socklen_t length = sizeof place;
    int ends[2];
    assert_non_null(port);
    port += strlen("127.0.0.1:");
    const int server_port = (int)strtol(port, NULL, 10), listener = socket(AF_INET, SOCK_STREAM, 0);
    assert_int_equal(bind(listener, (const struct sockaddr *)&place, sizeof place), 0);
    assert_int_equal(listen(listener, 8), 0);
    assert_int_equal(getsockname(listener, (struct sockaddr *)&place, &length), 0);
    assert_int_equal(pipe(ends), 0);
    snprintf(through, size, "%.*s%d%s", (int)(port - address), address, ntohs(place.sin_port),
             port + strspn(port, "0123456789"));
    const pid_t process = fork();
    if (process == 0) {
        Cut cut = {.moment = moment, .bytes = bytes, .arm = ends[0]};
        signal(SIGPIPE, SIG_IGN);
        for (int client; (client = accept(listener, NULL, NULL)) >= 0;)
            carry_connection(client, server_port, &cut);
        _exit(0);
    }
    close(listener);
    close(ends[0]);
    return (CutWire){process, ends[1]};
}

/* The other process looks before it carries the next bytes; they are sent after this returns. */
void cut_wire_arm(CutWire *wire) { assert_int_equal(write(wire->arm, "x", 1), 1); }

void cut_wire_end(CutWire *wire)
{
    close(wire->arm);
    kill(wire->process, SIGKILL);
    waitpid(wire->process, NULL, 0);
}
