// SPDX-License-Identifier: GPL-3.0-or-later
// The motions of a fitted adapter, from the limb document's words to the alignment's.
#pragma once

#include "align/setting.h"
#include "limb/limb.h"

/// What the adapter moves and how far. Not known when the adapter is left out or lists no motion.
sf_Travel sf_adapter_travel(const sf_LimbAdapter *adapter);

/// Settings from the document; what was left out keeps its value in `start`.
sf_Settings sf_adapter_settings(const sf_LimbAlignment *alignment, const sf_Settings *start);
