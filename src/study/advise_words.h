// SPDX-License-Identifier: GPL-3.0-or-later
// The sentences of the advice: what was seen, why this change, what it should bring.
#pragma once

#include "base/text.h"
#include "study/trials.h"

/// The signs of a trial that speak of a plane, with phase and strength, such as "lateral thrust in mid-stance (clear)";
/// of all planes when `plane` is SF_PLANE_COUNT. Returns how many there were.
size_t sf_advise_words_signs(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial, sf_Plane plane);

/// Why a change is suggested, in one sentence that a user could be told.
void sf_advise_words_why(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial, const sf_Suggestion *said);

/// What the next walk should show when the suggestion is right.
void sf_advise_words_expects(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial,
                             const sf_Suggestion *said);

/// Why nothing more is changed, or what comes first.
void sf_advise_words_stop(sf_Text *text, const sf_Trials *trials, const sf_Suggestion *said);

/// The plane in the trade's words.
const char *sf_advise_words_plane(sf_Plane plane);

/// How the foot stands too far in a plane: `too_far` +1 too far forward / out / turned out, -1 the other way.
const char *sf_advise_words_off(sf_Plane plane, int too_far);
