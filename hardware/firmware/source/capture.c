#include "capture.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

#include "board.h"
#include "clock.h"

#define SENSOR_PIN PB0
#define LED_PIN PB5

/* A mark that has not ended after this many overflows (1.05 s at most) is sent without a width. */
#define OVERFLOWS_BEFORE_SENT 32u

/*
 * Edges looked at between two overflows (32.768 ms), which is 21,360 pulses a second. They take two thirds of the
 * processor; more would come from a sensor that rings or a lead that picks up noise, and would silence the serial line.
 */
#define EDGES_PER_OVERFLOW 1400u

static struct queue queue;

static struct {
    bool open;   /* between a leading and a trailing edge */
    bool sent;   /* open, but sent already for its length */
    uint32_t lead;
    uint16_t edges; /* since the last overflow */
} mark;

static inline bool sensor_is_active(void)
{
    bool high = PINB & _BV(SENSOR_PIN);
    return SENSOR_ACTIVE_LOW ? !high : high;
}

static inline void look_for(bool leading)
{
    bool rising = SENSOR_ACTIVE_LOW ? !leading : leading;
    if (rising)
        TCCR1B |= _BV(ICES1);
    else
        TCCR1B &= (uint8_t)~_BV(ICES1);
    /* Changing the edge may itself have raised the flag. */
    TIFR1 = _BV(ICF1);
}

static inline void lead_at(uint32_t tick)
{
    PORTB |= _BV(LED_PIN);
    mark.open = true;
    mark.sent = false;
    mark.lead = tick;
}

static inline void trail_at(uint32_t tick)
{
    PORTB &= (uint8_t)~_BV(LED_PIN);
    mark.open = false;
    if (!mark.sent)
        queue_put(&queue, mark.lead, tick - mark.lead);
}

/* The input synchroniser and the noise filter together delay a capture by up to 7 cycles after the pin has changed. */
static inline void let_capture_settle(void)
{
    __builtin_avr_delay_cycles(8);
}

static inline void change_at(uint32_t tick)
{
    mark.edges++;
    if (mark.open)
        trail_at(tick);
    else
        lead_at(tick);
}

/*
 * An edge that passed before the circuit was told to look for it has left the pin changed and no capture. It is
 * taken as of armed_at, when the circuit was told: late, but by no more than that took. False where the sensor goes
 * on changing as fast as that.
 */
static inline bool catch_up(uint32_t armed_at)
{
    for (uint8_t turn = 0; turn < 4; turn++) {
        if (sensor_is_active() == mark.open)
            return true;
        let_capture_settle();
        if (TIFR1 & _BV(ICF1))
            return true;
        /* First of all, so that the next edge is not missed as well. */
        look_for(mark.open);
        uint32_t next = clock_now_locked();
        change_at(armed_at);
        armed_at = next;
    }
    return false;
}

/* Takes the sensor as it is: a mark that is there already gives no pulse, as its leading edge is not known. */
static inline void begin_anew(void)
{
    mark.open = mark.sent = sensor_is_active();
    if (mark.open)
        PORTB |= _BV(LED_PIN);
    else
        PORTB &= (uint8_t)~_BV(LED_PIN);
    look_for(!mark.open);
}

/* The processor is given to the rest of the program until the next overflow. */
static inline void look_away(void)
{
    TIMSK1 &= (uint8_t)~_BV(ICIE1);
}

/* However much was missed meanwhile, if anything was, shows as one dropped pulse. */
static inline void look_again(void)
{
    if ((TIFR1 & _BV(ICF1)) || sensor_is_active() != mark.open) {
        queue_drop(&queue);
        begin_anew();
    }
    if (catch_up(clock_now_locked()))
        TIMSK1 |= _BV(ICIE1);
}

ISR(TIMER1_CAPT_vect)
{
    uint16_t low = ICR1;
    look_for(mark.open);
    uint16_t armed_low = TCNT1;
    uint8_t flags = TIFR1;
    uint32_t tick = clock_widen(low, flags);
    uint32_t armed_at = clock_widen(armed_low, flags);
    if (flags & _BV(TOV1)) {
        /* Counted here so that pulses in close order cannot keep the overflow waiting for a whole turn. */
        TIFR1 = _BV(TOV1);
        clock_high++;
        mark.edges = 0;
    }
    change_at(tick);
    if (!catch_up(armed_at) || mark.edges >= EDGES_PER_OVERFLOW)
        look_away();
}

ISR(TIMER1_OVF_vect)
{
    clock_high++;
    mark.edges = 0;
    if (!(TIMSK1 & _BV(ICIE1)))
        look_again();
    uint16_t overflows = (uint16_t)(clock_high - (uint16_t)(mark.lead >> 16));
    if (mark.open && !mark.sent && overflows >= OVERFLOWS_BEFORE_SENT) {
        queue_put(&queue, mark.lead, PULSE_NO_WIDTH);
        mark.sent = true;
    }
}

void capture_start(void)
{
    DDRB |= _BV(LED_PIN);
    if (SENSOR_ACTIVE_LOW)
        PORTB |= _BV(SENSOR_PIN);
    clock_start();
    TCCR1B |= _BV(ICNC1);
    begin_anew();
    TIMSK1 |= _BV(ICIE1);
}

bool capture_take(struct pulse *pulse)
{
    return queue_take(&queue, pulse);
}

bool capture_is_empty(void)
{
    return queue_is_empty(&queue);
}

struct capture_counts capture_count(void)
{
    struct capture_counts counts;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        counts.seen = queue.seen;
        counts.dropped = queue.dropped;
    }
    return counts;
}
