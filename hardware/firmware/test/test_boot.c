#include <stdlib.h>
#include <string.h>

#include "boot.h"
#include "check.h"
#include "tests.h"

#define BYTES 1024
#define SLOTS (BYTES / BOOT_SLOT_BYTES)
#define NEVER (-1)

static uint8_t cells[BYTES];
static unsigned wear[BYTES];
static int dead_cell;
static int writes_left; /* before the power goes; NEVER for no end */

static uint8_t read_cell(uint16_t address)
{
    return cells[address];
}

/* As the board does, a cell that already holds the value is left alone. A write cut short leaves any value. */
static void write_cell(uint16_t address, uint8_t value)
{
    if (writes_left == 0 || cells[address] == value)
        return;
    bool cut = writes_left != NEVER && --writes_left == 0;
    wear[address]++;
    if (address != dead_cell)
        cells[address] = cut ? (uint8_t)rand() : value;
}

static const struct boot_memory memory = {BYTES, read_cell, write_cell};

static void erase(uint8_t value)
{
    memset(cells, value, sizeof cells);
    memset(wear, 0, sizeof wear);
    dead_cell = NEVER;
    writes_left = NEVER;
    srand(20);
}

static void test_differ(void)
{
    test_begin("Boot ids never repeat within 65,536 power-ups, and go on after that");
    erase(0xFF);
    static bool used[65536];
    memset(used, 0, sizeof used);
    for (unsigned i = 0; i < 65536; i++) {
        uint16_t id = boot_claim(&memory);
        CHECK(!used[id]);
        used[id] = true;
    }
    CHECK_EQUAL(1, boot_claim(&memory));
    CHECK_EQUAL(2, boot_claim(&memory));
}

static void test_wear(void)
{
    test_begin("Every cell wears alike");
    erase(0xFF);
    for (unsigned i = 0; i < 100 * SLOTS; i++)
        boot_claim(&memory);
    unsigned most = 0;
    for (unsigned i = 0; i < BYTES; i++)
        most = wear[i] > most ? wear[i] : most;
    CHECK(most <= 100);
    for (unsigned i = 0; i < BYTES; i += BOOT_SLOT_BYTES)
        CHECK(wear[i] + wear[i + 1] + wear[i + 2] + wear[i + 3] >= 100);
}

static void test_contents(void)
{
    test_begin("A memory filled with any one value is a start like an erased one");
    for (int value = 0; value < 256; value++) {
        erase((uint8_t)value);
        CHECK_EQUAL(1, boot_claim(&memory));
        CHECK_EQUAL(2, boot_claim(&memory));
    }
}

/* An id counts as given only where the claim came to its end, as the board says it only then. */
static void test_power_cuts(void)
{
    test_begin("Power cut in the middle of a write never makes an id given before come again");
    unsigned repeats = 0;
    for (unsigned seed = 0; seed < 200; seed++) {
        erase(0xFF);
        srand(seed);
        static bool used[65536];
        memset(used, 0, sizeof used);
        for (unsigned i = 0; i < 600; i++) {
            writes_left = rand() % 3 ? NEVER : 1 + rand() % 4;
            uint16_t id = boot_claim(&memory);
            if (writes_left == 0)
                continue;
            repeats += used[id];
            used[id] = true;
        }
    }
    CHECK_EQUAL(0, repeats);
}

static void test_dead_cell(void)
{
    test_begin("A cell that keeps nothing is passed over");
    for (unsigned cell = 0; cell < 16; cell++) {
        erase(0xFF);
        dead_cell = (int)cell;
        for (unsigned i = 1; i <= 3 * SLOTS; i++)
            CHECK_EQUAL(i, boot_claim(&memory));
    }
}

void test_boot(void)
{
    test_differ();
    test_wear();
    test_contents();
    test_power_cuts();
    test_dead_cell();
}
