#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <string.h>

#include "check.h"
#include "marks.h"
#include "tests.h"

static FILE *file_of(const char *text)
{
    FILE *file = tmpfile();
    if (!CHECK(file != NULL))
        return NULL;
    fputs(text, file);
    rewind(file);
    return file;
}

static void check_read(const char *text, const struct mark *expected, size_t count)
{
    struct marks marks;
    FILE *file = file_of(text);
    marks_open(&marks, file, "marks");
    struct mark mark;
    for (size_t i = 0; i < count; i++) {
        CHECK(marks_next(&marks, &mark));
        CHECK_EQUAL(expected[i].start, mark.start);
        CHECK_EQUAL(expected[i].end, mark.end);
    }
    CHECK(!marks_next(&marks, &mark));
    CHECK(!marks.bad);
    fclose(file);
}

static void test_exact(void)
{
    test_begin("Marks are read to the cycle, 90 minutes in as well");
    static const struct mark expected[] = {{0, 1}, {16000000, 16016000}, {86400000001, 86400000003}};
    check_read("# start width\n0 62.5e-9\n\n1.0 0.001 # comment\n  5400.0000000625\t0.000000125\r\n", expected, 3);
}

static void test_overlap(void)
{
    test_begin("Marks that overlap or touch become one");
    static const struct mark expected[] = {{16000000, 16000000 + 64000}, {32000000, 32016000}};
    check_read("1 0.002\n1.001 0.0005\n1.001 0.002\n1.003 0.001\n2 0.001\n", expected, 2);
}

/* The message goes to standard error; what counts is that reading ends there. */
static void check_refused(const char *text)
{
    struct marks marks;
    FILE *file = file_of(text);
    marks_open(&marks, file, "refused as it should be");
    struct mark mark;
    size_t count = 0;
    while (marks_next(&marks, &mark))
        count++;
    CHECK(marks.bad);
    CHECK_EQUAL(1, count);
    CHECK_EQUAL(2, marks.line);
    fclose(file);
}

static void test_refused(void)
{
    test_begin("A line that is no mark ends the reading and is named");
    static const char *const others[] = {"x", "2", "2 0.001 3", "0.5 0.001", "2 0", "2 -1", "2 1e-9", "nan 1", "2 inf", "1e30 1", "2;0.1"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        char text[64];
        snprintf(text, sizeof text, "1 0.001\n%s\n9 0.001\n", others[i]);
        check_refused(text);
    }
    char text[400] = "1 0.001\n";
    memset(text + strlen(text), ' ', 300);
    strcpy(text + 300, "2 0.001\n");
    check_refused(text);
}

void test_marks(void)
{
    test_exact();
    test_overlap();
    test_refused();
}
