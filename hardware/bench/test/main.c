#include <stdio.h>

#include "check.h"
#include "rig.h"
#include "tests.h"

int main(int count, char **arguments)
{
    if (count != 2) {
        fprintf(stderr, "Usage: board-tests FOLDER (of the images)\n");
        return 2;
    }
    rig_set_images(arguments[1]);
    test_capture();
    test_narrow();
    test_load();
    test_host();
    test_board();
    test_marks();
    test_program();
    return test_end();
}
