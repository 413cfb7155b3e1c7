#ifndef ACQUIRE_PROGRAM_H
#define ACQUIRE_PROGRAM_H

#include <stddef.h>
#include <sys/types.h>

/* The bench program, run beside the test, and the host's end of its pseudo-terminal. */
struct program {
    pid_t pid;
    int host;        /* the pseudo-terminal, -1 while closed */
    char link[128];
    char *text;      /* all that was read */
    size_t length;
    size_t room;
};

/* Writes text to a file in the test's own folder and gives its path. */
const char *program_file(const char *name, const char *text);

/* Starts it on marks with further options, ended by NULL, and opens its link. */
void program_start(struct program *program, const char *marks, const char *const *options);

void program_open(struct program *program);
void program_close(struct program *program);
void program_ask(struct program *program, const char *text);

/* Reads up to so many bytes at a time, pausing in between, until there is nothing for so many milliseconds. */
void program_read(struct program *program, size_t at_once, int pause_us, int quiet_ms);

/* Reads on until there are so many bytes more, or nothing for two seconds. */
void program_read_more(struct program *program, size_t bytes);

/* Waits for its end; the exit code, or -1 where it did not end by itself in 20 s. */
int program_end(struct program *program);

/* How often a text begins a line of what was read. */
size_t program_count(const struct program *program, const char *start);

#endif
