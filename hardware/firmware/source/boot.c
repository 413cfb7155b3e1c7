#include "boot.h"

#include <stdbool.h>

#include "crc16.h"

/* Makes neither an erased nor an all-zero slot pass its check. */
#define CHECK_SALT 0xA55Au

struct last {
    bool found;
    uint16_t slot;
    uint16_t id;
};

static uint16_t check_of(uint16_t id)
{
    uint16_t crc = crc16_add(0, (uint8_t)id);
    return crc16_add(crc, (uint8_t)(id >> 8)) ^ CHECK_SALT;
}

static uint16_t read_word(const struct boot_memory *memory, uint16_t address)
{
    uint16_t low = memory->read(address);
    return (uint16_t)(low | (uint16_t)memory->read((uint16_t)(address + 1)) << 8);
}

static bool read_slot(const struct boot_memory *memory, uint16_t slot, uint16_t *id)
{
    uint16_t address = (uint16_t)(slot * BOOT_SLOT_BYTES);
    *id = read_word(memory, address);
    return read_word(memory, (uint16_t)(address + 2)) == check_of(*id);
}

static void write_word(const struct boot_memory *memory, uint16_t address, uint16_t value)
{
    memory->write(address, (uint8_t)value);
    memory->write((uint16_t)(address + 1), (uint8_t)(value >> 8));
}

static void write_slot(const struct boot_memory *memory, uint16_t slot, uint16_t id)
{
    uint16_t address = (uint16_t)(slot * BOOT_SLOT_BYTES);
    write_word(memory, address, id);
    write_word(memory, (uint16_t)(address + 2), check_of(id));
}

/* Ids wrap at 16 bits: of two that are less than half the circle apart, the one ahead is later. */
static bool is_later(uint16_t id, uint16_t than)
{
    return (uint16_t)(id - than) - 1u < 0x7FFFu;
}

static struct last find_last(const struct boot_memory *memory, uint16_t slots)
{
    struct last last = {false, 0, 0};
    for (uint16_t slot = 0; slot < slots; slot++) {
        uint16_t id;
        if (read_slot(memory, slot, &id) && (!last.found || is_later(id, last.id))) {
            last.found = true;
            last.slot = slot;
            last.id = id;
        }
    }
    return last;
}

uint16_t boot_claim(const struct boot_memory *memory)
{
    uint16_t slots = memory->bytes / BOOT_SLOT_BYTES;
    struct last last = find_last(memory, slots);
    uint16_t id = last.found ? (uint16_t)(last.id + 1) : 1;
    uint16_t slot = last.found ? last.slot : (uint16_t)(slots - 1);
    for (uint16_t tried = 0; tried < slots; tried++) {
        uint16_t kept;
        slot = (uint16_t)((slot + 1) % slots);
        write_slot(memory, slot, id);
        if (read_slot(memory, slot, &kept) && kept == id)
            break;
    }
    return id;
}
