// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/search_word.h"

#include "record/sealed.h"

#include <string.h>

enum { CUT = 44, AT_ONCE = 16 };

/// Writes the small letter of the sign at `s` (1 to 4 bytes of good UTF-8) to `to`; returns how many bytes it read and
/// wrote. Latin-1, the pairs of Latin Extended-A, Greek and Cyrillic; others stay.
static size_t fold(const unsigned char *s, unsigned char *to)
{
    if (s[0] < 0x80) {
        to[0] = s[0] >= 'A' && s[0] <= 'Z' ? (unsigned char)(s[0] + 32) : s[0];
        return 1;
    }
    size_t n = s[0] >= 0xF0 ? 4 : s[0] >= 0xE0 ? 3 : 2;
    for (size_t i = 0; i < n; i++) {
        if (i > 0 && (s[i] & 0xC0) != 0x80)
            n = i; // broken UTF-8 never gets into the store; do not run past its end either
        else
            to[i] = s[i];
    }
    if (n != 2)
        return n;
    unsigned sign = (unsigned)(s[0] & 0x1F) << 6 | (s[1] & 0x3F);
    if ((sign >= 0xC0 && sign <= 0xDE && sign != 0xD7) || (sign >= 0x391 && sign <= 0x3A9) ||
        (sign >= 0x410 && sign <= 0x42F))
        sign += 0x20;
    else if (sign >= 0x400 && sign <= 0x40F)
        sign += 0x50;
    else if (((sign >= 0x100 && sign <= 0x137) || (sign >= 0x14A && sign <= 0x177)) && sign != 0x130 && sign != 0x131)
        sign |= 1;
    else if (((sign >= 0x139 && sign <= 0x148) || (sign >= 0x179 && sign <= 0x17E)) && sign % 2 == 1)
        sign++;
    to[0] = (unsigned char)(0xC0 | sign >> 6);
    to[1] = (unsigned char)(0x80 | (sign & 0x3F));
    return 2;
}

static void add(sf_SearchWords *words, const char *word)
{
    size_t at = 0;
    while (at < words->count && strcmp(words->word[at], word) < 0)
        at++;
    if ((at < words->count && strcmp(words->word[at], word) == 0) || words->count == SF_SEARCH_WORDS_MOST)
        return;
    memmove(words->word[at + 1], words->word[at], (words->count - at) * sizeof words->word[0]);
    strcpy(words->word[at], word);
    words->count++;
}

static bool in_word(unsigned char sign)
{
    return sign >= 0x80 || (sign >= '0' && sign <= '9') || (sign >= 'A' && sign <= 'Z') || (sign >= 'a' && sign <= 'z');
}

void sf_search_words_add(sf_SearchWords *words, const char *text)
{
    char word[SF_SEARCH_WORD_BYTES + 4];
    size_t used = 0;
    for (const unsigned char *s = (const unsigned char *)(text ? text : "");;) {
        if (*s && in_word(*s)) {
            unsigned char sign[4];
            size_t n = fold(s, sign);
            if (used + n <= CUT) {
                memcpy(word + used, sign, n);
                used += n;
            }
            s += n;
            continue;
        }
        word[used] = 0;
        if (used > 0)
            add(words, word);
        used = 0;
        if (!*s)
            return;
        s++;
    }
}

void sf_search_words_add_exact(sf_SearchWords *words, const char *text)
{
    while (text && *text) {
        size_t n = strcspn(text, " ");
        char word[SF_SEARCH_WORD_BYTES] = "=";
        if (n > 0 && n <= CUT) {
            memcpy(word + 1, text, n);
            add(words, word);
        }
        text += n + strspn(text + n, " ");
    }
}

void sf_search_words_of(sf_SearchWords *words, const sf_LimbHead *head, const char *pseudonym)
{
    words->count = 0;
    sf_search_words_add_exact(words, head->flags); // first: these must not be the ones left out
    sf_search_words_add(words, head->label);
    sf_search_words_add(words, pseudonym);
    sf_search_words_add(words, head->sheet_lot);
    sf_search_words_add(words, head->side);
    sf_search_words_add(words, head->stage);
    sf_search_words_add(words, head->flags);
}

/// "INSERT INTO limb_word (word, limb) VALUES ($2, $1), ($3, $1), ..." for `count` words from `first` on: one trip to a
/// server.
static sf_Status insert_words(sf_Transaction *t, int64_t limb, const sf_SearchWords *words, size_t first, size_t count,
                              sf_Error *err)
{
    sf_Value values[AT_ONCE + 1] = { sf_whole(limb) };
    sf_Text sql = sf_text_make(1024);
    sf_text_add(&sql, "INSERT INTO limb_word (word, limb) VALUES ");
    for (size_t i = 0; i < count; i++) {
        sf_text_format(&sql, "%s($%zu, $1)", i ? ", " : "", i + 2);
        values[i + 1] = sf_words(words->word[first + i]);
    }
    sf_Status status = sql.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory")
                                  : sf_transaction_query(t, sql.data, values, count + 1, NULL, err);
    if (status != SF_OK)
        t->over = true;
    sf_text_free(&sql);
    return status;
}

sf_Status sf_search_words_store(sf_Transaction *t, int64_t limb, const sf_SearchWords *words, bool fresh, sf_Error *err)
{
    if (!fresh)
        SF_TRY(sf_transaction_query(t, "DELETE FROM limb_word WHERE limb = $1", SF_BIND(sf_whole(limb)), NULL, err));
    for (size_t first = 0; first < words->count; first += AT_ONCE) {
        size_t left = words->count - first;
        SF_TRY(insert_words(t, limb, words, first, left < AT_ONCE ? left : AT_ONCE, err));
    }
    return SF_OK;
}
