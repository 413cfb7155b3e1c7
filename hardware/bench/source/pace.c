#define _POSIX_C_SOURCE 200809L
#include "pace.h"

#include <time.h>

/* A lag up to this is made up for, so that simulated time keeps its rate; after a longer one (the machine slept) the start is moved on. */
#define LAG_MADE_UP_NS 5000000000LL

static int64_t now_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

void pace_start(struct pace *pace, double speed)
{
    *pace = (struct pace){.speed = speed};
    pace->start_ns = pace->begun_ns = now_ns();
}

double pace_step_s(const struct pace *pace)
{
    if (pace->speed <= 0)
        return 0.02;
    return pace->speed < 1 ? 0.001 : 0.001 * pace->speed;
}

void pace_wait(struct pace *pace, double simulated_s)
{
    if (pace->speed <= 0)
        return;
    int64_t due_ns = pace->start_ns + (int64_t)(simulated_s / pace->speed * 1e9);
    int64_t lag_ns = now_ns() - due_ns;
    if (lag_ns > pace->worst_ns)
        pace->worst_ns = lag_ns;
    if (lag_ns > LAG_MADE_UP_NS) {
        pace->behind_ns += lag_ns;
        pace->start_ns += lag_ns;
    }
    if (lag_ns >= 0)
        return;
    struct timespec due = {.tv_sec = due_ns / 1000000000, .tv_nsec = due_ns % 1000000000};
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &due, NULL);
}

double pace_elapsed_s(const struct pace *pace)
{
    return (double)(now_ns() - pace->begun_ns) / 1e9;
}
