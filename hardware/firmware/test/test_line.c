#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "crc16.h"
#include "line.h"
#include "tests.h"

static uint16_t crc_of(const char *text, size_t length)
{
    uint16_t crc = 0;
    for (size_t i = 0; i < length; i++)
        crc = crc16_add(crc, (uint8_t)text[i]);
    return crc;
}

static bool same(const struct line *line, const char *text)
{
    size_t length = strlen(text);
    if (line->length == length + 1 && memcmp(line->text, text, length) == 0 && line->text[length] == '\n')
        return true;
    printf("      made %.*s, expected %s\n", line->length - 1, line->text, text);
    return false;
}

/* Makes the line anew from the fields found in it. False where the board never writes it in that way. */
static bool rebuild(const char *text, struct line *line)
{
    unsigned long hz, a, b, c;
    unsigned bits;
    char name[17], asked[3];
    int end = 0;
    if (sscanf(text, "H,1,%lu,%u,%4lX,%16[a-z0-9-]%n", &hz, &bits, &a, name, &end) == 4 && text[end] == '*')
        line_hello(line, (uint32_t)hz, (uint8_t)bits, (uint16_t)a, name);
    else if (sscanf(text, "P%2lX,%8lX,%lX%n", &a, &b, &c, &end) == 3 && text[end] == '*')
        line_pulse_width(line, (uint8_t)a, (uint32_t)b, (uint32_t)c);
    else if (sscanf(text, "P%2lX,%8lX%n", &a, &b, &end) == 2 && text[end] == '*')
        line_pulse(line, (uint8_t)a, (uint32_t)b);
    else if (sscanf(text, "S,%8lX,%8lX,%4lX%n", &a, &b, &c, &end) == 3 && text[end] == '*')
        line_status(line, (uint32_t)a, (uint32_t)b, (uint16_t)c);
    else if (sscanf(text, "T%2[0-9A-F],%8lX%n", asked, &b, &end) == 2 && text[end] == '*')
        line_time(line, asked, (uint32_t)b);
    else
        return false;
    return true;
}

/* The board writes widths without leading zeros; a reader takes both. */
static bool has_padded_width(const char *text)
{
    const char *comma = text[0] == 'P' ? strrchr(text, ',') : NULL;
    return comma && comma != strchr(text, ',') && comma[1] == '0' && comma[2] != '*';
}

static void check_good(const char *text, unsigned *rebuilt)
{
    size_t body = strcspn(text, "*");
    CHECK_EQUAL(strtoul(text + body + 1, NULL, 16), crc_of(text, body));
    CHECK(strlen(text) <= LINE_LONGEST);
    struct line line;
    if (!CHECK(rebuild(text, &line)) || has_padded_width(text))
        return;
    CHECK(same(&line, text));
    ++*rebuilt;
}

static void check_bad(const char *reason, const char *text)
{
    const char *star = strrchr(text, '*');
    bool matches = star && strlen(star) == 5 && strtoul(star + 1, NULL, 16) == crc_of(text, (size_t)(star - text));
    bool should = strcmp(reason, "check") != 0 && strcmp(reason, "shape") != 0;
    if (strcmp(reason, "long") == 0)
        CHECK(strlen(text) > LINE_LONGEST);
    else
        CHECK(matches == should);
}

static void check_sum(const char *text)
{
    size_t length = strcspn(text, " ");
    CHECK_EQUAL(strtoul(text + length, NULL, 16), crc_of(text, length));
}

static void read_vectors(FILE *file, unsigned counts[4])
{
    char text[512];
    while (fgets(text, sizeof text, file)) {
        text[strcspn(text, "\n")] = '\0';
        if (strncmp(text, "check ", 6) == 0) {
            check_sum(text + 6);
            counts[0]++;
        } else if (strncmp(text, "good ", 5) == 0) {
            check_good(text + 5, &counts[3]);
            counts[1]++;
        } else if (strncmp(text, "bad ", 4) == 0) {
            char *line = strchr(text + 4, ' ');
            *line = '\0';
            check_bad(text + 4, line + 1);
            counts[2]++;
        } else {
            CHECK(text[0] == '#' || text[0] == '\0');
        }
    }
}

static void test_ends(void)
{
    test_begin("The longest line of each kind fits into 64 bytes");
    struct line line;
    line_hello(&line, UINT32_MAX, 255, UINT16_MAX, "abcdefghijklmnop-not-sent");
    CHECK(line.length - 1 <= LINE_LONGEST);
    CHECK(memcmp(line.text, "H,1,4294967295,255,FFFF,abcdefghijklmnop*", 41) == 0);
    line_pulse_width(&line, UINT8_MAX, UINT32_MAX, UINT32_MAX);
    CHECK_EQUAL(26, line.length - 1);
    line_status(&line, UINT32_MAX, UINT32_MAX, UINT16_MAX);
    CHECK_EQUAL(29, line.length - 1);
}

static void test_widths(void)
{
    test_begin("Widths are written in as many digits as they need");
    static const struct {
        uint32_t width;
        const char *text;
    } cases[] = {{1, ",1*"}, {0xF, ",F*"}, {0x10, ",10*"}, {0xFFFFF, ",FFFFF*"}, {0x10000000, ",10000000*"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct line line;
        line_pulse_width(&line, 0, 0, cases[i].width);
        CHECK(memcmp(line.text + 12, cases[i].text, strlen(cases[i].text)) == 0);
    }
}

void test_vectors(const char *path)
{
    test_begin("Lines made by the board agree with every vector");
    unsigned counts[4] = {0};
    FILE *file = fopen(path, "r");
    if (CHECK(file != NULL)) {
        read_vectors(file, counts);
        fclose(file);
    }
    CHECK(counts[0] >= 1 && counts[1] >= 6 && counts[2] >= 6 && counts[3] >= 6);
    printf("      %u checks, %u good lines, %u bad lines, %u made anew\n", counts[0], counts[1], counts[2], counts[3]);
    test_ends();
    test_widths();
}
