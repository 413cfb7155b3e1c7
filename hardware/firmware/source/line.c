#include "line.h"

#include "crc16.h"

static void put_raw(struct line *line, char character)
{
    line->text[line->length++] = character;
}

static void put(struct line *line, char character)
{
    line->crc = crc16_add(line->crc, (uint8_t)character);
    put_raw(line, character);
}

static char hex_digit(uint8_t value)
{
    value &= 0x0F;
    return (char)(value < 10 ? '0' + value : 'A' + (value - 10));
}

static void put_hex(struct line *line, uint32_t value, uint8_t digits)
{
    while (digits-- > 0)
        put(line, hex_digit((uint8_t)(value >> (4u * digits))));
}

static uint8_t hex_length(uint32_t value)
{
    uint8_t digits = 1;
    while (value >>= 4)
        digits++;
    return digits;
}

static void put_decimal(struct line *line, uint32_t value)
{
    char digits[10];
    uint8_t count = 0;
    do {
        digits[count++] = (char)('0' + value % 10u);
        value /= 10u;
    } while (value);
    while (count > 0)
        put(line, digits[--count]);
}

static void begin(struct line *line, char kind)
{
    line->length = 0;
    line->crc = 0;
    put(line, kind);
}

static void end(struct line *line)
{
    uint16_t crc = line->crc;
    put_raw(line, '*');
    for (uint8_t shift = 16; shift > 0; shift -= 4)
        put_raw(line, hex_digit((uint8_t)(crc >> (shift - 4))));
    put_raw(line, '\n');
}

void line_hello(struct line *line, uint32_t tick_hz, uint8_t bits, uint16_t boot, const char *name)
{
    begin(line, 'H');
    put(line, ',');
    put(line, '1');
    put(line, ',');
    put_decimal(line, tick_hz);
    put(line, ',');
    put_decimal(line, bits);
    put(line, ',');
    put_hex(line, boot, 4);
    put(line, ',');
    for (uint8_t i = 0; i < 16 && name[i]; i++)
        put(line, name[i]);
    end(line);
}

static void put_pulse(struct line *line, uint8_t sequence, uint32_t tick)
{
    begin(line, 'P');
    put_hex(line, sequence, 2);
    put(line, ',');
    put_hex(line, tick, 8);
}

void line_pulse(struct line *line, uint8_t sequence, uint32_t tick)
{
    put_pulse(line, sequence, tick);
    end(line);
}

void line_pulse_width(struct line *line, uint8_t sequence, uint32_t tick, uint32_t width)
{
    put_pulse(line, sequence, tick);
    put(line, ',');
    put_hex(line, width, hex_length(width));
    end(line);
}

void line_status(struct line *line, uint32_t tick, uint32_t seen, uint16_t dropped)
{
    begin(line, 'S');
    put(line, ',');
    put_hex(line, tick, 8);
    put(line, ',');
    put_hex(line, seen, 8);
    put(line, ',');
    put_hex(line, dropped, 4);
    end(line);
}

void line_time(struct line *line, const char asked[2], uint32_t tick)
{
    begin(line, 'T');
    put(line, asked[0]);
    put(line, asked[1]);
    put(line, ',');
    put_hex(line, tick, 8);
    end(line);
}
