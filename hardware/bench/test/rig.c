#include "rig.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "crc16.h"

static const char *images;

void rig_set_images(const char *folder)
{
    images = folder;
}

const char *rig_images(void)
{
    return images;
}

static void *grow(void *items, size_t *room, size_t size)
{
    *room = *room ? 2 * *room : 256;
    items = realloc(items, *room * size);
    if (!items)
        abort();
    return items;
}

void rig_mark(struct rig *rig, uint64_t start, uint64_t width)
{
    if (rig->mark_count == rig->mark_room)
        rig->marks = grow(rig->marks, &rig->mark_room, sizeof *rig->marks);
    rig->marks[rig->mark_count++] = (struct mark){start, start + width};
}

static bool next_mark(void *context, struct mark *mark)
{
    struct rig *rig = context;
    if (rig->mark_next == rig->mark_count)
        return false;
    *mark = rig->marks[rig->mark_next++];
    return true;
}

static bool check_matches(const char *text, size_t body)
{
    uint16_t crc = 0;
    for (size_t i = 0; i < body; i++)
        crc = crc16_add(crc, (uint8_t)text[i]);
    char expected[6];
    snprintf(expected, sizeof expected, "*%04X", crc);
    return strcmp(text + body, expected) == 0;
}

static bool take_apart(const char *text, struct reading *reading)
{
    size_t body = strcspn(text, "*");
    if (!check_matches(text, body))
        return false;
    int end = 0;
    reading->kind = text[0];
    if (sscanf(text, "H,1,2000000,32,%4X,atmega328p%n", &reading->number, &end) == 1 && (size_t)end == body)
        return true;
    if (sscanf(text, "P%2X,%8X,%X%n", &reading->number, &reading->tick, &reading->width, &end) == 3 && (size_t)end == body)
        return reading->has_width = true;
    if (sscanf(text, "P%2X,%8X%n", &reading->number, &reading->tick, &end) == 2 && (size_t)end == body)
        return true;
    if (sscanf(text, "S,%8X,%8X,%4X%n", &reading->tick, &reading->seen, &reading->dropped, &end) == 3 && (size_t)end == body)
        return true;
    return sscanf(text, "T%2X,%8X%n", &reading->number, &reading->tick, &end) == 2 && (size_t)end == body;
}

static void end_line(struct rig *rig)
{
    rig->text[rig->text_length] = '\0';
    struct reading reading = {.cycle = rig->text_cycle};
    if (!take_apart(rig->text, &reading)) {
        printf("      bad line from the board: %s\n", rig->text);
        reading.kind = 0;
        rig->bad_lines++;
    }
    if (rig->reading_count == rig->reading_room)
        rig->readings = grow(rig->readings, &rig->reading_room, sizeof *rig->readings);
    rig->readings[rig->reading_count++] = reading;
    rig->text_length = 0;
}

static void take_byte(void *context, uint8_t byte)
{
    struct rig *rig = context;
    if (rig->text_length == 0)
        rig->text_cycle = rig->board.avr->cycle;
    if (byte == '\n')
        end_line(rig);
    else if (rig->text_length < sizeof rig->text - 1)
        rig->text[rig->text_length++] = (char)byte;
}

void rig_power_up(struct rig *rig, bool active_low, const uint8_t *eeprom)
{
    char image[4096];
    snprintf(image, sizeof image, "%s/%sacquire-board.elf", images, active_low ? "" : "high/");
    if (!board_power_up(&rig->board, image, active_low))
        exit(2);
    if (eeprom)
        board_set_eeprom(&rig->board, eeprom);
    board_set_output(&rig->board, take_byte, rig);
    board_set_marks(&rig->board, next_mark, rig);
    while (rig->board.timer->tov_base == 0)
        rig_run_until(rig, rig->board.avr->cycle + 1000);
    rig->timer_start = rig->board.timer->tov_base;
}

uint64_t rig_timer_start(void)
{
    static uint64_t start;
    if (start == 0) {
        struct rig rig = {0};
        rig_power_up(&rig, true, NULL);
        start = rig.timer_start;
        rig_free(&rig);
    }
    return start;
}

void rig_run_until(struct rig *rig, uint64_t cycle)
{
    if (!board_run_until(&rig->board, cycle))
        CHECK(!"the program stopped");
}

void rig_run_out(struct rig *rig, uint64_t cycles)
{
    uint64_t from = rig->board.avr->cycle;
    if (rig->mark_count && rig->marks[rig->mark_count - 1].end > from)
        from = rig->marks[rig->mark_count - 1].end;
    rig_run_until(rig, from + cycles);
}

void rig_ask(struct rig *rig, const char *text)
{
    CHECK_EQUAL(strlen(text), board_receive(&rig->board, (const uint8_t *)text, strlen(text)));
}

void rig_free(struct rig *rig)
{
    board_power_down(&rig->board);
    free(rig->marks);
    free(rig->readings);
}

uint32_t rig_tick(const struct rig *rig, uint64_t cycle)
{
    return (uint32_t)((cycle - rig->timer_start) / TICK_CYCLES);
}

size_t rig_count(const struct rig *rig, char kind)
{
    size_t count = 0;
    for (size_t i = 0; i < rig->reading_count; i++)
        count += rig->readings[i].kind == kind;
    return count;
}

const struct reading *rig_find(const struct rig *rig, char kind, size_t place)
{
    for (size_t i = 0; i < rig->reading_count; i++) {
        if (rig->readings[i].kind == kind && place-- == 0)
            return &rig->readings[i];
    }
    return NULL;
}

void rig_check_exact(const struct rig *rig, size_t pulse, size_t mark)
{
    const struct reading *reading = rig_find(rig, 'P', pulse);
    if (!CHECK(reading != NULL))
        return;
    uint32_t lead = rig_tick(rig, rig->marks[mark].start);
    uint32_t trail = rig_tick(rig, rig->marks[mark].end);
    CHECK_EQUAL(lead, reading->tick);
    CHECK(reading->has_width);
    CHECK_EQUAL(trail - lead, reading->width);
    CHECK_EQUAL(pulse % 256, reading->number);
}

void rig_check_sound(const struct rig *rig, size_t pulses_seen)
{
    CHECK_EQUAL(0, rig->bad_lines);
    size_t pulses = 0;
    const struct reading *status = NULL;
    for (size_t i = 0; i < rig->reading_count; i++) {
        const struct reading *reading = &rig->readings[i];
        if (reading->kind == 'S')
            status = reading;
        if (reading->kind == 'P')
            CHECK_EQUAL(pulses++ % 256, reading->number);
    }
    if (!CHECK(status != NULL))
        return;
    CHECK_EQUAL(pulses_seen, status->seen);
    CHECK_EQUAL(pulses_seen, pulses + status->dropped);
}
