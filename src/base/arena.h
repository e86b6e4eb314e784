// SPDX-License-Identifier: GPL-3.0-or-later
// Memory that is freed all at once: one arena per request or job.
#pragma once

#include <stddef.h>

typedef struct sf_Arena sf_Arena;

/// An empty arena that will hand out at most `limit` bytes in all; NULL when out of memory.
sf_Arena *sf_arena_create(size_t limit);

/// Frees everything and nulls the pointer; NULL and pointer to NULL are allowed.
void sf_arena_destroy(sf_Arena **arena);

/// `count` zeroed items of `size` bytes, aligned for any type; NULL when memory or the limit is exhausted.
void *sf_arena_alloc(sf_Arena *arena, size_t count, size_t size);

/// Copy of a zero-terminated text; NULL when exhausted.
char *sf_arena_text(sf_Arena *arena, const char *text);

/// printf into the arena; NULL when exhausted.
char *sf_arena_format(sf_Arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));
