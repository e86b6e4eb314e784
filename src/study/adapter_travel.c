// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/adapter_travel.h"

#include <math.h>

static const sf_Setting SETTING_OF[] = { [SF_LIMB_SETTING_NONE] = SF_SETTING_COUNT,
                                         [SF_LIMB_SETTING_TOE_OUT] = SF_SETTING_TOE_OUT,
                                         [SF_LIMB_SETTING_FOOT_FORWARD] = SF_SETTING_FOOT_FORWARD,
                                         [SF_LIMB_SETTING_FOOT_OUTSET] = SF_SETTING_FOOT_OUTSET,
                                         [SF_LIMB_SETTING_DORSIFLEXION] = SF_SETTING_DORSIFLEXION,
                                         [SF_LIMB_SETTING_EVERSION] = SF_SETTING_EVERSION };

sf_Travel sf_adapter_travel(const sf_LimbAdapter *adapter)
{
    sf_Travel travel = { .known = adapter->there && adapter->motion_count > 0 };
    for (size_t i = 0; i < adapter->motion_count && travel.known; i++) {
        sf_Setting setting = SETTING_OF[adapter->motions[i].setting];
        if (setting == SF_SETTING_COUNT)
            continue; // a misspelt motion: its document is refused once all problems are known
        double factor = sf_setting_factor(setting);
        const double *range = adapter->motions[i].range;
        travel.moves[setting] = true;
        travel.low[setting] = isfinite(range[0]) ? range[0] * factor : -INFINITY;
        travel.high[setting] = isfinite(range[1]) ? range[1] * factor : INFINITY;
    }
    return travel;
}

sf_Settings sf_adapter_settings(const sf_LimbAlignment *a, const sf_Settings *start)
{
    sf_Settings settings = *start;
    if (!a->there)
        return settings;
    const double given[SF_SETTING_COUNT] = { [SF_SETTING_TOE_OUT] = a->toe_out,
                                             [SF_SETTING_FOOT_FORWARD] = a->foot_forward,
                                             [SF_SETTING_FOOT_OUTSET] = a->foot_outset,
                                             [SF_SETTING_DORSIFLEXION] = a->dorsiflexion,
                                             [SF_SETTING_EVERSION] = a->eversion };
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        if (isfinite(given[i]))
            settings.value[i] = given[i];
    return settings;
}
