#ifndef ACQUIRE_BENCH_PACE_H
#define ACQUIRE_BENCH_PACE_H

#include <stdbool.h>
#include <stdint.h>

/* Holds simulated time to a multiple of real time. */
struct pace {
    double speed;      /* simulated seconds a real second; 0 for as fast as it goes */
    int64_t start_ns;  /* CLOCK_MONOTONIC at simulated time 0, moved on where the pace could not be held */
    int64_t begun_ns;
    int64_t behind_ns; /* real time lost in all */
    int64_t worst_ns;  /* greatest lag met */
};

void pace_start(struct pace *pace, double speed);

/* Simulated seconds between two waits. */
double pace_step_s(const struct pace *pace);

/* Waits until real time has come up to the simulated time. A signal ends the wait early. */
void pace_wait(struct pace *pace, double simulated_s);

/* Real seconds since the start. */
double pace_elapsed_s(const struct pace *pace);

#endif
