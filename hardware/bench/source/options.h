#ifndef ACQUIRE_BENCH_OPTIONS_H
#define ACQUIRE_BENCH_OPTIONS_H

#include <stdbool.h>

struct options {
    const char *image;
    const char *marks; /* "-" for standard input */
    const char *link;
    const char *eeprom;
    double speed;      /* 0 for as fast as it goes */
    double tail_s;     /* 0 until ended from outside */
    bool wait_open;
    bool active_low;
    bool away_drops;
};

enum options_result { OPTIONS_RUN, OPTIONS_DONE, OPTIONS_WRONG };

enum options_result options_read(struct options *options, int count, char **arguments);

#endif
