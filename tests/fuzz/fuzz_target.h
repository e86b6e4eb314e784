// SPDX-License-Identifier: GPL-3.0-or-later
// What every fuzz target has in common. A target is one property in one file; libFuzzer drives it when the tree is
// configured with -Dfuzz=true, and corpus_driver.c runs its corpus as a plain test otherwise.
#pragma once

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/// Tries one input; returns 0. A broken property ends the program, which is what both drivers look for.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define FUZZ_TRUE(condition)                                                                                           \
    do {                                                                                                               \
        if (!(condition)) {                                                                                            \
            fprintf(stderr, "%s:%d: does not hold: %s\n", __FILE__, __LINE__, #condition);                             \
            abort();                                                                                                   \
        }                                                                                                              \
    } while (0)
