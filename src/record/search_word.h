// SPDX-License-Identifier: GPL-3.0-or-later
// The words by which a limb is found. Internal to record.
#pragma once

#include "record/limb_record.h"

enum { SF_SEARCH_WORD_BYTES = 48, SF_SEARCH_WORDS_MOST = 64 };

/// Words in small letters, each once, in the order of their bytes.
typedef struct sf_SearchWords {
    char word[SF_SEARCH_WORDS_MOST + 1][SF_SEARCH_WORD_BYTES]; ///< one more than may be used, to shift into
    size_t count;
} sf_SearchWords;

/// Adds the words of a text: runs of letters and digits, in small letters (Latin, Greek and Cyrillic), cut at 44 bytes.
/// What does not fit any more is left out.
void sf_search_words_add(sf_SearchWords *words, const char *text);

/// Adds each part between blanks whole, with '=' in front: "=out-of-use".
void sf_search_words_add_exact(sf_SearchWords *words, const char *text);

/// All words of a limb's line and its wearer's pseudonym.
void sf_search_words_of(sf_SearchWords *words, const sf_LimbHead *head, const char *pseudonym);

/// Writes the words of the limb's line into the store in the place of those that were there; `fresh`: none were.
sf_Status sf_search_words_store(sf_Transaction *t, int64_t limb, const sf_SearchWords *words, bool fresh,
                                sf_Error *err) SF_MUST_USE;
