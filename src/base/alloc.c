// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"

#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static atomic_size_t live_blocks;
static atomic_size_t fail_countdown; // 0: never fail
static atomic_bool fail_happened;

static bool must_fail(void)
{
    if (atomic_load(&fail_countdown) == 0)
        return false;
    if (atomic_fetch_sub(&fail_countdown, 1) != 1)
        return false;
    atomic_store(&fail_happened, true);
    return true;
}

void *sf_alloc(size_t count, size_t size)
{
    if (must_fail())
        return NULL;
    void *block = calloc(count ? count : 1, size ? size : 1);
    if (block)
        atomic_fetch_add(&live_blocks, 1);
    return block;
}

void *sf_realloc(void *block, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / size)
        return NULL;
    if (must_fail())
        return NULL;
    size_t bytes = count * size;
    void *moved = realloc(block, bytes ? bytes : 1);
    if (moved && !block)
        atomic_fetch_add(&live_blocks, 1);
    return moved;
}

void sf_free(void *block)
{
    if (!block)
        return;
    atomic_fetch_sub(&live_blocks, 1);
    free(block);
}

char *sf_copy_text(const char *text, size_t n)
{
    char *copy = sf_alloc(n + 1, 1);
    if (copy)
        memcpy(copy, text, n);
    return copy;
}

void sf_alloc_fail_at(size_t nth)
{
    atomic_store(&fail_happened, false);
    atomic_store(&fail_countdown, nth);
}

bool sf_alloc_failed(void)
{
    return atomic_load(&fail_happened);
}

size_t sf_alloc_live(void)
{
    return atomic_load(&live_blocks);
}
