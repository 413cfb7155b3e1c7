#ifndef ACQUIRE_BOOT_H
#define ACQUIRE_BOOT_H

#include <stdint.h>

/* Bytes of one slot: the boot id and a check, both low byte first. */
#define BOOT_SLOT_BYTES 4u

/* How the board's non-volatile memory is reached. */
struct boot_memory {
    uint16_t bytes;
    uint8_t (*read)(uint16_t address);
    void (*write)(uint16_t address, uint8_t value);
};

/*
 * Finds the boot id written last, writes its successor into the slot after it and returns that.
 * The slots are used in turn, so that each wears by one write in as many power-ups as there are slots.
 * A slot cut short by a power loss, or one that no longer keeps what is written, is passed over.
 */
uint16_t boot_claim(const struct boot_memory *memory);

#endif
