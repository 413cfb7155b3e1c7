#include "check.h"
#include "rig.h"
#include "tests.h"

#define OVERFLOW_CYCLES (65536ULL * TICK_CYCLES)

static void check_all_exact(struct rig *rig)
{
    CHECK_EQUAL(rig->mark_count, rig_count(rig, 'P'));
    for (size_t i = 0; i < rig->mark_count; i++)
        rig_check_exact(rig, i, i);
    rig_check_sound(rig, rig->mark_count);
}

static void test_steady(bool active_low)
{
    test_begin(active_low ? "At 3000 rpm marks are exactly 40,000 ticks apart, 10 % wide" : "The image for an active-high sensor captures the same");
    struct rig rig = {0};
    for (uint64_t i = 0; i < 500; i++)
        rig_mark(&rig, SECOND / 10 + i * (SECOND / 50), SECOND / 500);
    rig_power_up(&rig, active_low, NULL);
    rig_run_out(&rig, 2 * SECOND);
    check_all_exact(&rig);
    for (size_t i = 1; i < 500; i++)
        CHECK_EQUAL(40000, rig_find(&rig, 'P', i)->tick - rig_find(&rig, 'P', i - 1)->tick);
    CHECK_EQUAL(4000, rig_find(&rig, 'P', 0)->width);
    rig_free(&rig);
}

/* Marks whose leading edge (or trailing edge) falls on each cycle from 40 ticks before to 40 after an overflow. */
static void test_overflow(bool leading, bool busy)
{
    static const char *const names[2][2] = {
        {"A trailing edge on any cycle around the overflow is exact", "It is so while the serial line is busy both ways"},
        {"A leading edge on any cycle around the overflow is exact", "It is so while the serial line is busy both ways, leading edge"}};
    test_begin(names[leading][busy]);
    struct rig rig = {0};
    uint64_t overflow = rig_timer_start() + 4 * OVERFLOW_CYCLES;
    uint64_t width = 1000 * TICK_CYCLES;
    for (int cycle = -40 * TICK_CYCLES; cycle <= 40 * TICK_CYCLES; cycle++, overflow += OVERFLOW_CYCLES)
        rig_mark(&rig, overflow + (uint64_t)(int64_t)cycle - (leading ? 0 : width), width);
    rig_power_up(&rig, true, NULL);
    CHECK_EQUAL(rig_timer_start(), rig.timer_start);
    while (busy && rig.board.more_marks) {
        rig_ask(&rig, "T00\n?\nT01\n");
        rig_run_until(&rig, rig.board.avr->cycle + 13 * MILLISECOND / 10);
    }
    rig_run_out(&rig, 2 * SECOND);
    check_all_exact(&rig);
    rig_free(&rig);
}

static void test_wrap(void)
{
    test_begin("Ticks go round at 32 bits after 35.8 minutes with every edge exact");
    struct rig rig = {0};
    uint64_t wrap = rig_timer_start() + (1ULL << 32) * TICK_CYCLES;
    uint64_t step = 20000 * TICK_CYCLES;
    for (int i = -50; i <= 50; i++)
        rig_mark(&rig, wrap + (uint64_t)((int64_t)i * (int64_t)step + i / 4), 800 * TICK_CYCLES + 3);
    rig_power_up(&rig, true, NULL);
    rig_run_out(&rig, 3 * SECOND);
    check_all_exact(&rig);
    CHECK(rig_find(&rig, 'P', 49)->tick > 0xFFFF0000u);
    CHECK(rig_find(&rig, 'P', 51)->tick < 0x00010000u);
    size_t statuses = rig_count(&rig, 'S');
    CHECK_EQUAL((rig.board.avr->cycle - rig.timer_start) / SECOND, statuses);
    CHECK(rig_find(&rig, 'S', statuses - 1)->tick < 10000000u);
    rig_free(&rig);
}

void test_capture(void)
{
    test_steady(true);
    test_steady(false);
    test_overflow(true, false);
    test_overflow(false, false);
    test_overflow(true, true);
    test_overflow(false, true);
    test_wrap();
}
