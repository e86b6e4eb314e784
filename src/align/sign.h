// SPDX-License-Identifier: GPL-3.0-or-later
// The signs that a trained eye names in walking, and what each speaks of (data/signs.json).
#pragma once

#include "align/belief.h"
#include "base/doc.h"

enum { SF_SIGN_MOST = 40, SF_SIGN_MOST_CHECKS = 40, SF_SIGN_MOST_PHASES = 8 };

/// A cause other than alignment, to be looked for first.
typedef struct sf_SignCheck {
    const char *check, *family, *words;
    bool before_alignment; ///< fit, suspension, length and shoe come before any change of alignment
} sf_SignCheck;

typedef struct sf_Sign {
    const char *sign, *name, *words; ///< as it is written, as it is spoken, what is seen
    size_t phases[SF_SIGN_MOST_PHASES]; ///< phases it belongs to; the first is meant when none is given
    size_t phase_count;
    int sagittal, coronal, toe_out, sole; ///< -1, 0, +1: how the foot stands too far; see data/signs.json
    double weight;
    bool first; ///< no setting answers it: its checks come before any change
    size_t checks[SF_SIGN_MOST_PHASES];
    size_t check_count;
} sf_Sign;

/// The whole list. Texts point into its document.
typedef struct sf_SignTable {
    sf_Doc *doc;
    const char *phases[SF_SIGN_MOST_PHASES];
    size_t phase_count;
    sf_SignCheck checks[SF_SIGN_MOST_CHECKS];
    size_t check_count;
    sf_Sign signs[SF_SIGN_MOST];
    size_t sign_count;
} sf_SignTable;

/// Reads the built-in list. SF_E_MEMORY, SF_E_INTERNAL when the data is broken. Free with sf_sign_table_free.
sf_Status sf_sign_table_load(sf_SignTable *table, sf_Error *err) SF_MUST_USE;
void sf_sign_table_free(sf_SignTable *table); ///< safe to call twice

/// Index of a sign by name; sign_count when there is none.
size_t sf_sign_find(const sf_SignTable *table, const char *name);

/// The effect a sign speaks of when seen in this phase, and its level's sign; SF_EFFECT_COUNT when it speaks of none.
sf_Effect sf_sign_effect(const sf_SignTable *table, size_t sign, size_t phase, int *direction);
