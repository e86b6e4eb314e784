// SPDX-License-Identifier: GPL-3.0-or-later
// What to change next, on one A5 sheet: where the change lies on the drawn limb first, one reason, why not the others,
// and the brackets as narrowing bars. An aid to a licensed prosthetist, not a certificate.
#pragma once

#include "draw/bracket_bars.h"
#include "draw/limb_views.h"

enum { SF_ADVICE_SHEET_TEXTS = 24 };

/// A paragraph beside the limb.
typedef struct sf_AdviceText {
    const char *name; ///< "Why"; NULL: the name above goes on
    const char *text;
} sf_AdviceText;

typedef struct sf_AdviceSheet {
    const char *label, *program, *safety;
    size_t walks;
    const char *headline, *figures; ///< "foot outset 4 mm"; "from 0 to 4 mm", may be ""
    bool stop;
    sf_LimbViews views;
    sf_AdviceText texts[SF_ADVICE_SHEET_TEXTS]; ///< most weighty first
    size_t text_count;
    sf_BracketBars bars[SF_SETTING_COUNT];
    const char *assumed; ///< one line below the bars
} sf_AdviceSheet;

/// Where the views lie on the A5 sheet.
sf_ViewPlaces sf_advice_sheet_places(const sf_AdviceSheet *advice);

/// Box of the bars of a setting on the A5 sheet.
sf_Box sf_advice_sheet_bars(sf_Setting setting);

/// Draws onto an A5 sheet lying down. SF_E_MEMORY.
sf_Status sf_advice_sheet_paint(sf_Sheet *sheet, const sf_AdviceSheet *advice, sf_Error *err) SF_MUST_USE;
