#include <stdio.h>
#include <stdlib.h>

#include "check.h"
#include "rig.h"
#include "tests.h"

/* From an edge to the moment the board has told its circuit to look for the other: what a shorter pulse is rounded up to. */
#define SWITCH_TICKS 16

#define WIDEST 480

/* Glitches of every width from one cycle up, each followed by a true mark. */
static void test_glitches(void)
{
    test_begin("A glitch of any width is one pulse, and the mark after it is exact");
    struct rig rig = {0};
    for (uint64_t width = 1; width <= WIDEST; width++) {
        uint64_t start = SECOND / 10 + width * 20 * MILLISECOND;
        rig_mark(&rig, start, width);
        rig_mark(&rig, start + 10 * MILLISECOND, MILLISECOND);
    }
    rig_power_up(&rig, true, NULL);
    rig_run_out(&rig, 2 * SECOND);
    CHECK_EQUAL(2 * WIDEST, rig_count(&rig, 'P'));
    rig_check_sound(&rig, 2 * WIDEST);
    uint64_t widest_inexact = 0;
    for (size_t i = 0; i < WIDEST; i++) {
        const struct reading *glitch = rig_find(&rig, 'P', 2 * i);
        if (!CHECK(glitch != NULL))
            break;
        uint32_t lead = rig_tick(&rig, rig.marks[2 * i].start);
        uint32_t width = rig_tick(&rig, rig.marks[2 * i].end) - lead;
        CHECK_EQUAL(lead, glitch->tick);
        CHECK(glitch->width >= width && glitch->width <= (width > SWITCH_TICKS ? width : SWITCH_TICKS));
        if (glitch->width != width)
            widest_inexact = i + 1;
        rig_check_exact(&rig, 2 * i + 1, 2 * i + 1);
    }
    printf("      exact from %.2f us up; shorter ones are given as at most that\n", (double)(widest_inexact + 1) / 16);
    rig_free(&rig);
}

/* Two marks with a gap of every width from one cycle up. */
static void test_gaps(void)
{
    test_begin("A gap of any width parts two pulses, and the mark after them is exact");
    struct rig rig = {0};
    for (uint64_t gap = 1; gap <= WIDEST; gap++) {
        uint64_t start = SECOND / 10 + gap * 20 * MILLISECOND;
        rig_mark(&rig, start, MILLISECOND);
        rig_mark(&rig, start + MILLISECOND + gap, MILLISECOND);
        rig_mark(&rig, start + 10 * MILLISECOND, MILLISECOND);
    }
    rig_power_up(&rig, true, NULL);
    rig_run_out(&rig, 2 * SECOND);
    rig_check_sound(&rig, 3 * WIDEST);
    uint64_t widest_inexact = 0;
    for (size_t i = 0; i < WIDEST; i++) {
        const struct reading *second = rig_find(&rig, 'P', 3 * i + 1);
        if (!CHECK(second != NULL))
            break;
        rig_check_exact(&rig, 3 * i, 3 * i);
        rig_check_exact(&rig, 3 * i + 2, 3 * i + 2);
        uint32_t late = second->tick - rig_tick(&rig, rig.marks[3 * i + 1].start);
        CHECK(late <= SWITCH_TICKS);
        CHECK_EQUAL(rig_tick(&rig, rig.marks[3 * i + 1].end), second->tick + second->width);
        if (late)
            widest_inexact = i + 1;
    }
    printf("      exact from %.2f us up; after a shorter gap the second leading edge is late by at most that\n",
           (double)(widest_inexact + 1) / 16);
    rig_free(&rig);
}

static uint64_t random_cycles(unsigned shortest_log2, unsigned longest_log2)
{
    unsigned log2 = shortest_log2 + (unsigned)rand() % (longest_log2 - shortest_log2 + 1);
    return (1ULL << log2) + (uint64_t)rand() % (1ULL << log2);
}

/* No two reported pulses may overlap, and each must begin where the sensor was lit or at most a switch time after. */
static void check_possible(struct rig *rig, size_t count)
{
    uint32_t end = 0;
    size_t mark = 0;
    for (size_t i = 0; i < count; i++) {
        const struct reading *pulse = rig_find(rig, 'P', i);
        CHECK(i == 0 || pulse->tick >= end);
        end = pulse->tick + pulse->width;
        while (mark + 1 < rig->mark_count && rig_tick(rig, rig->marks[mark + 1].start) <= pulse->tick)
            mark++;
        CHECK(pulse->tick >= rig_tick(rig, rig->marks[mark].start));
        CHECK(pulse->tick <= rig_tick(rig, rig->marks[mark].end) + SWITCH_TICKS);
    }
}

static void test_chaos(void)
{
    test_begin("Random chatter leaves the counts sound and the next mark exact");
    for (unsigned seed = 1; seed <= 20; seed++) {
        srand(seed);
        struct rig rig = {0};
        uint64_t cycle = SECOND / 5;
        for (int i = 0; i < 100; i++) {
            uint64_t width = random_cycles(0, 12);
            rig_mark(&rig, cycle, width);
            cycle += width + random_cycles(0, 14);
        }
        rig_mark(&rig, cycle + 500 * MILLISECOND, MILLISECOND);
        rig_power_up(&rig, true, NULL);
        rig_run_out(&rig, 2 * SECOND);
        size_t pulses = rig_count(&rig, 'P');
        size_t statuses = rig_count(&rig, 'S');
        if (CHECK(pulses >= 2 && statuses >= 1)) {
            rig_check_sound(&rig, rig_find(&rig, 'S', statuses - 1)->seen);
            check_possible(&rig, pulses);
            rig_check_exact(&rig, pulses - 1, rig.mark_count - 1);
        }
        rig_free(&rig);
    }
}

static void test_stuck(void)
{
    test_begin("A mark that never ends is sent within 2 s without a width, and the next is exact");
    struct rig rig = {0};
    rig_mark(&rig, SECOND / 2, 5 * SECOND);
    rig_mark(&rig, 6 * SECOND, MILLISECOND);
    rig_mark(&rig, 7 * SECOND, SECOND * 95 / 100);
    rig_power_up(&rig, true, NULL);
    rig_run_out(&rig, 2 * SECOND);
    CHECK_EQUAL(3, rig_count(&rig, 'P'));
    const struct reading *stuck = rig_find(&rig, 'P', 0);
    CHECK_EQUAL(rig_tick(&rig, rig.marks[0].start), stuck->tick);
    CHECK(!stuck->has_width);
    CHECK(stuck->cycle - rig.marks[0].start < 2 * SECOND);
    rig_check_exact(&rig, 1, 1);
    rig_check_exact(&rig, 2, 2);
    rig_check_sound(&rig, 3);
    rig_free(&rig);
}

static void test_lit_at_boot(void)
{
    test_begin("A sensor lit at power-up gives no pulse until the next mark");
    struct rig rig = {0};
    rig_mark(&rig, 1, SECOND);
    rig_mark(&rig, 2 * SECOND, MILLISECOND);
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, SECOND / 2);
    CHECK(board_led(&rig.board));
    rig_run_out(&rig, 2 * SECOND);
    CHECK(!board_led(&rig.board));
    CHECK_EQUAL(1, rig_count(&rig, 'P'));
    rig_check_exact(&rig, 0, 1);
    rig_free(&rig);
}

void test_narrow(void)
{
    test_glitches();
    test_gaps();
    test_chaos();
    test_stuck();
    test_lit_at_boot();
}
