// SPDX-License-Identifier: GPL-3.0-or-later
// The trials document, standfast-trials/1 (docs/trials.schema.json).
#pragma once

#include "align/advice.h"
#include "limb/limb.h"

typedef struct sf_Trials {
    sf_Arena *arena; ///< owns the trials and the document's texts
    sf_Trial *trials;
    sf_TrialSet set; ///< borrows `trials`
    sf_SignTable table;
    sf_LimbPerson person;
    sf_LimbAdapter adapter;
    bool foot_length_given, socket_over_clamp_given, start_given;
    bool fixing_done; ///< the permanent fixing is in
    bool long_worn;   ///< comes from years on a misaligned limb
    size_t
        sound_signs; ///< of the sound side, that would move a setting if they were this limb's: left out of the trials
} sf_Trials;

/// Reads the document; all problems come in one error, each with its path. Settings that a trial leaves out are those
/// the walk before ended with, zero at first. SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY. Free with sf_trials_free.
sf_Status sf_trials_read(sf_Trials *trials, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;
void sf_trials_free(sf_Trials *trials); ///< safe to call twice
