#ifndef ACQUIRE_LINE_H
#define ACQUIRE_LINE_H

#include <stdint.h>

/* Longest line of the protocol, its line feed not counted. */
#define LINE_LONGEST 64

/* One line being built: text, check and line feed; no terminating zero. */
struct line {
    uint8_t length;
    uint16_t crc;
    char text[LINE_LONGEST + 1];
};

/* H: who speaks. tick_hz in ticks per second, bits is the width of the tick counter. */
void line_hello(struct line *line, uint32_t tick_hz, uint8_t bits, uint16_t boot, const char *name);

/* P without a width. */
void line_pulse(struct line *line, uint8_t sequence, uint32_t tick);

/* P with the width in ticks, written without leading zeros. */
void line_pulse_width(struct line *line, uint8_t sequence, uint32_t tick, uint32_t width);

/* S: tick counter now, pulses seen and dropped since boot. */
void line_status(struct line *line, uint32_t tick, uint32_t seen, uint16_t dropped);

/* T: answer to a request for the time; asked are the two digits it came with. */
void line_time(struct line *line, const char asked[2], uint32_t tick);

#endif
