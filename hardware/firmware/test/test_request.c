#include <stddef.h>
#include <string.h>

#include "check.h"
#include "request.h"
#include "tests.h"

/* What the last byte of the text ends; no byte before it may end anything. */
static enum request_kind ask(struct request_reader *reader, const char *text)
{
    enum request_kind kind = REQUEST_NONE;
    for (size_t i = 0; text[i]; i++) {
        CHECK(kind == REQUEST_NONE);
        kind = request_byte(reader, text[i]);
    }
    return kind;
}

static void test_known(void)
{
    test_begin("Requests are known with and without CR");
    struct request_reader reader = {0};
    CHECK(ask(&reader, "?\n") == REQUEST_HELLO);
    CHECK(ask(&reader, "?\r\n") == REQUEST_HELLO);
    static const char *const digits[] = {"00", "7F", "fF", "A9"};
    for (size_t i = 0; i < sizeof digits / sizeof digits[0]; i++) {
        char text[8] = {'T', digits[i][0], digits[i][1], '\n'};
        CHECK(ask(&reader, text) == REQUEST_TIME);
        CHECK(memcmp(reader.asked, digits[i], 2) == 0);
    }
    CHECK(ask(&reader, "T12\r\n") == REQUEST_TIME);
}

static void test_unknown(void)
{
    test_begin("Anything else is passed over up to its line feed");
    static const char *const others[] = {"\n", "\r\n", "??\n", " ?\n", "T\n", "T1\n", "T123\n", "T1G\n", "t12\n", "T12 \n",
        "T12\r\r\n", "\r?\n", "H\n", "a line far longer than any request there is\n", "T12xT12\n", "xxxx?\n", "T/0\n", "T:0\n",
        "T@0\n", "T`0\n"};
    struct request_reader reader = {0};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        CHECK(ask(&reader, others[i]) == REQUEST_NONE);
        CHECK(ask(&reader, "?\n") == REQUEST_HELLO);
    }
    for (int byte = 0; byte < 1000; byte++)
        CHECK(request_byte(&reader, '?') == REQUEST_NONE);
    CHECK(ask(&reader, "\n") == REQUEST_NONE);
    CHECK(ask(&reader, "T55\n") == REQUEST_TIME);
}

void test_requests(void)
{
    test_known();
    test_unknown();
}
