#define _POSIX_C_SOURCE 200809L
#include "eeprom.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

static bool fail(const char *path, const char *what)
{
    fprintf(stderr, "%s: %s\n", path, what);
    return false;
}

bool eeprom_load(struct board *board, const char *path)
{
    uint8_t bytes[BOARD_EEPROM_BYTES];
    FILE *file = fopen(path, "rb");
    if (!file)
        return errno == ENOENT || fail(path, strerror(errno));
    size_t count = fread(bytes, 1, sizeof bytes, file);
    bool more = fgetc(file) != EOF;
    fclose(file);
    if (count != sizeof bytes || more)
        return fail(path, "is no EEPROM of 1024 bytes; name another file, or remove it to begin with an erased one");
    board_set_eeprom(board, bytes);
    return true;
}

bool eeprom_save(struct board *board, const char *path)
{
    uint8_t bytes[BOARD_EEPROM_BYTES];
    board_get_eeprom(board, bytes);
    char beside[4096];
    int length = snprintf(beside, sizeof beside, "%s.new", path);
    if (length < 0 || (size_t)length >= sizeof beside)
        return fail(path, "name too long");
    FILE *file = fopen(beside, "wb");
    if (!file)
        return fail(beside, strerror(errno));
    bool written = fwrite(bytes, 1, sizeof bytes, file) == sizeof bytes;
    written = fclose(file) == 0 && written;
    if (!written || rename(beside, path) != 0) {
        fail(path, strerror(errno));
        remove(beside);
        return false;
    }
    return true;
}
