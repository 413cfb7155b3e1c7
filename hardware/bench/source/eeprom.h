#ifndef ACQUIRE_BENCH_EEPROM_H
#define ACQUIRE_BENCH_EEPROM_H

#include <stdbool.h>

#include "board.h"

/* Fills the board's EEPROM from the file; one that is not there leaves it erased. False, with a message, on any other trouble. */
bool eeprom_load(struct board *board, const char *path);

/* Writes the EEPROM to the file, beside it and renamed. False, with a message, where that fails. */
bool eeprom_save(struct board *board, const char *path);

#endif
