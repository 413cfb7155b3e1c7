#include "serial.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "board.h"
#include "clock.h"
#include "request.h"

#define BAUD_TOL 3
#include <util/setbaud.h>

#define SEND_BYTES 128u
#define TIMES_KEPT 4u

static char bytes[SEND_BYTES];
static volatile uint8_t bytes_put;
static volatile uint8_t bytes_sent;

static struct request_reader reader;
static volatile bool hello_asked;
static struct time_request times[TIMES_KEPT];
static volatile uint8_t times_put;
static volatile uint8_t times_taken;

void serial_start(void)
{
    UCSR0A = USE_2X ? _BV(U2X0) : 0;
    UBRR0 = UBRR_VALUE;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

bool serial_has_room(void)
{
    return (uint8_t)(bytes_put - bytes_sent) < SEND_BYTES - LINE_LONGEST;
}

void serial_send(const struct line *line)
{
    uint8_t put = bytes_put;
    for (uint8_t i = 0; i < line->length; i++)
        bytes[put++ % SEND_BYTES] = line->text[i];
    bytes_put = put;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        UCSR0B |= _BV(UDRIE0);
    }
}

ISR(USART_UDRE_vect)
{
    uint8_t sent = bytes_sent;
    if (sent == bytes_put) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = (uint8_t)bytes[sent % SEND_BYTES];
    bytes_sent = (uint8_t)(sent + 1);
}

/* A request that finds four others waiting gets no answer. */
static inline void keep_time_request(uint32_t tick)
{
    uint8_t put = times_put;
    if ((uint8_t)(put - times_taken) == TIMES_KEPT)
        return;
    struct time_request *request = &times[put % TIMES_KEPT];
    request->asked[0] = reader.asked[0];
    request->asked[1] = reader.asked[1];
    request->tick = tick;
    times_put = (uint8_t)(put + 1);
}

ISR(USART_RX_vect)
{
    uint32_t tick = clock_now_locked();
    bool damaged = UCSR0A & (_BV(FE0) | _BV(DOR0));
    char byte = (char)UDR0;
    /* A damaged byte spoils the request it is in. */
    enum request_kind kind = request_byte(&reader, damaged ? '!' : byte);
    if (kind == REQUEST_HELLO)
        hello_asked = true;
    else if (kind == REQUEST_TIME)
        keep_time_request(tick);
}

bool serial_is_asked(void)
{
    return hello_asked || times_put != times_taken;
}

bool serial_take_time(struct time_request *request)
{
    uint8_t taken = times_taken;
    if (times_put == taken)
        return false;
    *request = times[taken % TIMES_KEPT];
    times_taken = (uint8_t)(taken + 1);
    return true;
}

bool serial_take_hello(void)
{
    bool asked = hello_asked;
    hello_asked = false;
    return asked;
}
