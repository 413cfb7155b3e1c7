#define _GNU_SOURCE
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "check.h"
#include "program.h"
#include "tests.h"

static const char *write_marks(size_t count, double period_s)
{
    char *text = malloc(count * 40 + 1);
    size_t length = 0;
    if (!text)
        abort();
    for (size_t i = 0; i < count; i++)
        length += (size_t)sprintf(text + length, "%.9f 0.001\n", 0.2 + (double)i * period_s);
    const char *path = program_file("marks.txt", text);
    free(text);
    return path;
}

/* Every pulse line there and in order; ends the program and frees what was read. */
static void check_all_there(struct program *program, size_t pulses)
{
    CHECK_EQUAL(0, program_end(program));
    CHECK_EQUAL(pulses, program_count(program, "P"));
    unsigned expected = 0, number;
    for (const char *line = program->text; line && *line; line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL) {
        if (sscanf(line, "P%2X,", &number) == 1)
            CHECK_EQUAL(expected++ % 256, number);
    }
    CHECK(access(program->link, F_OK) != 0);
    if (program->host >= 0)
        program_close(program);
    free(program->text);
}

static void test_slow_host(void)
{
    test_begin("A host that reads slowly gets every byte, however fast the simulation");
    const char *options[] = {"--speed", "max", "--tail", "1.5", NULL};
    struct program program;
    program_start(&program, write_marks(8000, 0.01), options);
    usleep(300000);
    program_read(&program, 300, 500, 1000);
    check_all_there(&program, 8000);
}

static void test_host_away(void)
{
    test_begin("While the host is away the simulation waits, and nothing is lost");
    const char *options[] = {"--speed", "20", "--tail", "1.5", NULL};
    struct program program;
    program_start(&program, write_marks(2000, 0.01), options);
    for (int i = 0; i < 3; i++) {
        program_read_more(&program, 9001);
        program_close(&program);
        usleep(100000);
        program_open(&program);
    }
    program_read(&program, 4096, 100, 500);
    check_all_there(&program, 2000);
}

static void test_requests(void)
{
    test_begin("Questions written to the pseudo-terminal are answered");
    const char *options[] = {"--speed", "1", "--tail", "1", NULL};
    struct program program;
    program_start(&program, write_marks(1, 1), options);
    usleep(300000);
    program_ask(&program, "?\nT5A\n");
    program_read(&program, 4096, 100, 1500);
    CHECK_EQUAL(2, program_count(&program, "H,1,2000000,32,0001,atmega328p*"));
    CHECK_EQUAL(1, program_count(&program, "T5A,"));
    check_all_there(&program, 1);
}

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void test_speed(void)
{
    test_begin("It runs no faster than asked");
    const char *options[] = {"--speed", "10", "--tail", "1", NULL};
    struct program program;
    double begun_s = now_s();
    program_start(&program, write_marks(480, 0.01), options);
    program_read(&program, 4096, 100, 500);
    CHECK(now_s() - begun_s >= 0.58);
    check_all_there(&program, 480);
}

static void test_eeprom(void)
{
    test_begin("The EEPROM is kept from run to run, so that boot ids differ");
    const char *eeprom = "build/run/eeprom.bin";
    unlink(eeprom);
    for (unsigned i = 1; i <= 3; i++) {
        const char *options[] = {"--speed", "max", "--tail", "0.5", "--eeprom", eeprom, NULL};
        struct program program;
        program_start(&program, write_marks(1, 1), options);
        program_read(&program, 4096, 100, 300);
        char hello[64];
        snprintf(hello, sizeof hello, "H,1,2000000,32,%04X,", i);
        CHECK_EQUAL(1, program_count(&program, hello));
        check_all_there(&program, 1);
    }
}

static void test_signal(void)
{
    test_begin("SIGTERM ends a bench that would run on, and takes its link away");
    const char *options[] = {"--tail", "0", NULL};
    struct program program;
    program_start(&program, write_marks(10, 0.01), options);
    program_read(&program, 4096, 100, 700);
    kill(program.pid, SIGTERM);
    check_all_there(&program, 10);
}

static void test_bad_marks(void)
{
    test_begin("A bad line in the marks makes the exit code tell");
    const char *options[] = {"--speed", "max", "--tail", "0.1", NULL};
    struct program program;
    program_start(&program, program_file("marks.txt", "0.5 0.001\nx\n"), options);
    program_read(&program, 4096, 100, 500);
    CHECK_EQUAL(1, program_end(&program));
    CHECK_EQUAL(1, program_count(&program, "P00,"));
    program_close(&program);
    free(program.text);
}

void test_program(void)
{
    test_slow_host();
    test_host_away();
    test_requests();
    test_speed();
    test_eeprom();
    test_signal();
    test_bad_marks();
}
