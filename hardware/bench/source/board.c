#include "board.h"

#include <simavr/avr_eeprom.h>
#include <simavr/avr_ioport.h>
#include <simavr/sim_elf.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Data addresses, ATmega328P data sheet, register summary. */
#define PINB_ADDRESS 0x23
#define DDRB_ADDRESS 0x24
#define PORTB_ADDRESS 0x25
#define TIFR1_ADDRESS 0x36
#define UDR0_ADDRESS 0xC6
#define SENSOR_BIT 0
#define LED_BIT 5

/* Instructions run in one go, at most up to the next event; more gains no speed. */
#define RUN_CYCLES 1000

static struct board *board_of(avr_t *avr)
{
    return avr->custom.data;
}

static void log_to_stderr(avr_t *avr, const int level, const char *format, va_list arguments)
{
    (void)avr;
    if (level <= LOG_ERROR)
        vfprintf(stderr, format, arguments);
}

/* Sleep costs nothing: the caller paces. */
static void skip_sleep(avr_t *avr, avr_cycle_count_t cycles)
{
    (void)avr;
    (void)cycles;
}

DEFINE_FIFO(avr_int_vector_p, avr_int_pending);

/* The simulator leaves a cleared interrupt in its list of waiting ones; under a flood of edges they would crowd out all others. */
static void stop_waiting(avr_t *avr, const avr_int_vector_t *vector)
{
    avr_int_pending_t *waiting = &avr->interrupts.pending;
    for (int left = avr_int_pending_get_read_size(waiting); left > 0; left--) {
        avr_int_vector_p first = avr_int_pending_read(waiting);
        if (first != vector)
            avr_int_pending_write(waiting, first);
    }
    if (avr->interrupt_state > 0 && avr_int_pending_isempty(waiting))
        avr->interrupt_state = 0;
}

static void clear_flag(avr_t *avr, avr_int_vector_t *vector, uint8_t written)
{
    if (!vector->raised.reg || !(written >> vector->raised.bit & 1) || !avr_regbit_get(avr, vector->raised))
        return;
    avr_clear_interrupt(avr, vector);
    stop_waiting(avr, vector);
}

/*
 * On the chip, writing TIFR1 clears the flags written as one. The simulator's own handler (1.6) clears all of
 * them, which would lose an overflow that falls together with an edge.
 */
static void write_timer_flags(avr_t *avr, avr_io_addr_t address, uint8_t value, void *context)
{
    (void)address;
    avr_timer_t *timer = context;
    clear_flag(avr, &timer->overflow, value);
    clear_flag(avr, &timer->icr, value);
    for (int i = 0; i < AVR_TIMER_COMP_COUNT; i++)
        clear_flag(avr, &timer->comp[i].interrupt, value);
}

/* The pin is held from outside, so that the simulator does not put its pull-up's level back at the next write to the port. */
static void drive_sensor(struct board *board, bool lit)
{
    bool high = lit != board->active_low;
    avr_ioport_external_t held = {.name = 'B', .mask = 1u << SENSOR_BIT, .value = high ? 1u << SENSOR_BIT : 0};
    avr_ioctl(board->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('B'), &held);
    avr_raise_irq(board->sensor, high);
    board->lit = lit;
}

/*
 * Events are served after the instruction they fall into. The cycle counter is put back to the event's own
 * time while the pin changes, so that the capture is exact.
 */
static avr_cycle_count_t change_sensor(avr_t *avr, avr_cycle_count_t when, void *context)
{
    struct board *board = context;
    avr_cycle_count_t now = avr->cycle;
    avr->cycle = when;
    drive_sensor(board, !board->lit);
    avr->cycle = now;
    if (board->lit) {
        board->marks_driven++;
        return board->mark.end;
    }
    board->more_marks = board->next_mark(board->mark_context, &board->mark);
    return board->more_marks ? board->mark.start : 0;
}

static avr_cycle_count_t feed_receiver(avr_t *avr, avr_cycle_count_t when, void *context)
{
    struct board *board = context;
    if (board->waiting_taken == board->waiting_put)
        return 0;
    avr_raise_irq(board->receive, board->waiting[board->waiting_taken++ % sizeof board->waiting]);
    board->byte_begun = avr->cycle;
    return when + board_byte_cycles(board) + BOARD_BYTE_GAP_CYCLES;
}

/* A timer of the simulator counts from now; one that is due already fires at once, with its own time. */
static void schedule(struct board *board, uint64_t cycle, avr_cycle_timer_t event)
{
    avr_cycle_timer_register(board->avr, cycle - board->avr->cycle, event, board);
}

static void schedule_sensor(struct board *board)
{
    if (board->more_marks)
        schedule(board, board->lit ? board->mark.end : board->mark.start, change_sensor);
}

static void restore_sensor_pin(struct board *board)
{
    bool high = board->lit != board->active_low;
    board->avr->data[PINB_ADDRESS] = high ? 1u << SENSOR_BIT : 0;
}

