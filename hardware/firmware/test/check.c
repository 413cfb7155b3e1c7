#include "check.h"

#include <stdio.h>

static char current[160];
static int failures_now;
static int checks_now;
static int passed;
static int failed;

static void finish(void)
{
    if (!current[0])
        return;
    if (checks_now == 0) {
        printf("      nothing was checked\n");
        failures_now++;
    }
    printf("%s  %s\n", failures_now ? "FAIL" : "pass", current);
    if (failures_now)
        failed++;
    else
        passed++;
    fflush(stdout);
}

void test_begin(const char *name)
{
    finish();
    snprintf(current, sizeof current, "%s", name);
    failures_now = checks_now = 0;
}

bool check(bool condition, const char *text, const char *file, int line)
{
    checks_now++;
    if (!condition && failures_now++ < 10)
        printf("      %s:%d: not so: %s\n", file, line, text);
    return condition;
}

bool check_equal(long long expected, long long found, const char *text, const char *file, int line)
{
    checks_now++;
    if (expected != found && failures_now++ < 10)
        printf("      %s:%d: %s is %lld, expected %lld\n", file, line, text, found, expected);
    return expected == found;
}

int test_end(void)
{
    finish();
    current[0] = '\0';
    printf("%d passed, %d failed\n", passed, failed);
    return failed || !passed ? 1 : 0;
}
