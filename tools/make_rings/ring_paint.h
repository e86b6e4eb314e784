// SPDX-License-Identifier: GPL-3.0-or-later
// A scene as linear light.
#pragma once

#include "ring_raster.h"
#include "ring_scene.h"

/// Paints the scene: exact area coverage, light lost and gained near edges, saw marks, clutter, dust, blur, uneven
/// light. Noise is the encoder's. Destroy the field afterwards.
sf_Status sf_paint_scene(const sf_Scene *scene, sf_Field *light, sf_Error *err) SF_MUST_USE;
