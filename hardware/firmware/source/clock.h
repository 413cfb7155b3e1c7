#ifndef ACQUIRE_CLOCK_H
#define ACQUIRE_CLOCK_H

#include <avr/io.h>
#include <stdint.h>

/* Upper half of the tick counter: overflows of timer 1. Only interrupts write it. */
extern volatile uint16_t clock_high;

/* Starts timer 1, capture armed by the caller. */
void clock_start(void);

/*
 * Widens a 16-bit time taken at or before the read of TIFR1 to 32 bits. Interrupts must be off.
 * An overflow that nobody has counted yet belongs to the time only if the time came after it, which a
 * small value tells from a large one, as the wait is far below half a turn of the counter (16 ms).
 */
static inline uint32_t clock_widen(uint16_t low, uint8_t flags)
{
    uint16_t high = clock_high;
    if ((flags & _BV(TOV1)) && low < 0x8000u)
        high++;
    return (uint32_t)high << 16 | low;
}

/* Tick counter now. Interrupts must be off. */
static inline uint32_t clock_now_locked(void)
{
    uint16_t low = TCNT1;
    return clock_widen(low, TIFR1);
}

/* Tick counter now. */
uint32_t clock_now(void);

#endif
