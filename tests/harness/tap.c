// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"

#include "base/alloc.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static size_t case_checks, case_failures;

static bool record(bool good)
{
    case_checks++;
    if (!good)
        case_failures++;
    return good;
}

bool tap_true(bool condition, const char *what, const char *file, int line, const char *format, ...)
{
    if (!record(condition)) {
        printf("# %s:%d: not true: %s ", file, line, what);
        va_list args;
        va_start(args, format);
        vprintf(format, args);
        va_end(args);
        printf("\n");
    }
    return condition;
}

bool tap_near(double got, double expected, tap_Tolerance tolerance, tap_Origin origin, const char *what,
              const char *file, int line)
{
    double allowed = tolerance.absolute + tolerance.relative * fabs(expected);
    bool good = isfinite(got) && isfinite(expected) && fabs(got - expected) <= allowed && origin.text[0] != '\0';
    if (!record(good))
        printf("# %s:%d: %s is %.12g, expected %.12g +- %.3g (%s; origin: %s)\n", file, line, what, got, expected,
               allowed, tolerance.name, origin.text[0] ? origin.text : "NONE GIVEN");
    return good;
}

bool tap_text(const char *got, const char *expected, const char *what, const char *file, int line)
{
    bool good = got && expected ? strcmp(got, expected) == 0 : got == expected;
    if (!record(good))
        printf("# %s:%d: %s is \"%s\", expected \"%s\"\n", file, line, what, got ? got : "(null)",
               expected ? expected : "(null)");
    return good;
}

bool tap_holds(const char *got, const char *part, const char *what, const char *file, int line)
{
    bool good = got && strstr(got, part);
    if (!record(good))
        printf("# %s:%d: %s is \"%s\", which lacks \"%s\"\n", file, line, what, got ? got : "(null)", part);
    return good;
}

bool tap_status(sf_Status got, sf_Status expected, const char *what, const char *file, int line)
{
    if (!record(got == expected))
        printf("# %s:%d: %s gave '%s', expected '%s'\n", file, line, what, sf_status_word(got),
               sf_status_word(expected));
    return got == expected;
}

void tap_every_allocation(sf_Status (*body)(void *context), void *context, size_t most, const char *what)
{
    // Of a long row the short run leaves out all but each seventh after the first: they lie in the same loops.
    enum { EACH = 300, STEP = 7 };
    size_t live = sf_alloc_live(), tried = 0, step;
    for (size_t nth = 1; nth <= most; nth += step, tried++) {
        step = nth < EACH || getenv("TAP_LONG") ? 1 : STEP;
        sf_alloc_fail_at(nth);
        sf_Status status = body(context);
        bool failed = sf_alloc_failed();
        sf_alloc_fail_at(0);
        if (!record(sf_alloc_live() == live)) {
            printf("# %s: %zu blocks leaked when allocation %zu failed\n", what, sf_alloc_live() - live, nth);
            return;
        }
        if (!failed) {
            if (!record(status == SF_OK))
                printf("# %s: gave '%s' with no allocation failing\n", what, sf_status_word(status));
            printf("# %s: %zu allocations were made to fail, one at a time\n", what, tried);
            return;
        }
        if (!record(status == SF_E_MEMORY)) {
            printf("# %s: allocation %zu failed but the call gave '%s'\n", what, nth, sf_status_word(status));
            return;
        }
    }
    record(false);
    printf("# %s: more than %zu allocations\n", what, most);
}

const char *tap_data(const char *name)
{
    static char path[4096];
    const char *folder = getenv("TAP_DATA");
    snprintf(path, sizeof path, "%s/%s", folder ? folder : "tests/data", name);
    return path;
}

void tap_note(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    printf("# ");
    vprintf(format, args);
    printf("\n");
    va_end(args);
}

// Arguments name the cases to run (a part of the name is enough); none runs all.
static bool wanted(const char *name, int argc, char **argv)
{
    for (int i = 1; i < argc; i++)
        if (strstr(name, argv[i]))
            return true;
    return argc <= 1;
}

int tap_main(int argc, char **argv, const tap_Case *cases, size_t count)
{
    size_t failed = 0, number = 0, chosen = 0;
    setvbuf(stdout, NULL, _IOLBF, 0);
    for (size_t i = 0; i < count; i++)
        chosen += wanted(cases[i].name, argc, argv);
    printf("1..%zu\n", chosen);
    for (size_t i = 0; i < count; i++) {
        if (!wanted(cases[i].name, argc, argv))
            continue;
        case_checks = case_failures = 0;
        size_t live = sf_alloc_live();
        cases[i].run();
        if (sf_alloc_live() != live) {
            printf("# %s leaves %zu blocks allocated\n", cases[i].name, sf_alloc_live() - live);
            case_failures++;
        }
        if (case_checks == 0)
            printf("# %s checks nothing\n", cases[i].name);
        bool good = case_failures == 0 && case_checks > 0;
        failed += !good;
        printf("%sok %zu - ", good ? "" : "not ", ++number);
        for (const char *c = cases[i].name; *c; c++)
            putchar(*c == '_' ? ' ' : *c);
        putchar('\n');
    }
    return failed ? 1 : 0;
}
