#include "options.h"

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char help[] =
    "Usage: bench [options] IMAGE [MARKS]\n"
    "Runs the board's image cycle by cycle, shows it the marks and connects its serial\n"
    "line to a pseudo-terminal, whose path is the first line of the output.\n"
    "\n"
    "IMAGE  the .elf file built in hardware/firmware\n"
    "MARKS  text, a mark a line: \"start_s width_s\", in seconds since power-up, in order\n"
    "       of time; # begins a comment; - (the default) reads standard input\n"
    "\n"
    "  --link PATH       also make PATH a symbolic link to the pseudo-terminal\n"
    "  --speed N|max     times real time (default 1)\n"
    "  --tail S          simulated seconds to run on after the last mark (default 2;\n"
    "                    0: until ended by SIGTERM or SIGINT)\n"
    "  --wait-open       power up only once the host has opened the pseudo-terminal\n"
    "  --away hold|drop  while the host has closed it again: stand still (default), or\n"
    "                    run on and lose the bytes, as a real serial port would\n"
    "  --eeprom FILE     read the board's EEPROM from FILE, if it is there, and keep it there\n"
    "  --active low|high level the sensor gives on a mark; as the image was built (default low)\n"
    "  --help            this text\n"
    "\n"
    "Example:\n"
    "  bench --link /tmp/board --speed 60 build/acquire-board.elf spin.txt\n";

static bool read_number(const char *text, double lowest, double *value)
{
    char *end;
    *value = strtod(text, &end);
    return end != text && *end == '\0' && isfinite(*value) && *value >= lowest;
}

static bool read_choice(const char *text, const char *yes, const char *no, bool *value)
{
    *value = strcmp(text, yes) == 0;
    return *value || strcmp(text, no) == 0;
}

static bool read_speed(const char *text, double *speed)
{
    *speed = 0;
    return strcmp(text, "max") == 0 || (read_number(text, 0, speed) && *speed > 0);
}

static bool take(struct options *options, int option, const char *text)
{
    switch (option) {
    case 'l':
        options->link = text;
        return true;
    case 's':
        return read_speed(text, &options->speed);
    case 't':
        return read_number(text, 0, &options->tail_s);
    case 'w':
        return options->wait_open = true;
    case 'a':
        return read_choice(text, "drop", "hold", &options->away_drops);
    case 'e':
        options->eeprom = text;
        return true;
    case 'v':
        return read_choice(text, "low", "high", &options->active_low);
    default:
        return false;
    }
}

static const struct option names[] = {
    {"link", required_argument, NULL, 'l'}, {"speed", required_argument, NULL, 's'},
    {"tail", required_argument, NULL, 't'}, {"wait-open", no_argument, NULL, 'w'},
    {"away", required_argument, NULL, 'a'}, {"eeprom", required_argument, NULL, 'e'},
    {"active", required_argument, NULL, 'v'}, {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0}};

enum options_result options_read(struct options *options, int count, char **arguments)
{
    *options = (struct options){.marks = "-", .speed = 1, .tail_s = 2, .active_low = true};
    int option, index = 0;
    while ((option = getopt_long(count, arguments, "", names, &index)) != -1) {
        if (option == 'h') {
            fputs(help, stdout);
            return OPTIONS_DONE;
        }
        if (option == '?')
            return OPTIONS_WRONG;
        if (!take(options, option, optarg)) {
            fprintf(stderr, "--%s does not take \"%s\"; see --help\n", names[index].name, optarg);
            return OPTIONS_WRONG;
        }
    }
    if (optind >= count || count - optind > 2) {
        fputs("Expected an image and at most one file of marks; see --help\n", stderr);
        return OPTIONS_WRONG;
    }
    options->image = arguments[optind];
    if (optind + 1 < count)
        options->marks = arguments[optind + 1];
    return OPTIONS_RUN;
}
