#ifndef ACQUIRE_CHECK_H
#define ACQUIRE_CHECK_H

#include <stdbool.h>

/* Begins a named test; what is checked until the next one belongs to it. */
void test_begin(const char *name);

/* Fails the test, and says where, if the condition does not hold. */
#define CHECK(condition) check((condition), #condition, __FILE__, __LINE__)

/* Fails the test, with both values, if they differ. */
#define CHECK_EQUAL(expected, found) check_equal((long long)(expected), (long long)(found), #found, __FILE__, __LINE__)

bool check(bool condition, const char *text, const char *file, int line);
bool check_equal(long long expected, long long found, const char *text, const char *file, int line);

/* Prints the closing line; the program's exit code. */
int test_end(void);

#endif
