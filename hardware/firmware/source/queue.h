#ifndef ACQUIRE_QUEUE_H
#define ACQUIRE_QUEUE_H

#include <stdbool.h>
#include <stdint.h>

/* A power of two, at most 128, so that one byte counts places without a wrap that matters. */
#define QUEUE_LENGTH 128u

#define PULSE_NO_WIDTH 0u

struct pulse {
    uint32_t tick;
    uint32_t width; /* ticks; PULSE_NO_WIDTH where it was not measured */
};

/* Pulses between the capture interrupt, the only writer, and the sender, the only reader. */
struct queue {
    struct pulse places[QUEUE_LENGTH];
    volatile uint8_t put;
    volatile uint8_t taken;
    uint32_t seen;    /* pulses offered since boot, modulo 2^32 */
    uint16_t dropped; /* of those, refused since full; stays at FFFF */
};

/* Counts the pulse as seen, and as dropped where the queue is full. Says whether it went in. */
bool queue_put(struct queue *queue, uint32_t tick, uint32_t width);

/* Counts a pulse as seen and dropped that was never measured. */
void queue_drop(struct queue *queue);

bool queue_is_empty(const struct queue *queue);

/* The oldest pulse, or false where there is none. */
bool queue_take(struct queue *queue, struct pulse *pulse);

#endif
