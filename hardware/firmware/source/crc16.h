#ifndef ACQUIRE_CRC16_H
#define ACQUIRE_CRC16_H

#include <stdint.h>

/* CRC-16/XMODEM: polynomial 0x1021, initial value 0, neither reflected nor inverted. */
uint16_t crc16_add(uint16_t crc, uint8_t byte);

#endif
