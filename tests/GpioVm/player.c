// Plays a spin on a line of the kernel's GPIO simulator and writes down when it did; holds a line as another program would.
// player now                                    prints CLOCK_MONOTONIC, ns
// player play PULL SCHEDULE TRUTH BASE FROM TO  writes the schedule's levels of FROM <= t < TO (ns) to the pull attribute at BASE + t, and to TRUTH
//                                               the clock before and after each write
// player hold CHIP LINE NAME                    holds a line until it is ended
// player await CHIP LINE NAME SECONDS           waits until the line is held by NAME
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <linux/gpio.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

static long long now_ns(void)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    return at.tv_sec * 1000000000LL + at.tv_nsec;
}

static void wait_until(long long ns)
{
    struct timespec at = {.tv_sec = ns / 1000000000LL, .tv_nsec = ns % 1000000000LL};
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, NULL) == EINTR)
        ;
}

static int fail(const char *what)
{
    fprintf(stderr, "player: %s: %s\n", what, strerror(errno));
    return 3;
}

static int play(char **argument)
{
    static struct { long long at, before, after; int level; } played[100000];
    long long base = atoll(argument[3]), from = atoll(argument[4]), to = atoll(argument[5]);
    FILE *schedule = fopen(argument[1], "r");
    int pull = open(argument[0], O_WRONLY), count = 0;
    if (!schedule || pull < 0)
        return fail(argument[0]);
    while (count < 100000 && fscanf(schedule, "%lld %d", &played[count].at, &played[count].level) == 2)
        count += played[count].at >= from && played[count].at < to;
    mlockall(MCL_CURRENT); // no page is fetched between the clock and the write
    for (int i = 0; i < count; i++)
    {
        const char *level = played[i].level ? "pull-up" : "pull-down";
        size_t length = strlen(level);
        wait_until(base + played[i].at);
        played[i].before = now_ns();
        if (pwrite(pull, level, length, 0) != (ssize_t)length)
            return fail("pull");
        played[i].after = now_ns();
    }

    FILE *truth = fopen(argument[2], "w");
    if (!truth)
        return fail(argument[2]);
    for (int i = 0; i < count; i++)
        fprintf(truth, "%lld %lld %lld %d\n", played[i].at, played[i].before, played[i].after, played[i].level);
    return fclose(truth) ? fail(argument[2]) : 0;
}

static int hold(char **argument)
{
    struct gpio_v2_line_request request = {.num_lines = 1};
    request.offsets[0] = (unsigned)atoi(argument[1]);
    request.config.flags = GPIO_V2_LINE_FLAG_INPUT;
    strncpy(request.consumer, argument[2], sizeof request.consumer - 1);
    int chip = open(argument[0], O_RDWR);
    if (chip < 0 || ioctl(chip, GPIO_V2_GET_LINE_IOCTL, &request) < 0)
        return fail(argument[0]);
    pause();
    return 0;
}

static int await_holder(char **argument)
{
    long long end = now_ns() + atoll(argument[3]) * 1000000000LL;
    while (now_ns() < end)
    {
        struct gpio_v2_line_info info = {.offset = (unsigned)atoi(argument[1])};
        int chip = open(argument[0], O_RDWR);
        int asked = chip < 0 ? -1 : ioctl(chip, GPIO_V2_GET_LINEINFO_IOCTL, &info);
        close(chip);
        if (asked == 0 && strcmp(info.consumer, argument[2]) == 0)
            return 0;
        wait_until(now_ns() + 50000000);
    }

    fprintf(stderr, "player: %s does not hold line %s of %s\n", argument[2], argument[1], argument[0]);
    return 1;
}

int main(int count, char **argument)
{
    const char *mode = count > 1 ? argument[1] : "";
    if (strcmp(mode, "now") == 0)
        return printf("%lld\n", now_ns()) < 0;
    if (strcmp(mode, "play") == 0 && count == 8)
        return play(argument + 2);
    if (strcmp(mode, "hold") == 0 && count == 5)
        return hold(argument + 2);
    if (strcmp(mode, "await") == 0 && count == 6)
        return await_holder(argument + 2);
    fprintf(stderr, "player: now | play PULL SCHEDULE TRUTH BASE FROM TO | hold CHIP LINE NAME | await CHIP LINE NAME SECONDS\n");
    return 2;
}
