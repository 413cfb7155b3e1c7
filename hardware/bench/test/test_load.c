#include <stdio.h>

#include "check.h"
#include "rig.h"
#include "tests.h"

/* Statuses never more than 1.05 s apart, whatever goes on, and a second on average. */
static void check_cadence(const struct rig *rig)
{
    size_t statuses = rig_count(rig, 'S');
    CHECK_EQUAL((rig->board.avr->cycle - rig->timer_start) / SECOND, statuses);
    for (size_t i = 0; i < statuses; i++) {
        const struct reading *status = rig_find(rig, 'S', i);
        uint64_t due = rig->timer_start + (i + 1) * SECOND;
        CHECK(status->cycle >= due && status->cycle < due + SECOND / 20);
        uint32_t sent = rig_tick(rig, status->cycle);
        CHECK(sent - status->tick < 2000000 / 50);
    }
}

static void run_train(struct rig *rig, uint64_t period, uint64_t width, uint64_t length)
{
    uint64_t start = SECOND / 2;
    for (uint64_t i = 0; i * period < length; i++)
        rig_mark(rig, start + i * period, width);
    rig_mark(rig, start + length + SECOND, MILLISECOND);
    rig_power_up(rig, true, NULL);
    rig_run_out(rig, 5 * SECOND / 2);
}

static void test_line_rate(void)
{
    test_begin("Up to 98 % of what the line can carry, for 10 s, nothing is lost");
    struct rig rig = {0};
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, SECOND / 4);
    uint64_t line_cycles = board_byte_cycles(&rig.board) * 22;
    rig_free(&rig);
    rig = (struct rig){0};
    /* 1600 ticks are three digits: "Pss,tttttttt,640*CCCC" and LF are 22 bytes. */
    run_train(&rig, line_cycles * 100 / 98, 1600 * TICK_CYCLES, 10 * SECOND);
    CHECK_EQUAL(rig.mark_count, rig_count(&rig, 'P'));
    for (size_t i = 0; i < rig.mark_count; i += 97)
        rig_check_exact(&rig, i, i);
    rig_check_sound(&rig, rig.mark_count);
    check_cadence(&rig);
    CHECK_EQUAL(0, rig_find(&rig, 'S', rig_count(&rig, 'S') - 1)->dropped);
    printf("      %.0f pulses a second at %.0f bytes a second\n", 0.98 * SECOND / (double)line_cycles,
           22.0 * SECOND / (double)line_cycles);
    rig_free(&rig);
}

static void test_beyond(uint64_t pulses_per_s)
{
    static char name[128];
    snprintf(name, sizeof name, "At %llu pulses a second received and dropped make up all that were shown", (unsigned long long)pulses_per_s);
    test_begin(name);
    struct rig rig = {0};
    uint64_t period = SECOND / pulses_per_s;
    run_train(&rig, period, period / 2, 60000 / pulses_per_s > 4 ? 4 * SECOND : SECOND);
    rig_check_sound(&rig, rig.mark_count);
    check_cadence(&rig);
    size_t pulses = rig_count(&rig, 'P');
    CHECK(rig_find(&rig, 'S', rig_count(&rig, 'S') - 1)->dropped > 0);
    rig_check_exact(&rig, pulses - 1, rig.mark_count - 1);
    printf("      %zu shown, %zu received\n", rig.mark_count, pulses);
    rig_free(&rig);
}

static void test_flood(uint64_t pulses_per_s)
{
    static char name[128];
    snprintf(name, sizeof name, "A flood of %llu a second silences nothing and restarts nothing", (unsigned long long)pulses_per_s);
    test_begin(name);
    struct rig rig = {0};
    uint64_t period = SECOND / pulses_per_s;
    run_train(&rig, period, period / 2, 4 * SECOND);
    size_t statuses = rig_count(&rig, 'S');
    CHECK_EQUAL(1, rig_count(&rig, 'H'));
    CHECK_EQUAL(0, rig.bad_lines);
    if (!CHECK(statuses >= 7)) {
        rig_free(&rig);
        return;
    }
    check_cadence(&rig);
    const struct reading *last = rig_find(&rig, 'S', statuses - 1);
    CHECK(last->dropped > 0);
    if (last->dropped < 0xFFFF)
        rig_check_sound(&rig, last->seen);
    rig_check_exact(&rig, rig_count(&rig, 'P') - 1, rig.mark_count - 1);
    printf("      %zu shown, %u seen, %u dropped\n", rig.mark_count, last->seen, last->dropped);
    rig_free(&rig);
}

/* 900 pulses in one turn of the 16-bit counter: 700 are looked at, and looking away counts as one more. */
static void test_look_away(void)
{
    test_begin("What was missed while the board looked away shows as one dropped pulse");
    struct rig rig = {0};
    uint64_t overflow = rig_timer_start() + 20 * 65536ULL * TICK_CYCLES;
    for (uint64_t i = 0; i < 900; i++)
        rig_mark(&rig, overflow + MILLISECOND / 2 + i * (SECOND / 30000), SECOND / 60000);
    rig_mark(&rig, overflow + 500 * MILLISECOND, MILLISECOND);
    rig_power_up(&rig, true, NULL);
    rig_run_out(&rig, 2 * SECOND);
    rig_check_sound(&rig, 700 + 1 + 1);
    rig_check_exact(&rig, rig_count(&rig, 'P') - 1, rig.mark_count - 1);
    rig_free(&rig);
}

static void test_idle(void)
{
    test_begin("Status lines come once a second over 10 minutes");
    struct rig rig = {0};
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, 600 * SECOND);
    check_cadence(&rig);
    CHECK(rig_count(&rig, 'S') >= 599);
    rig_check_sound(&rig, 0);
    rig_free(&rig);
}

void test_load(void)
{
    test_line_rate();
    test_beyond(1000);
    test_beyond(5000);
    test_beyond(20000);
    static const uint64_t floods[] = {25000, 32500, 40000, 45000, 50000, 75000, 90000, 100000, 135000, 200000, 500000, 1000000};
    for (size_t i = 0; i < sizeof floods / sizeof floods[0]; i++)
        test_flood(floods[i]);
    test_look_away();
    test_idle();
}
