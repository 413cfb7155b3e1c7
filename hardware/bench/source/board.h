#ifndef ACQUIRE_BENCH_BOARD_H
#define ACQUIRE_BENCH_BOARD_H

#include <simavr/sim_avr.h>
#include <simavr/avr_timer.h>
#include <simavr/avr_uart.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define BOARD_HZ 16000000ULL
#define BOARD_EEPROM_BYTES 1024

/* Between the bytes to the board, so that the program has taken one before the simulator's receiver gets the next. */
#define BOARD_BYTE_GAP_CYCLES 480

/* A time the sensor sees light, in processor cycles since power-up: from start, up to but not at end. */
struct mark {
    uint64_t start;
    uint64_t end;
};

/* Gives the next mark, later than the one before and not touching it; false where there are no more. */
typedef bool (*board_next_mark)(void *context, struct mark *mark);

/* Takes one byte that the board's serial line sends. */
typedef void (*board_byte_sent)(void *context, uint8_t byte);

struct board {
    avr_t *avr;
    avr_timer_t *timer;
    avr_uart_t *uart;
    avr_irq_t *sensor;
    avr_irq_t *receive;
    bool active_low;
    bool lit;              /* whether the sensor sees light now */
    bool more_marks;       /* whether mark holds one whose end is still to come */
    struct mark mark;
    uint64_t marks_driven; /* leading edges given to the pin so far */
    board_next_mark next_mark;
    void *mark_context;
    board_byte_sent byte_sent;
    void *byte_context;
    uint8_t waiting[4096]; /* bytes on their way to the board */
    size_t waiting_put;
    size_t waiting_taken;
    uint64_t byte_begun;   /* cycle the last of them began; it has arrived after board_byte_cycles */
    unsigned resets;
    void (*core_reset)(avr_t *avr);
};

/* Loads an image for the ATmega328P and powers it up; false, with a message on stderr, where it cannot be read. */
bool board_power_up(struct board *board, const char *image, bool active_low);

void board_power_down(struct board *board);

/* Where marks come from and bytes go to. Call before the first run. */
void board_set_marks(struct board *board, board_next_mark next_mark, void *context);
void board_set_output(struct board *board, board_byte_sent byte_sent, void *context);

/* Runs up to the cycle given, or a few cycles past it as instructions and sleep end. False once the program has crashed or stopped. */
bool board_run_until(struct board *board, uint64_t cycle);

/* How many bytes board_receive would take now. */
size_t board_receive_room(const struct board *board);

/* Gives bytes to the serial line, where they arrive one after another at its speed. Returns how many it took. */
size_t board_receive(struct board *board, const uint8_t *bytes, size_t count);

/* Cycles from the start of a byte on the line to its end, at the speed the program has set. */
uint64_t board_byte_cycles(const struct board *board);

void board_get_eeprom(struct board *board, uint8_t bytes[BOARD_EEPROM_BYTES]);
void board_set_eeprom(struct board *board, const uint8_t bytes[BOARD_EEPROM_BYTES]);

/* Whether the board's own LED is lit. */
bool board_led(struct board *board);

#endif
