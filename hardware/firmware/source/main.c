#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "board.h"
#include "boot.h"
#include "capture.h"
#include "clock.h"
#include "line.h"
#include "serial.h"

static uint16_t boot_id;
static uint8_t sequence;
static uint32_t status_due = TICK_HZ;
static struct line line;

/* After a watchdog reset the watchdog runs on at its shortest time, so it is stopped before anything else. */
void stop_watchdog(void) __attribute__((naked, used, section(".init3")));

void stop_watchdog(void)
{
    MCUSR = 0;
    wdt_disable();
}

static uint8_t read_eeprom(uint16_t address)
{
    return eeprom_read_byte((const uint8_t *)address);
}

static void write_eeprom(uint16_t address, uint8_t value)
{
    eeprom_update_byte((uint8_t *)address, value);
}

static uint16_t claim_boot_id(void)
{
    static const struct boot_memory memory = {E2END + 1, read_eeprom, write_eeprom};
    return boot_claim(&memory);
}

static void send_hello(void)
{
    line_hello(&line, TICK_HZ, TICK_BITS, boot_id, BOARD_NAME);
    serial_send(&line);
}

static void answer(void)
{
    struct time_request request;
    if (serial_take_time(&request)) {
        line_time(&line, request.asked, request.tick);
        serial_send(&line);
    } else if (serial_take_hello()) {
        send_hello();
    }
}

static bool status_is_due(void)
{
    return (int32_t)(clock_now() - status_due) >= 0;
}

static void send_status(void)
{
    struct capture_counts counts = capture_count();
    line_status(&line, clock_now(), counts.seen, counts.dropped);
    serial_send(&line);
    status_due += TICK_HZ;
}

static void send_pulse(void)
{
    struct pulse pulse;
    capture_take(&pulse);
    if (pulse.width == PULSE_NO_WIDTH)
        line_pulse(&line, sequence, pulse.tick);
    else
        line_pulse_width(&line, sequence, pulse.tick, pulse.width);
    sequence++;
    serial_send(&line);
}

/*
 * Sends one line if there is one and room for it. A full queue silences neither status nor answers, and a host that
 * asks without end does not hold up the pulses: the two take turns.
 */
static bool send_one(void)
{
    static bool pulse_next;
    if (!serial_has_room())
        return false;
    bool asked = serial_is_asked();
    bool waiting = !capture_is_empty();
    if (status_is_due())
        send_status();
    else if (asked && !(waiting && pulse_next))
        answer();
    else if (waiting)
        send_pulse();
    else
        return false;
    pulse_next = asked && !pulse_next;
    return true;
}

/* Sleeps until an interrupt, unless one has brought work since it was last looked for. */
static void sleep_if_idle(void)
{
    cli();
    if (!serial_has_room() || (!serial_is_asked() && capture_is_empty())) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

int main(void)
{
    boot_id = claim_boot_id();
    set_sleep_mode(SLEEP_MODE_IDLE);
    serial_start();
    capture_start();
    wdt_enable(WDTO_500MS);
    send_hello();
    sei();
    for (;;) {
        wdt_reset();
        if (!send_one())
            sleep_if_idle();
    }
}
