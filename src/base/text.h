// SPDX-License-Identifier: GPL-3.0-or-later
// A growing text with a bound: what is too long is cut and remembered, never overrun.
#pragma once

#include <stdbool.h>
#include <stddef.h>

typedef struct sf_Text {
    char *data;    ///< zero-terminated once something was added; NULL while empty
    size_t length; ///< bytes without the closing zero
    size_t room;   ///< bytes allocated
    size_t limit;  ///< most bytes it may ever hold
    bool broken;   ///< memory or limit ran out: what is held is incomplete
} sf_Text;

/// An empty text that may grow to `limit` bytes.
sf_Text sf_text_make(size_t limit);

/// Frees and empties it; safe to call twice.
void sf_text_free(sf_Text *text);

/// Adds `n` bytes. On exhaustion sets `broken` and adds nothing.
void sf_text_add_bytes(sf_Text *text, const void *bytes, size_t n);

/// Adds a zero-terminated text.
void sf_text_add(sf_Text *text, const char *more);

/// Adds printf-style.
void sf_text_format(sf_Text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/// The text as a C string, never NULL; borrowed until the next change.
const char *sf_text_string(const sf_Text *text);
