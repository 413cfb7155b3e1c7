#ifndef ACQUIRE_REQUEST_H
#define ACQUIRE_REQUEST_H

#include <stdint.h>

enum request_kind {
    REQUEST_NONE,  /* the byte ended no request the board knows */
    REQUEST_HELLO, /* "?" */
    REQUEST_TIME   /* "T" and two hex digits, left in asked */
};

/* Gathers the host's bytes into requests. All zero is the start state. */
struct request_reader {
    uint8_t length;
    char text[4];
    char asked[2];
};

/* Takes one byte from the host. A line that is no request is passed over up to its line feed. */
enum request_kind request_byte(struct request_reader *reader, char byte);

#endif
