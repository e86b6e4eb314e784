// SPDX-License-Identifier: GPL-3.0-or-later
// Ready-made families of scenes, each drawn from one seed.
#pragma once

#include "ring_scene.h"

/// Scene number `index` of a set. SF_E_USAGE for a set that does not exist (the sentence lists those that do).
sf_Status sf_set_scene(const char *set, int64_t seed, int64_t index, sf_Scene *scene, sf_Error *err) SF_MUST_USE;

/// How many scenes a set has by itself when no count is asked for; 0 for one that does not exist.
int64_t sf_set_size(const char *set);
