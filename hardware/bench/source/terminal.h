#ifndef ACQUIRE_BENCH_TERMINAL_H
#define ACQUIRE_BENCH_TERMINAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A pseudo-terminal that stands for the board's serial port. */
struct terminal {
    int master;
    char path[128];
    const char *link; /* a symbolic link to path, or NULL */
    bool opened;      /* the host has opened it at least once */
    uint8_t *held;    /* bytes not yet taken by the kernel */
    size_t held_first;
    size_t held_count;
    size_t held_room;
    uint64_t written;
    uint64_t discarded; /* sent before the host had ever opened it, or while it was away and away_drops is set */
    bool away_drops;
};

/* False, with a message on stderr, where it cannot be made. */
bool terminal_open(struct terminal *terminal, const char *link);

void terminal_close(struct terminal *terminal);

/* Whether the host holds it open now. */
bool terminal_is_open(struct terminal *terminal);

/* Keeps a byte for the host. */
void terminal_put(struct terminal *terminal, uint8_t byte);

/* Writes what the kernel takes now; true once nothing is left. */
bool terminal_flush(struct terminal *terminal);

/* Waits until there may be room, or the time given has passed. */
void terminal_wait(struct terminal *terminal, int milliseconds);

/* Bytes the host has sent, without waiting. */
size_t terminal_read(struct terminal *terminal, uint8_t *bytes, size_t room);

/* Whether the host has read all that was written. Unknown where the host holds the port exclusively: then *known is false. */
bool terminal_is_drained(const struct terminal *terminal, bool *known);

#endif
