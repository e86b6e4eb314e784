// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/arena.h"

#include "base/alloc.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { BLOCK_BYTES = 64 * 1024 };

typedef struct Block {
    struct Block *next;
    size_t used, size;
    alignas(max_align_t) unsigned char bytes[];
} Block;

struct sf_Arena {
    Block *blocks; // newest first
    size_t handed_out, limit;
};

sf_Arena *sf_arena_create(size_t limit)
{
    sf_Arena *arena = sf_alloc(1, sizeof *arena);
    if (arena)
        arena->limit = limit;
    return arena;
}

void sf_arena_destroy(sf_Arena **arena)
{
    if (!arena || !*arena)
        return;
    for (Block *block = (*arena)->blocks; block;) {
        Block *next = block->next;
        sf_free(block);
        block = next;
    }
    sf_free(*arena);
    *arena = NULL;
}

void *sf_arena_alloc(sf_Arena *arena, size_t count, size_t size)
{
    if (size && count > (SIZE_MAX / 2) / size)
        return NULL;
    size_t align = alignof(max_align_t);
    size_t bytes = (count * size + align - 1) / align * align;
    if (bytes > arena->limit - arena->handed_out)
        return NULL;
    Block *block = arena->blocks;
    if (!block || block->size - block->used < bytes) {
        size_t room = bytes > BLOCK_BYTES ? bytes : BLOCK_BYTES;
        block = sf_alloc(1, sizeof *block + room);
        if (!block)
            return NULL;
        block->size = room;
        block->next = arena->blocks;
        arena->blocks = block;
    }
    void *start = block->bytes + block->used;
    block->used += bytes;
    arena->handed_out += bytes;
    return start;
}

char *sf_arena_text(sf_Arena *arena, const char *text)
{
    size_t n = strlen(text);
    char *copy = sf_arena_alloc(arena, n + 1, 1);
    if (copy)
        memcpy(copy, text, n);
    return copy;
}

char *sf_arena_format(sf_Arena *arena, const char *format, ...)
{
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    int n = vsnprintf(NULL, 0, format, args);
    va_end(args);
    char *text = n < 0 ? NULL : sf_arena_alloc(arena, (size_t)n + 1, 1);
    if (text)
        vsnprintf(text, (size_t)n + 1, format, again);
    va_end(again);
    return text;
}
