// SPDX-License-Identifier: GPL-3.0-or-later
// Our test harness: TAP on stdout, named tolerances, and no expected number without its origin.
//
//     TAP_CASE(hollow_circle_matches_closed_form)
//     {
//         TAP_NEAR(section.area, SF_PI / 4 * (D * D - d * d), TAP_TIGHT, TAP_CLOSED_FORM);
//         TAP_NEAR(k, 2.85, TAP_TABLE_3, TAP_SOURCE("Peterson, Stress Concentration Factors, chart for ..."));
//     }
//     TAP_MAIN(TAP_RUN(hollow_circle_matches_closed_form))
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

/// Where an expected value comes from. Made only by the TAP_ macros below; a call without one does not compile.
typedef struct tap_Origin {
    enum { TAP_KIND_SOURCE = 1, TAP_KIND_PRACTICE, TAP_KIND_MEMORY, TAP_KIND_CLOSED_FORM, TAP_KIND_INVENTED } kind;
    const char *text;
} tap_Origin;

#define TAP_SOURCE(text) ((tap_Origin){ TAP_KIND_SOURCE, "" text "" })
#define TAP_PRACTICE     ((tap_Origin){ TAP_KIND_PRACTICE, "common practice, no source" })
#define TAP_MEMORY       ((tap_Origin){ TAP_KIND_MEMORY, "from memory" })
#define TAP_CLOSED_FORM  ((tap_Origin){ TAP_KIND_CLOSED_FORM, "closed form" })
#define TAP_INVENTED     ((tap_Origin){ TAP_KIND_INVENTED, "invented" })

/// A tolerance with its name: |got - expected| <= absolute + relative |expected|.
typedef struct tap_Tolerance {
    const char *name;
    double relative, absolute;
} tap_Tolerance;

#define TAP_TOLERANCE(name, relative, absolute) ((tap_Tolerance){ name, relative, absolute })
#define TAP_EXACT                               TAP_TOLERANCE("exact", 0.0, 0.0)
#define TAP_ROUNDING                            TAP_TOLERANCE("rounding of doubles", 1e-12, 1e-15)
#define TAP_TIGHT                               TAP_TOLERANCE("accumulated rounding", 1e-9, 1e-12)
#define TAP_TABLE_3                             TAP_TOLERANCE("three printed digits", 5e-3, 0.0)
#define TAP_TABLE_4                             TAP_TOLERANCE("four printed digits", 5e-4, 0.0)

typedef struct tap_Case {
    const char *name;
    void (*run)(void);
} tap_Case;

#define TAP_CASE(name) static void name(void)
#define TAP_RUN(name)                                                                                                  \
    {                                                                                                                  \
#name, name                                                                                                    \
    }
#define TAP_MAIN(...)                                                                                                  \
    int main(int argc, char **argv)                                                                                    \
    {                                                                                                                  \
        static const tap_Case cases[] = { __VA_ARGS__ };                                                               \
        return tap_main(argc, argv, cases, sizeof cases / sizeof *cases);                                              \
    }

#define TAP_TRUE(condition, ...) tap_true((condition), #condition, __FILE__, __LINE__, " " __VA_ARGS__)
#define TAP_NEAR(got, expected, tolerance, origin)                                                                     \
    tap_near((got), (expected), (tolerance), (origin), #got, __FILE__, __LINE__)
#define TAP_TEXT(got, expected)   tap_text((got), (expected), #got, __FILE__, __LINE__)
#define TAP_HOLDS(got, part)      tap_holds((got), (part), #got, __FILE__, __LINE__)
#define TAP_STATUS(got, expected) tap_status((got), (expected), #got, __FILE__, __LINE__)
#define TAP_OK(call)              tap_status((call), SF_OK, #call, __FILE__, __LINE__)

int tap_main(int argc, char **argv, const tap_Case *cases, size_t count);
bool tap_true(bool condition, const char *what, const char *file, int line, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
bool tap_near(double got, double expected, tap_Tolerance tolerance, tap_Origin origin, const char *what,
              const char *file, int line);
bool tap_text(const char *got, const char *expected, const char *what, const char *file, int line);
bool tap_holds(const char *got, const char *part, const char *what, const char *file, int line); ///< part is in got
bool tap_status(sf_Status got, sf_Status expected, const char *what, const char *file, int line);

/// Runs `body(context)` again and again with the first, second, ... allocation failing, until it runs through without
/// a failure; after the 300th each seventh only, unless TAP_LONG is set. `body` returns the status of what it tried and
/// must leave nothing allocated. Each failing run must give SF_E_MEMORY and the last SF_OK; live blocks must come back
/// to where they were. `most` bounds the runs.
void tap_every_allocation(sf_Status (*body)(void *context), void *context, size_t most, const char *what);

/// A path under the tests' own data folder (TAP_DATA in the environment); static storage, overwritten by the next call.
const char *tap_data(const char *name);

/// A comment line in the output.
void tap_note(const char *format, ...) __attribute__((format(printf, 1, 2)));
