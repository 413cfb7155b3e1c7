#include <stdio.h>

#include "check.h"
#include "rig.h"
#include "tests.h"

/* Other interrupts may hold up the one that takes the time: 20 us at most. */
#define LATE_TICKS 40

static void test_hello(void)
{
    test_begin("The board says who it is at power-up and when asked");
    struct rig rig = {0};
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, SECOND / 2);
    CHECK_EQUAL(1, rig_count(&rig, 'H'));
    CHECK_EQUAL(1, rig_find(&rig, 'H', 0)->number);
    rig_ask(&rig, "?\n");
    rig_run_until(&rig, SECOND * 6 / 10);
    rig_ask(&rig, "what?\n??\n?\r\n");
    rig_run_until(&rig, SECOND);
    CHECK_EQUAL(3, rig_count(&rig, 'H'));
    CHECK_EQUAL(1, rig_find(&rig, 'H', 2)->number);
    CHECK_EQUAL(0, rig.bad_lines);
    rig_free(&rig);
}

/* Asks so that the request's LF arrives in a given cycle, nearly; returns the cycle it did. */
static uint64_t ask_at(struct rig *rig, const char *text, uint64_t cycle)
{
    uint64_t length = 5 * (board_byte_cycles(&rig->board) + BOARD_BYTE_GAP_CYCLES);
    rig_run_until(rig, cycle - length);
    rig_ask(rig, text);
    rig_run_until(rig, cycle + 200);
    return rig->board.byte_begun + board_byte_cycles(&rig->board);
}

static void check_answer(struct rig *rig, size_t place, uint64_t arrived, uint32_t *latest)
{
    const struct reading *answer = rig_find(rig, 'T', place);
    if (!CHECK(answer != NULL))
        return;
    CHECK_EQUAL(place % 256, answer->number);
    uint32_t late = answer->tick - rig_tick(rig, arrived);
    CHECK(late <= LATE_TICKS);
    if (late <= LATE_TICKS && late > *latest)
        *latest = late;
}

/* With marks that come in between, and in every position around the counter's overflow. */
static void test_time(bool marks)
{
    test_begin(marks ? "The answer to T is the tick of its LF, at 1,000 marks a second too" : "The answer to T is the tick of its LF, on any tick around the overflow too");
    struct rig rig = {0};
    for (uint64_t i = 0; marks && i < 8000; i++)
        rig_mark(&rig, SECOND / 10 + i * 16037, 5003);
    rig_power_up(&rig, true, NULL);
    uint32_t latest = 0;
    for (int i = 0; i < 160; i++) {
        char text[8];
        snprintf(text, sizeof text, "T%02X\n", (unsigned)i);
        uint64_t overflow = rig.timer_start + (uint64_t)(i + 5) * 65536 * TICK_CYCLES;
        uint64_t arrived = ask_at(&rig, text, overflow + (uint64_t)(int64_t)((i - 80) * 9));
        rig_run_until(&rig, arrived + 15 * MILLISECOND);
        check_answer(&rig, (size_t)i, arrived, &latest);
    }
    CHECK_EQUAL(160, rig_count(&rig, 'T'));
    CHECK_EQUAL(0, rig.bad_lines);
    printf("      latest by %.1f us\n", latest / 2.0);
    rig_free(&rig);
}

static void test_many(void)
{
    test_begin("More questions at once than the board keeps: the first are answered, the rest left");
    struct rig rig = {0};
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, SECOND / 2);
    rig_ask(&rig, "T01\nT02\nT03\nT04\nT05\nT06\nT07\nT08\nT09\nT0A\n?\n");
    rig_run_until(&rig, SECOND);
    size_t answers = rig_count(&rig, 'T');
    CHECK(answers >= 4 && answers <= 10);
    uint32_t before = 0;
    for (size_t i = 0; i < answers; i++) {
        CHECK(rig_find(&rig, 'T', i)->number > before);
        before = rig_find(&rig, 'T', i)->number;
    }
    CHECK_EQUAL(2, rig_count(&rig, 'H'));
    rig_free(&rig);
}

void test_host(void)
{
    test_hello();
    test_time(false);
    test_time(true);
    test_many();
}
