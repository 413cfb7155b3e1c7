#define _GNU_SOURCE
#include "terminal.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static bool fail(const char *what)
{
    fprintf(stderr, "%s: %s\n", what, strerror(errno));
    return false;
}

/* Made beside it and renamed, so that the name never points nowhere. */
static bool make_link(const struct terminal *terminal)
{
    char beside[4096];
    int length = snprintf(beside, sizeof beside, "%s.%ld", terminal->link, (long)getpid());
    if (length < 0 || (size_t)length >= sizeof beside) {
        errno = ENAMETOOLONG;
        return fail(terminal->link);
    }
    unlink(beside);
    if (symlink(terminal->path, beside) != 0)
        return fail(beside);
    if (rename(beside, terminal->link) != 0) {
        fail(terminal->link);
        unlink(beside);
        return false;
    }
    return true;
}

/* Another bench may have put its own link there since. */
static void remove_link(const struct terminal *terminal)
{
    char target[sizeof terminal->path];
    ssize_t length = readlink(terminal->link, target, sizeof target - 1);
    if (length < 0)
        return;
    target[length] = '\0';
    if (strcmp(target, terminal->path) == 0)
        unlink(terminal->link);
}

bool terminal_open(struct terminal *terminal, const char *link)
{
    memset(terminal, 0, sizeof *terminal);
    struct termios settings;
    memset(&settings, 0, sizeof settings);
    cfmakeraw(&settings);
    settings.c_cflag |= CREAD | CLOCAL;
    settings.c_cc[VMIN] = 1;
    cfsetspeed(&settings, B115200);
    int slave;
    if (openpty(&terminal->master, &slave, terminal->path, &settings, NULL) != 0)
        return fail("pseudo-terminal");
    /* Closed so that a hang-up on the master tells whether the host holds it; its settings stay. */
    close(slave);
    fcntl(terminal->master, F_SETFD, FD_CLOEXEC);
    fcntl(terminal->master, F_SETFL, fcntl(terminal->master, F_GETFL) | O_NONBLOCK);
    if (link) {
        terminal->link = link;
        if (!make_link(terminal)) {
            terminal->link = NULL;
            terminal_close(terminal);
            return false;
        }
    }
    return true;
}

void terminal_close(struct terminal *terminal)
{
    if (terminal->link)
        remove_link(terminal);
    close(terminal->master);
    free(terminal->held);
    terminal->held = NULL;
}

bool terminal_is_open(struct terminal *terminal)
{
    struct pollfd state = {.fd = terminal->master, .events = 0};
    bool open = poll(&state, 1, 0) >= 0 && !(state.revents & POLLHUP);
    terminal->opened |= open;
    return open;
}

static bool grow(struct terminal *terminal)
{
    size_t room = terminal->held_room ? 2 * terminal->held_room : 65536;
    uint8_t *held = realloc(terminal->held, room);
    if (!held)
        return fail("memory for bytes to the host");
    terminal->held = held;
    terminal->held_room = room;
    return true;
}

void terminal_put(struct terminal *terminal, uint8_t byte)
{
    if (terminal->held_count == terminal->held_room && !grow(terminal))
        exit(1);
    terminal->held[terminal->held_count++] = byte;
}

static void forget_held(struct terminal *terminal)
{
    terminal->held_first = terminal->held_count = 0;
}

bool terminal_flush(struct terminal *terminal)
{
    if (terminal->held_first == terminal->held_count)
        return true;
    if (!terminal_is_open(terminal)) {
        if (terminal->opened && !terminal->away_drops)
            return false;
        terminal->discarded += terminal->held_count - terminal->held_first;
        forget_held(terminal);
        return true;
    }
    while (terminal->held_first < terminal->held_count) {
        ssize_t count = write(terminal->master, terminal->held + terminal->held_first,
                              terminal->held_count - terminal->held_first);
        if (count <= 0)
            return false;
        terminal->held_first += (size_t)count;
        terminal->written += (uint64_t)count;
    }
    forget_held(terminal);
    return true;
}

void terminal_wait(struct terminal *terminal, int milliseconds)
{
    struct pollfd state = {.fd = terminal->master, .events = POLLOUT};
    /* A hang-up, or a master that says it can be written though it takes nothing, would return at once. */
    if (poll(&state, 1, milliseconds) > 0) {
        struct timespec moment = {.tv_sec = 0, .tv_nsec = 1000000};
        nanosleep(&moment, NULL);
    }
}

size_t terminal_read(struct terminal *terminal, uint8_t *bytes, size_t room)
{
    ssize_t count = read(terminal->master, bytes, room);
    return count > 0 ? (size_t)count : 0;
}

bool terminal_is_drained(const struct terminal *terminal, bool *known)
{
    int slave = open(terminal->path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    *known = slave >= 0;
    if (slave < 0)
        return false;
    int unread = 0;
    *known = ioctl(slave, FIONREAD, &unread) == 0;
    close(slave);
    return *known && unread == 0;
}
