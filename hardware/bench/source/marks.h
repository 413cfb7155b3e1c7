#ifndef ACQUIRE_BENCH_MARKS_H
#define ACQUIRE_BENCH_MARKS_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "board.h"

/* Reads marks from text, one "start_s width_s" a line, as they are needed; marks that overlap or touch become one. */
struct marks {
    FILE *file;
    const char *name;
    unsigned long line;
    bool have_next;
    struct mark next;
    double last_start_s;
    unsigned long read; /* marks read */
    bool bad;           /* reading ended at a line that is no mark; said on stderr */
};

void marks_open(struct marks *marks, FILE *file, const char *name);

/* A board_next_mark; context is a struct marks. */
bool marks_next(void *context, struct mark *mark);

#endif
