#ifndef ACQUIRE_BENCH_TESTS_H
#define ACQUIRE_BENCH_TESTS_H

void test_capture(void);
void test_narrow(void);
void test_load(void);
void test_host(void);
void test_board(void);
void test_marks(void);
void test_program(void);

#endif
