#ifndef ACQUIRE_FIRMWARE_TESTS_H
#define ACQUIRE_FIRMWARE_TESTS_H

void test_vectors(const char *path);
void test_queue(void);
void test_requests(void);
void test_boot(void);

#endif
