#include <string.h>

#include "check.h"
#include "queue.h"
#include "tests.h"

static struct queue queue;

static void test_order(void)
{
    test_begin("The queue keeps order over many turns of its places");
    memset(&queue, 0, sizeof queue);
    uint32_t put = 0, taken = 0;
    struct pulse pulse;
    for (unsigned round = 0; round < 1000; round++) {
        for (unsigned i = 0; i < 1 + round % QUEUE_LENGTH; i++, put++)
            queue_put(&queue, put, put + 1);
        while (queue_take(&queue, &pulse)) {
            CHECK_EQUAL(taken, pulse.tick);
            CHECK_EQUAL(taken + 1, pulse.width);
            taken++;
        }
    }
    CHECK_EQUAL(put, taken);
    CHECK_EQUAL(put, queue.seen);
    CHECK_EQUAL(0, queue.dropped);
    CHECK(queue_is_empty(&queue));
}

static void test_full(void)
{
    test_begin("A full queue refuses the newest pulses and counts each");
    memset(&queue, 0, sizeof queue);
    for (uint32_t i = 0; i < QUEUE_LENGTH + 100; i++)
        queue_put(&queue, i, 1);
    CHECK_EQUAL(QUEUE_LENGTH + 100, queue.seen);
    CHECK_EQUAL(100, queue.dropped);
    struct pulse pulse;
    for (uint32_t i = 0; i < QUEUE_LENGTH; i++) {
        CHECK(queue_take(&queue, &pulse));
        CHECK_EQUAL(i, pulse.tick);
    }
    CHECK(!queue_take(&queue, &pulse));
}

static void test_counts_end(void)
{
    test_begin("The dropped count stays at its end, the seen count goes round");
    memset(&queue, 0, sizeof queue);
    queue.seen = UINT32_MAX - 9;
    for (uint32_t i = 0; i < 70000; i++)
        queue_drop(&queue);
    CHECK_EQUAL(UINT16_MAX, queue.dropped);
    CHECK_EQUAL(70000 - 10, queue.seen);
    CHECK(queue_is_empty(&queue));
}

void test_queue(void)
{
    test_order();
    test_full();
    test_counts_end();
}
