#include "request.h"

#include <stdbool.h>

static bool is_hex(char digit)
{
    return (digit >= '0' && digit <= '9') || (digit >= 'A' && digit <= 'F') || (digit >= 'a' && digit <= 'f');
}

static enum request_kind judge(struct request_reader *reader, uint8_t length)
{
    const char *text = reader->text;
    if (length == 1 && text[0] == '?')
        return REQUEST_HELLO;
    if (length != 3 || text[0] != 'T' || !is_hex(text[1]) || !is_hex(text[2]))
        return REQUEST_NONE;
    reader->asked[0] = text[1];
    reader->asked[1] = text[2];
    return REQUEST_TIME;
}

enum request_kind request_byte(struct request_reader *reader, char byte)
{
    uint8_t length = reader->length;
    if (byte != '\n') {
        /* Length stops one past the room, which marks the line as too long. */
        if (length < sizeof reader->text)
            reader->text[length] = byte;
        if (length <= sizeof reader->text)
            reader->length = (uint8_t)(length + 1);
        return REQUEST_NONE;
    }
    reader->length = 0;
    if (length > 0 && length <= sizeof reader->text && reader->text[length - 1] == '\r')
        length--;
    return judge(reader, length);
}