/* A reset takes every event off the simulator's list, but the world outside the chip goes on. */
static void reset_core(avr_t *avr)
{
    struct board *board = board_of(avr);
    if (board->core_reset)
        board->core_reset(avr);
    avr->run_cycle_limit = RUN_CYCLES;
    board->resets++;
    restore_sensor_pin(board);
    schedule_sensor(board);
    board->waiting_taken = board->waiting_put;
}

static void send_byte(struct avr_irq_t *irq, uint32_t value, void *context)
{
    (void)irq;
    struct board *board = context;
    if (board->byte_sent)
        board->byte_sent(board->byte_context, (uint8_t)value);
}

static void connect(struct board *board)
{
    avr_t *avr = board->avr;
    board->timer = avr->io[AVR_DATA_TO_IO(TIFR1_ADDRESS)].w.param;
    avr->io[AVR_DATA_TO_IO(TIFR1_ADDRESS)].w.c = write_timer_flags;
    board->sensor = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), SENSOR_BIT);
    board->receive = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    board->uart = avr->io[AVR_DATA_TO_IO(UDR0_ADDRESS)].w.param;
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), send_byte, board);
    drive_sensor(board, false);
}

bool board_power_up(struct board *board, const char *image, bool active_low)
{
    memset(board, 0, sizeof *board);
    board->active_low = active_low;
    avr_global_logger_set(log_to_stderr);
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    if (elf_read_firmware(image, &firmware) != 0) {
        fprintf(stderr, "%s: cannot be read as an image; build it with make in hardware/firmware\n", image);
        return false;
    }
    board->avr = avr_make_mcu_by_name("atmega328p");
    if (!board->avr)
        return false;
    avr_init(board->avr);
    board->avr->custom.data = board;
    board->avr->frequency = BOARD_HZ;
    avr_load_firmware(board->avr, &firmware);
    board->avr->frequency = BOARD_HZ;
    board->avr->sleep = skip_sleep;
    board->avr->run_cycle_limit = RUN_CYCLES;
    board->core_reset = board->avr->reset;
    board->avr->reset = reset_core;
    connect(board);
    free(firmware.flash);
    return true;
}

void board_power_down(struct board *board)
{
    avr_terminate(board->avr);
    free(board->avr);
    board->avr = NULL;
}

void board_set_marks(struct board *board, board_next_mark next_mark, void *context)
{
    board->next_mark = next_mark;
    board->mark_context = context;
    board->more_marks = next_mark(context, &board->mark);
    schedule_sensor(board);
}

void board_set_output(struct board *board, board_byte_sent byte_sent, void *context)
{
    board->byte_sent = byte_sent;
    board->byte_context = context;
}

static avr_cycle_count_t wake(avr_t *avr, avr_cycle_count_t when, void *context)
{
    (void)avr;
    (void)when;
    (void)context;
    return 0;
}

bool board_run_until(struct board *board, uint64_t cycle)
{
    avr_t *avr = board->avr;
    if (avr->cycle >= cycle)
        return true;
    schedule(board, cycle, wake);
    while (avr->cycle < cycle) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed)
            return false;
    }
    return true;
}

size_t board_receive_room(const struct board *board)
{
    return sizeof board->waiting - (board->waiting_put - board->waiting_taken);
}

size_t board_receive(struct board *board, const uint8_t *bytes, size_t count)
{
    size_t room = board_receive_room(board);
    if (count > room)
        count = room;
    if (count == 0)
        return 0;
    for (size_t i = 0; i < count; i++)
        board->waiting[board->waiting_put++ % sizeof board->waiting] = bytes[i];
    if (!avr_cycle_timer_status(board->avr, feed_receiver, board))
        avr_cycle_timer_register(board->avr, board_byte_cycles(board), feed_receiver, board);
    return count;
}

uint64_t board_byte_cycles(const struct board *board)
{
    return board->uart->cycles_per_byte;
}

void board_get_eeprom(struct board *board, uint8_t bytes[BOARD_EEPROM_BYTES])
{
    avr_eeprom_desc_t all = {.ee = bytes, .offset = 0, .size = BOARD_EEPROM_BYTES};
    avr_ioctl(board->avr, AVR_IOCTL_EEPROM_GET, &all);
}

void board_set_eeprom(struct board *board, const uint8_t bytes[BOARD_EEPROM_BYTES])
{
    uint8_t copy[BOARD_EEPROM_BYTES];
    memcpy(copy, bytes, sizeof copy);
    avr_eeprom_desc_t all = {.ee = copy, .offset = 0, .size = BOARD_EEPROM_BYTES};
    avr_ioctl(board->avr, AVR_IOCTL_EEPROM_SET, &all);
}

bool board_led(struct board *board)
{
    const uint8_t *data = board->avr->data;
    return data[DDRB_ADDRESS] & data[PORTB_ADDRESS] & (1u << LED_BIT);
}
