// SPDX-License-Identifier: GPL-3.0-or-later
// Sends jansson's allocations through base/alloc.h. Internal to base.
#pragma once

#include <stdbool.h>

/// Installs the allocator and the hash seed once; later calls do nothing. Call it before threads start.
void sf_json_heap_install(void);

/// Whether an allocation of this thread failed since the last call; jansson itself does not always say so.
bool sf_json_heap_failed(void);
