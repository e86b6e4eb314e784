// SPDX-License-Identifier: GPL-3.0-or-later
// What lies on the glass beside the ring: dust, a paper tag, a ruler, a pencil, a hair, a finger's smudge.
#pragma once

#include "ring_raster.h"
#include "ring_scene.h"

/// Paints the scene's clutter into the light. Everything but dust keeps clear of the ring.
void sf_clutter_paint(const sf_Scene *scene, sf_Field *light);
