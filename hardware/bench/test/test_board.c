#include <stdio.h>
#include <string.h>

#include "check.h"
#include "rig.h"
#include "tests.h"

#define POWER_UPS 20
#define SLOT_BYTES 4
#define JUMP_TO_ITSELF 0xCFFF /* rjmp .-2 */

static void power_cycle(uint8_t eeprom[BOARD_EEPROM_BYTES], uint32_t *id)
{
    struct rig rig = {0};
    rig_power_up(&rig, true, eeprom);
    rig_run_until(&rig, SECOND / 4);
    const struct reading *hello = rig_find(&rig, 'H', 0);
    *id = CHECK(hello != NULL) ? hello->number : 0;
    board_get_eeprom(&rig.board, eeprom);
    rig_free(&rig);
}

static void test_boot_ids(void)
{
    test_begin("Boot ids differ over 20 power-ups, each written to another place");
    uint8_t before[BOARD_EEPROM_BYTES], now[BOARD_EEPROM_BYTES];
    bool slot_used[BOARD_EEPROM_BYTES / SLOT_BYTES] = {false};
    uint32_t ids[POWER_UPS];
    memset(now, 0xFF, sizeof now);
    for (size_t i = 0; i < POWER_UPS; i++) {
        memcpy(before, now, sizeof now);
        power_cycle(now, &ids[i]);
        for (size_t j = 0; j < i; j++)
            CHECK(ids[i] != ids[j]);
        bool changed[BOARD_EEPROM_BYTES / SLOT_BYTES] = {false};
        for (size_t b = 0; b < sizeof now; b++)
            changed[b / SLOT_BYTES] |= before[b] != now[b];
        size_t count = 0;
        for (size_t s = 0; s < sizeof changed; s++) {
            CHECK(!(changed[s] && slot_used[s]));
            slot_used[s] |= changed[s];
            count += changed[s];
        }
        CHECK_EQUAL(1, count);
    }
}

/* Overwrites the instruction that is about to run, outside any interrupt, by a jump to itself: the main loop hangs. */
static uint16_t hang(struct rig *rig, uint32_t *place)
{
    avr_t *avr = rig->board.avr;
    while (avr->state != cpu_Running || !avr->sreg[S_I] || avr->interrupts.running_ptr)
        avr_run(avr);
    *place = avr->pc;
    uint16_t old;
    memcpy(&old, avr->flash + *place, sizeof old);
    uint16_t jump = JUMP_TO_ITSELF;
    memcpy(avr->flash + *place, &jump, sizeof jump);
    return old;
}

static void test_watchdog(void)
{
    test_begin("The watchdog restarts a hung board, with a new boot id, and pulses go on");
    struct rig rig = {0};
    for (uint64_t i = 0; i < 400; i++)
        rig_mark(&rig, SECOND / 5 + i * (SECOND / 100), MILLISECOND);
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, SECOND);
    size_t before = rig_count(&rig, 'P');
    uint32_t place;
    uint16_t instruction = hang(&rig, &place);
    uint64_t hung = rig.board.avr->cycle;
    while (rig.board.resets == 0 && rig.board.avr->cycle < hung + 3 * SECOND)
        avr_run(rig.board.avr);
    CHECK(rig.board.avr->cycle - hung < SECOND);
    size_t at_reset = rig_count(&rig, 'P');
    printf("      restarted %.3f s after it hung\n", (double)(rig.board.avr->cycle - hung) / SECOND);
    memcpy(rig.board.avr->flash + place, &instruction, sizeof instruction);
    rig.text_length = 0;
    rig_run_out(&rig, SECOND);
    CHECK_EQUAL(1, rig.board.resets);
    if (!CHECK_EQUAL(2, rig_count(&rig, 'H'))) {
        rig_free(&rig);
        return;
    }
    CHECK_EQUAL(rig_find(&rig, 'H', 0)->number + 1, rig_find(&rig, 'H', 1)->number);
    CHECK(before >= 70 && at_reset < before + 10);
    CHECK(rig_count(&rig, 'P') > at_reset + 200);
    CHECK_EQUAL(0, rig_find(&rig, 'P', at_reset)->number);
    CHECK_EQUAL(20000, rig_find(&rig, 'P', at_reset + 9)->tick - rig_find(&rig, 'P', at_reset + 8)->tick);
    CHECK_EQUAL(0, rig.bad_lines);
    rig_free(&rig);
}

static void test_quiet(void)
{
    test_begin("The watchdog leaves a working board alone for an hour");
    struct rig rig = {0};
    rig_power_up(&rig, true, NULL);
    rig_run_until(&rig, 3600 * SECOND);
    CHECK_EQUAL(0, rig.board.resets);
    CHECK_EQUAL(1, rig_count(&rig, 'H'));
    rig_free(&rig);
}

static void test_led(bool active_low)
{
    test_begin(active_low ? "The LED mirrors the sensor" : "The LED mirrors an active-high sensor");
    struct rig rig = {0};
    for (uint64_t i = 0; i < 200; i++)
        rig_mark(&rig, SECOND / 10 + i * 20 * MILLISECOND, (1 + i % 18) * MILLISECOND);
    rig_power_up(&rig, active_low, NULL);
    CHECK(!board_led(&rig.board));
    for (size_t i = 0; i < rig.mark_count; i++) {
        rig_run_until(&rig, rig.marks[i].start + MILLISECOND / 50);
        CHECK(board_led(&rig.board));
        rig_run_until(&rig, rig.marks[i].end - 1);
        CHECK(board_led(&rig.board));
        rig_run_until(&rig, rig.marks[i].end + MILLISECOND / 50);
        CHECK(!board_led(&rig.board));
    }
    rig_free(&rig);
}

void test_board(void)
{
    test_boot_ids();
    test_watchdog();
    test_quiet();
    test_led(true);
    test_led(false);
}
