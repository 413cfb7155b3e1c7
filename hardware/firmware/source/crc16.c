#include "crc16.h"

uint16_t crc16_add(uint16_t crc, uint8_t byte)
{
    crc ^= (uint16_t)((uint16_t)byte << 8);
    for (uint8_t bit = 0; bit < 8; bit++) {
        if (crc & 0x8000u)
            crc = (uint16_t)((uint16_t)(crc << 1) ^ 0x1021u);
        else
            crc = (uint16_t)(crc << 1);
    }
    return crc;
}
