#define _POSIX_C_SOURCE 200809L
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "board.h"
#include "eeprom.h"
#include "marks.h"
#include "options.h"
#include "pace.h"
#include "terminal.h"

/* How long, at the end, an exclusive port or one whose state cannot be asked is left open. */
#define LINGER_MS 2000

struct bench {
    struct options options;
    struct board board;
    struct marks marks;
    struct terminal terminal;
    struct pace pace;
};

static volatile sig_atomic_t ended;

static void on_signal(int number)
{
    (void)number;
    ended = 1;
}

static void catch_signals(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = on_signal;
    sigaction(SIGTERM, &action, NULL);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGHUP, &action, NULL);
    signal(SIGPIPE, SIG_IGN);
}

static void keep_byte(void *context, uint8_t byte)
{
    struct bench *bench = context;
    terminal_put(&bench->terminal, byte);
}

static double simulated_s(const struct bench *bench)
{
    return (double)bench->board.avr->cycle / (double)BOARD_HZ;
}

static void wait_for_host(struct bench *bench)
{
    while (!ended && !terminal_is_open(&bench->terminal))
        terminal_wait(&bench->terminal, 5);
}

/* Bytes both ways; stands still while the host does not read. */
static void exchange(struct bench *bench)
{
    uint8_t bytes[256];
    size_t room = board_receive_room(&bench->board);
    size_t count = terminal_read(&bench->terminal, bytes, room < sizeof bytes ? room : sizeof bytes);
    board_receive(&bench->board, bytes, count);
    while (!terminal_flush(&bench->terminal) && !ended)
        terminal_wait(&bench->terminal, 10);
}

/* The cycle to stop at: known once the marks are used up. */
static uint64_t last_cycle(const struct bench *bench)
{
    if (bench->board.more_marks || bench->options.tail_s == 0)
        return UINT64_MAX;
    return bench->board.mark.end + (uint64_t)(bench->options.tail_s * (double)BOARD_HZ);
}

static bool simulate(struct bench *bench)
{
    uint64_t step = (uint64_t)(pace_step_s(&bench->pace) * (double)BOARD_HZ);
    uint64_t next = 0;
    while (!ended) {
        uint64_t last = last_cycle(bench);
        if (bench->board.avr->cycle >= last)
            return true;
        next += step;
        if (!board_run_until(&bench->board, next < last ? next : last)) {
            fprintf(stderr, "The board's program stopped at %.6f s\n", simulated_s(bench));
            return false;
        }
        pace_wait(&bench->pace, simulated_s(bench));
        exchange(bench);
    }
    return true;
}

/* Closing it would throw away what the host has not read yet. */
static void wait_until_read(struct bench *bench)
{
    int empty = 0, unknown_ms = 0;
    while (!ended && bench->terminal.opened && terminal_is_open(&bench->terminal) && empty < 10 && unknown_ms < LINGER_MS) {
        bool known;
        bool flushed = terminal_flush(&bench->terminal);
        bool drained = terminal_is_drained(&bench->terminal, &known);
        empty = flushed && drained ? empty + 1 : 0;
        unknown_ms = flushed && !known ? unknown_ms + 10 : 0;
        terminal_wait(&bench->terminal, 9);
        struct timespec moment = {.tv_nsec = 9000000};
        nanosleep(&moment, NULL);
    }
}

static void report(const struct bench *bench, double real_s)
{
    double run_s = simulated_s(bench);
    fprintf(stderr, "%.3f s simulated in %.3f s: %.1f times real time\n", run_s, real_s, real_s > 0 ? run_s / real_s : 0);
    fprintf(stderr, "%llu marks shown, %llu bytes sent to the host, %llu before or while nobody had it open\n",
            (unsigned long long)bench->board.marks_driven, (unsigned long long)bench->terminal.written,
            (unsigned long long)bench->terminal.discarded);
    size_t left = bench->terminal.held_count - bench->terminal.held_first;
    if (left)
        fprintf(stderr, "%zu bytes were never taken by the host\n", left);
    if (bench->pace.speed <= 0)
        return;
    if (bench->pace.behind_ns)
        fprintf(stderr, "Fell behind by %.3f s in all, so it was slower than asked\n", (double)bench->pace.behind_ns / 1e9);
    else
        fprintf(stderr, "Kept the speed; greatest lag %.1f ms\n", (double)bench->pace.worst_ns / 1e6);
}

static bool run(struct bench *bench)
{
    bench->terminal.away_drops = bench->options.away_drops;
    printf("%s\n", bench->terminal.path);
    fflush(stdout);
    if (bench->options.wait_open)
        wait_for_host(bench);
    pace_start(&bench->pace, bench->options.speed);
    bool good = simulate(bench);
    double real_s = pace_elapsed_s(&bench->pace);
    wait_until_read(bench);
    report(bench, real_s);
    if (bench->options.eeprom)
        good = eeprom_save(&bench->board, bench->options.eeprom) && good;
    return good && !bench->marks.bad;
}

static FILE *open_marks(const char *path)
{
    if (strcmp(path, "-") == 0)
        return stdin;
    FILE *file = fopen(path, "r");
    if (!file)
        fprintf(stderr, "%s: %s\n", path, strerror(errno));
    return file;
}

static bool with_board(struct bench *bench, FILE *file)
{
    const struct options *options = &bench->options;
    if (!board_power_up(&bench->board, options->image, options->active_low))
        return false;
    bool good = !options->eeprom || eeprom_load(&bench->board, options->eeprom);
    good = good && terminal_open(&bench->terminal, options->link);
    if (good) {
        board_set_output(&bench->board, keep_byte, bench);
        marks_open(&bench->marks, file, strcmp(options->marks, "-") == 0 ? "standard input" : options->marks);
        board_set_marks(&bench->board, marks_next, &bench->marks);
        good = run(bench);
        terminal_close(&bench->terminal);
    }
    board_power_down(&bench->board);
    return good;
}

int main(int count, char **arguments)
{
    static struct bench bench;
    enum options_result result = options_read(&bench.options, count, arguments);
    if (result != OPTIONS_RUN)
        return result == OPTIONS_DONE ? 0 : 2;
    FILE *file = open_marks(bench.options.marks);
    if (!file)
        return 2;
    catch_signals();
    return with_board(&bench, file) ? 0 : 1;
}
