// SPDX-License-Identifier: GPL-3.0-or-later
// The five settings of the foot on its clamp: names, units and signs, the same everywhere.
#pragma once

#include <stdbool.h>
#include <stddef.h>

typedef enum sf_Setting {
    SF_SETTING_TOE_OUT = 0,  ///< + turns the toe outward
    SF_SETTING_FOOT_FORWARD, ///< + anterior
    SF_SETTING_FOOT_OUTSET,  ///< + lateral; inset is negative
    SF_SETTING_DORSIFLEXION, ///< + toe up
    SF_SETTING_EVERSION,     ///< + lateral edge up: the sole faces outward
    SF_SETTING_COUNT
} sf_Setting;

/// Values in rad and m, indexed by sf_Setting. All zero: ankle centre on the pylon's axis, sole square to it.
typedef struct sf_Settings {
    double value[SF_SETTING_COUNT];
} sf_Settings;

/// What this adapter can move and how far (rad or m). Where `known` is false nothing was said about the adapter.
typedef struct sf_Travel {
    bool known;
    bool moves[SF_SETTING_COUNT];
    double low[SF_SETTING_COUNT], high[SF_SETTING_COUNT];
} sf_Travel;

/// The name with its unit: "toe_out_deg", "foot_forward_mm", ...
const char *sf_setting_key(sf_Setting setting);

/// "deg" or "mm".
const char *sf_setting_unit(sf_Setting setting);

/// What one of its unit is in SI.
double sf_setting_factor(sf_Setting setting);

/// The words of the bench for the setting: "toe-out", "foot forward", ...
const char *sf_setting_words(sf_Setting setting);

/// What a person calls a move of the setting in this direction (sign of `change`): "foot outset", "foot inset", ...
const char *sf_setting_move_words(sf_Setting setting, double change);

/// The setting of that name, with or without its unit; SF_SETTING_COUNT when there is none.
sf_Setting sf_setting_find(const char *name);

/// Whether the adapter can bring the setting to `value`. True when nothing is known about the adapter.
bool sf_travel_reaches(const sf_Travel *travel, sf_Setting setting, double value);
