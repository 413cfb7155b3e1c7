#include "clock.h"

#include <util/atomic.h>

volatile uint16_t clock_high;

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1C = 0;
    TCNT1 = 0;
    TCCR1B = _BV(CS11); /* processor clock / 8 */
    TIMSK1 |= _BV(TOIE1);
}

uint32_t clock_now(void)
{
    uint32_t now;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        now = clock_now_locked();
    }
    return now;
}
