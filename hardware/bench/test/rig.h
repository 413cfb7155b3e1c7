#ifndef ACQUIRE_RIG_H
#define ACQUIRE_RIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "board.h"

#define TICK_CYCLES 8
#define SECOND BOARD_HZ
#define MILLISECOND (BOARD_HZ / 1000)

/* One line of the board, taken apart. */
struct reading {
    char kind;       /* 0 where it is no good line */
    uint64_t cycle;  /* when its first byte was handed to the serial line */
    uint32_t number; /* sequence number, boot id or digits asked with */
    uint32_t tick;
    bool has_width;
    uint32_t width;
    uint32_t seen;
    uint32_t dropped;
};

/* A board with marks to see and its lines read. */
struct rig {
    struct board board;
    uint64_t timer_start; /* cycle in which the tick counter was 0 */
    struct mark *marks;
    size_t mark_count;
    size_t mark_room;
    size_t mark_next;
    struct reading *readings;
    size_t reading_count;
    size_t reading_room;
    char text[256];
    size_t text_length;
    uint64_t text_cycle;
    unsigned bad_lines;
};

void rig_set_images(const char *folder);
const char *rig_images(void);

/* Adds a mark to be seen; before rig_power_up, in order of time. */
void rig_mark(struct rig *rig, uint64_t start, uint64_t width);

/* Powers up the image for an active-low sensor (or active-high) and runs it until its counter counts. */
void rig_power_up(struct rig *rig, bool active_low, const uint8_t *eeprom);

/* The cycle in which the counter of a board with an erased EEPROM starts. */
uint64_t rig_timer_start(void);

/* Runs to that many cycles after the last mark, or after now where that is later. */
void rig_run_out(struct rig *rig, uint64_t cycles);

void rig_run_until(struct rig *rig, uint64_t cycle);
void rig_ask(struct rig *rig, const char *text);
void rig_free(struct rig *rig);

/* The tick the counter stands at in a cycle. */
uint32_t rig_tick(const struct rig *rig, uint64_t cycle);

/* How many lines of a kind there are, and one of them by its place among those of its kind; NULL where there is none. */
size_t rig_count(const struct rig *rig, char kind);
const struct reading *rig_find(const struct rig *rig, char kind, size_t place);

/* Checks that one pulse is one mark to the tick, its sequence number too. */
void rig_check_exact(const struct rig *rig, size_t pulse, size_t mark);

/* Checks that no line was bad, pulses were numbered without a gap, and the last status accounts for all of them. */
void rig_check_sound(const struct rig *rig, size_t pulses_seen);

#endif
