#ifndef ACQUIRE_SERIAL_H
#define ACQUIRE_SERIAL_H

#include <stdbool.h>
#include <stdint.h>

#include "line.h"

/* A request for the time. */
struct time_request {
    char asked[2];
    uint32_t tick; /* when its line feed came */
};

void serial_start(void);

/* Whether the longest line would go in now. */
bool serial_has_room(void);

/* Hands a line to the transmit interrupt. There must be room. */
void serial_send(const struct line *line);

bool serial_is_asked(void);

/* The oldest request for the time, or false where there is none. */
bool serial_take_time(struct time_request *request);

/* Whether the board was asked who it is since this was last called. */
bool serial_take_hello(void);

#endif
