#define _GNU_SOURCE
#include "program.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "check.h"
#include "rig.h"

static const char folder[] = "build/run";

const char *program_file(const char *name, const char *text)
{
    static char path[128];
    mkdir(folder, 0777);
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    if (CHECK(file != NULL)) {
        fputs(text, file);
        fclose(file);
    }
    return path;
}

static void run(const struct program *program, const char *marks, const char *const *options)
{
    char image[256];
    snprintf(image, sizeof image, "%s/acquire-board.elf", rig_images());
    const char *arguments[16] = {"bench", "--link", program->link, "--wait-open", image, marks};
    for (size_t i = 6; i < 15 && *options; i++)
        arguments[i] = *options++;
    int null = open("/dev/null", O_RDWR);
    dup2(null, STDOUT_FILENO);
    dup2(null, STDERR_FILENO);
    execv("build/bench", (char *const *)arguments);
    _exit(127);
}

void program_start(struct program *program, const char *marks, const char *const *options)
{
    memset(program, 0, sizeof *program);
    program->host = -1;
    snprintf(program->link, sizeof program->link, "%s/board", folder);
    unlink(program->link);
    program->pid = fork();
    if (program->pid == 0)
        run(program, marks, options);
    program_open(program);
}

void program_open(struct program *program)
{
    for (int tries = 0; tries < 2000 && program->host < 0; tries++) {
        program->host = open(program->link, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        if (program->host < 0)
            usleep(5000);
    }
    CHECK(program->host >= 0);
}

void program_close(struct program *program)
{
    close(program->host);
    program->host = -1;
}

void program_ask(struct program *program, const char *text)
{
    CHECK_EQUAL(strlen(text), write(program->host, text, strlen(text)));
}

static ssize_t read_some(struct program *program, size_t at_once)
{
    if (program->length + at_once + 1 > program->room) {
        program->room = 2 * program->room + at_once + 1;
        program->text = realloc(program->text, program->room);
        if (!program->text)
            abort();
    }
    ssize_t count = read(program->host, program->text + program->length, at_once);
    if (count > 0)
        program->length += (size_t)count;
    program->text[program->length] = '\0';
    return count;
}

void program_read(struct program *program, size_t at_once, int pause_us, int quiet_ms)
{
    struct pollfd state = {.fd = program->host, .events = POLLIN};
    while (poll(&state, 1, quiet_ms) > 0 && read_some(program, at_once) > 0)
        usleep((useconds_t)pause_us);
}

void program_read_more(struct program *program, size_t bytes)
{
    size_t enough = program->length + bytes;
    struct pollfd state = {.fd = program->host, .events = POLLIN};
    while (program->length < enough && poll(&state, 1, 2000) > 0 && read_some(program, enough - program->length) > 0)
        continue;
}

int program_end(struct program *program)
{
    int status;
    for (int tries = 0; tries < 2000; tries++) {
        pid_t ended = waitpid(program->pid, &status, WNOHANG);
        if (ended == program->pid)
            return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
        usleep(10000);
    }
    kill(program->pid, SIGKILL);
    waitpid(program->pid, &status, 0);
    return -1;
}

size_t program_count(const struct program *program, const char *start)
{
    size_t count = 0, length = strlen(start);
    const char *line = program->text;
    while (line && *line) {
        count += strncmp(line, start, length) == 0;
        line = strchr(line, '\n');
        line = line ? line + 1 : NULL;
    }
    return count;
}
