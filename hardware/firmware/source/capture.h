#ifndef ACQUIRE_CAPTURE_H
#define ACQUIRE_CAPTURE_H

#include <stdbool.h>
#include <stdint.h>

#include "queue.h"

struct capture_counts {
    uint32_t seen;
    uint16_t dropped;
};

/* Sets the pins, starts the tick counter and looks for the first pulse. Interrupts must be off. */
void capture_start(void);

/* The oldest pulse not yet sent, or false where there is none. */
bool capture_take(struct pulse *pulse);

bool capture_is_empty(void);

/* Both counts as they stood at one moment. */
struct capture_counts capture_count(void);

#endif
