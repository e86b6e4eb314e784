// SPDX-License-Identifier: GPL-3.0-or-later
// Draws a scene into the bytes of a picture file, with what a perfect measurement of it would find. For tests.
#pragma once

#include "ring_scene.h"
#include "ring_truth.h"

#include <stddef.h>

typedef struct ring_Made {
    unsigned char *bytes; ///< the picture file; free with sf_free
    size_t size;
    sf_Truth truth; ///< zero for what is no ring
} ring_Made;

/// Draws it; a failure is reported as a failed test and leaves *made empty.
void ring_make(const sf_Scene *scene, ring_Made *made);

/// A plain ring of 25 mm with a wall of 3.4 mm at 200 dpi in a picture of 32 mm, to be changed at will.
sf_Scene ring_small(void);
