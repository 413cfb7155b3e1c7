#include <stdio.h>

#include "check.h"
#include "tests.h"

int main(int count, char **arguments)
{
    if (count != 2) {
        fprintf(stderr, "Usage: unit-tests VECTORS\n");
        return 2;
    }
    test_vectors(arguments[1]);
    test_queue();
    test_requests();
    test_boot();
    return test_end();
}
