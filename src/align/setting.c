// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/setting.h"

#include "base/units.h"

#include <string.h>

static const struct {
    const char *key, *unit, *words, *more, *less;
    double factor;
} SETTINGS[SF_SETTING_COUNT] = {
    [SF_SETTING_TOE_OUT] = { "toe_out_deg", "deg", "toe-out", "more toe-out", "less toe-out", SF_DEG },
    [SF_SETTING_FOOT_FORWARD] = { "foot_forward_mm", "mm", "foot forward", "foot forward", "foot back", SF_MM },
    [SF_SETTING_FOOT_OUTSET] = { "foot_outset_mm", "mm", "foot outset", "foot outset", "foot inset", SF_MM },
    [SF_SETTING_DORSIFLEXION] = { "dorsiflexion_deg", "deg", "dorsiflexion", "dorsiflex the foot",
                                  "plantarflex the foot", SF_DEG },
    [SF_SETTING_EVERSION] = { "eversion_deg", "deg", "eversion", "evert the clamp", "invert the clamp", SF_DEG },
};

const char *sf_setting_key(sf_Setting setting)
{
    return SETTINGS[setting].key;
}

const char *sf_setting_unit(sf_Setting setting)
{
    return SETTINGS[setting].unit;
}

double sf_setting_factor(sf_Setting setting)
{
    return SETTINGS[setting].factor;
}

const char *sf_setting_words(sf_Setting setting)
{
    return SETTINGS[setting].words;
}

const char *sf_setting_move_words(sf_Setting setting, double change)
{
    return change < 0 ? SETTINGS[setting].less : SETTINGS[setting].more;
}

sf_Setting sf_setting_find(const char *name)
{
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        size_t bare = strlen(SETTINGS[i].key) - strlen(SETTINGS[i].unit) - 1;
        if (strcmp(name, SETTINGS[i].key) == 0 || (strlen(name) == bare && strncmp(name, SETTINGS[i].key, bare) == 0))
            return (sf_Setting)i;
    }
    return SF_SETTING_COUNT;
}

bool sf_travel_reaches(const sf_Travel *travel, sf_Setting setting, double value)
{
    if (!travel->known)
        return true;
    // A limit typed in degrees must be reachable after it went through radians.
    double slack = 1e-9 * sf_setting_factor(setting);
    return travel->moves[setting] && value >= travel->low[setting] - slack && value <= travel->high[setting] + slack;
}
