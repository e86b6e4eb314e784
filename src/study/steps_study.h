// SPDX-License-Identifier: GPL-3.0-or-later
// `steps`: timing of steps from footfalls, taps or an acceleration.
#pragma once

#include "base/doc.h"
#include "gait/acceleration.h"
#include "gait/steps.h"

typedef enum sf_StepsSide { SF_STEPS_SIDE_UNSAID = 0, SF_STEPS_SIDE_LEFT, SF_STEPS_SIDE_RIGHT } sf_StepsSide;

typedef struct sf_StepsAsk {
    sf_StepsSide prosthetic; ///< symmetry is then prosthetic over sound
    sf_StepsSide first;      ///< acceleration: side of the first contact, or the side that the shank sensor is on
    sf_SensorPlace place;    ///< acceleration: where the sensor was
    bool taps;               ///< tapped by hand: means only
    size_t drop_ends;        ///< steps left out at either end of a pass
} sf_StepsAsk;

/// Reads a footfall table (columns time_s, side) or an acceleration table (columns time_s, ax, ay, az) and hands over
/// the result (docs/steps.schema.json; destroy with sf_json_destroy). SF_E_PARSE, SF_E_MISSING, SF_E_INPUT,
/// SF_E_MEMORY.
sf_Status sf_steps_study(sf_Json **json, const char *name, const char *text, size_t size, const sf_StepsAsk *ask,
                         sf_Error *err) SF_MUST_USE;

/// What the result was made from. Free with sf_steps_finding_free.
typedef struct sf_StepsFinding {
    sf_FootfallList list;
    sf_StepReport report;
    bool sides_known;
} sf_StepsFinding;

/// The same, and hands over the footfalls with what became of each.
sf_Status sf_steps_find(sf_Json **json, sf_StepsFinding *finding, const char *name, const char *text, size_t size,
                        const sf_StepsAsk *ask, sf_Error *err) SF_MUST_USE;
void sf_steps_finding_free(sf_StepsFinding *finding); ///< safe to call twice
