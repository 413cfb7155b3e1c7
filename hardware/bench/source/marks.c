#include "marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* About 11 years; beyond it a double no longer tells single cycles apart. */
#define LONGEST_S 3.5e8

static bool fail(struct marks *marks, const char *found, const char *expected)
{
    fprintf(stderr, "%s, line %lu: found %s; expected %s\n", marks->name, marks->line, found, expected);
    marks->bad = true;
    return false;
}

static bool parse(struct marks *marks, const char *text, double *start_s, double *width_s)
{
    char *end;
    *start_s = strtod(text, &end);
    if (end == text)
        return fail(marks, "no number", "\"start_s width_s\"");
    const char *second = end;
    *width_s = strtod(second, &end);
    if (end == second)
        return fail(marks, "one number", "\"start_s width_s\"");
    if (end[strspn(end, " \t\r\n")] != '\0')
        return fail(marks, "more than two numbers", "\"start_s width_s\"");
    if (!isfinite(*start_s) || !isfinite(*width_s) || *start_s < 0 || *start_s + *width_s > LONGEST_S)
        return fail(marks, "a time out of range", "0 to 3.5e8 s");
    if (*start_s < marks->last_start_s)
        return fail(marks, "a mark before the one above it", "marks in order of time");
    return true;
}

static bool to_cycles(struct marks *marks, double start_s, double width_s, struct mark *mark)
{
    mark->start = (uint64_t)llround(start_s * (double)BOARD_HZ);
    mark->end = (uint64_t)llround((start_s + width_s) * (double)BOARD_HZ);
    if (width_s <= 0 || mark->end <= mark->start)
        return fail(marks, "a width below one cycle", "at least 62.5 ns");
    return true;
}

/* The next line that holds a mark. */
static bool read_mark(struct marks *marks, struct mark *mark)
{
    char text[256];
    while (!marks->bad && fgets(text, sizeof text, marks->file)) {
        marks->line++;
        if (!strchr(text, '\n') && !feof(marks->file))
            return fail(marks, "a line longer than 254 bytes", "\"start_s width_s\"");
        text[strcspn(text, "#")] = '\0';
        if (text[strspn(text, " \t\r\n")] == '\0')
            continue;
        double start_s, width_s;
        if (!parse(marks, text, &start_s, &width_s) || !to_cycles(marks, start_s, width_s, mark))
            return false;
        marks->last_start_s = start_s;
        marks->read++;
        return true;
    }
    return false;
}

void marks_open(struct marks *marks, FILE *file, const char *name)
{
    memset(marks, 0, sizeof *marks);
    marks->file = file;
    marks->name = name;
    marks->have_next = read_mark(marks, &marks->next);
}

bool marks_next(void *context, struct mark *mark)
{
    struct marks *marks = context;
    if (!marks->have_next)
        return false;
    *mark = marks->next;
    while ((marks->have_next = read_mark(marks, &marks->next)) && marks->next.start <= mark->end) {
        if (marks->next.end > mark->end)
            mark->end = marks->next.end;
    }
    return true;
}
