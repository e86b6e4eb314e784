// SPDX-License-Identifier: GPL-3.0-or-later
// Linear light to a picture file: noise, coding, PNG, JPEG or TIFF with the resolution where each keeps it.
#pragma once

#include "ring_raster.h"
#include "ring_scene.h"

/// Writes `path`. SF_E_STORE when the file cannot be written, SF_E_INPUT when the format cannot hold what is asked for.
sf_Status sf_encode_scene(const sf_Scene *scene, const sf_Field *light, const char *path, sf_Error *err) SF_MUST_USE;
