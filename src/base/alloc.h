// SPDX-License-Identifier: GPL-3.0-or-later
// The one door to the heap. Tests can make the n-th allocation fail and count what is still live.
#pragma once

#include <stdbool.h>
#include <stddef.h>

/// `count` zeroed items of `size` bytes; NULL when out of memory or on overflow. Free with sf_free.
void *sf_alloc(size_t count, size_t size) __attribute__((malloc));

/// Grows or shrinks like realloc; NULL leaves the old block as it was. New bytes are not zeroed.
void *sf_realloc(void *block, size_t count, size_t size);

/// Frees; NULL is allowed.
void sf_free(void *block);

/// A copy of `n` bytes of text with a closing zero; NULL when out of memory.
char *sf_copy_text(const char *text, size_t n);

/// Test hook: the allocation number `nth` from now (1 = the next) fails once; 0 switches it off.
void sf_alloc_fail_at(size_t nth);

/// Test hook: whether the planned failure has happened since sf_alloc_fail_at().
bool sf_alloc_failed(void);

/// Number of blocks handed out by this door and not yet freed.
size_t sf_alloc_live(void);
