#include "queue.h"

static void count_dropped(struct queue *queue)
{
    if (queue->dropped != UINT16_MAX)
        queue->dropped++;
}

bool queue_put(struct queue *queue, uint32_t tick, uint32_t width)
{
    uint8_t put = queue->put;
    queue->seen++;
    if ((uint8_t)(put - queue->taken) == QUEUE_LENGTH) {
        count_dropped(queue);
        return false;
    }
    struct pulse *place = &queue->places[put % QUEUE_LENGTH];
    place->tick = tick;
    place->width = width;
    queue->put = (uint8_t)(put + 1);
    return true;
}

void queue_drop(struct queue *queue)
{
    queue->seen++;
    count_dropped(queue);
}

bool queue_is_empty(const struct queue *queue)
{
    return queue->put == queue->taken;
}

bool queue_take(struct queue *queue, struct pulse *pulse)
{
    uint8_t taken = queue->taken;
    if (queue->put == taken)
        return false;
    *pulse = queue->places[taken % QUEUE_LENGTH];
    queue->taken = (uint8_t)(taken + 1);
    return true;
}
