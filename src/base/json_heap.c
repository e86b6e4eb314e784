// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/json_heap.h"

#include "base/alloc.h"

#include <jansson.h>
#include <stdatomic.h>

static _Thread_local bool failed;

static void *take(size_t bytes)
{
    void *block = sf_alloc(bytes, 1);
    failed = failed || !block;
    return block;
}

void sf_json_heap_install(void)
{
    static atomic_flag done = ATOMIC_FLAG_INIT;
    if (atomic_flag_test_and_set(&done))
        return;
    json_set_alloc_funcs(take, sf_free);
    json_object_seed(0);
}

bool sf_json_heap_failed(void)
{
    bool before = failed;
    failed = false;
    return before;
}
