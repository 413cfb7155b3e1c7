#ifndef ACQUIRE_BOARD_H
#define ACQUIRE_BOARD_H

/*
 * Pins of an ATmega328P board:
 *   PB0 (ICP1; D8 on common boards)  sensor
 *   PB5 (D13, the board's own LED)   mirrors the sensor, for aiming
 *   PD0, PD1 (D0, D1)                serial line
 */
#define BOARD_NAME "atmega328p"

#define TIMER_PRESCALER 8u
#define TICK_HZ (F_CPU / TIMER_PRESCALER)
#define TICK_BITS 32u

/* 1 where the sensor pulls the pin low on a mark (the default), 0 where it drives it high. */
#ifndef SENSOR_ACTIVE_LOW
#define SENSOR_ACTIVE_LOW 1
#endif

#ifndef BAUD
#define BAUD 115200UL
#endif

#endif
