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

static inline void queue_count_dropped(struct queue *queue)
{
    if (queue->dropped != UINT16_MAX)
        queue->dropped++;
}

/*
 * Counts the pulse as seen, and as dropped where the queue is full. Inline, as a call from the capture
 * interrupt would cost it the saving of every register.
 */
static inline void queue_put(struct queue *queue, uint32_t tick, uint32_t width)
{
    uint8_t put = queue->put;
    queue->seen++;
    if ((uint8_t)(put - queue->taken) == QUEUE_LENGTH) {
        queue_count_dropped(queue);
        return;
    }
    struct pulse *place = &queue->places[put % QUEUE_LENGTH];
    place->tick = tick;
    place->width = width;
    queue->put = (uint8_t)(put + 1);
}

/* Counts a pulse as seen and dropped that was never measured. */
static inline void queue_drop(struct queue *queue)
{
    queue->seen++;
    queue_count_dropped(queue);
}

static inline bool queue_is_empty(const struct queue *queue)
{
    return queue->put == queue->taken;
}

/* The oldest pulse, or false where there is none. */
static inline bool queue_take(struct queue *queue, struct pulse *pulse)
{
    uint8_t taken = queue->taken;
    if (queue->put == taken)
        return false;
    *pulse = queue->places[taken % QUEUE_LENGTH];
    queue->taken = (uint8_t)(taken + 1);
    return true;
}

#endif
