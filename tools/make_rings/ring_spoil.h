// SPDX-License-Identifier: GPL-3.0-or-later
// Damage to a finished picture file: what a reader must refuse.
#pragma once

#include "ring_scene.h"

/// Applies the scene's `spoil` to the file: cut off in the middle, replaced by text, or with a header that claims
/// 100000 x 100000 pixels (65500 x 65500 for JPEG, which can say no more). SF_E_INTERNAL when the header is not found.
sf_Status sf_spoil_file(const sf_Scene *scene, const char *path, sf_Error *err) SF_MUST_USE;
