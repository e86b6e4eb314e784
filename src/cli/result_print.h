// SPDX-License-Identifier: GPL-3.0-or-later
// A result document as text for a person: every key in words, with the unit that its name ends in.
#pragma once

#include "base/doc.h"

/// Prints the result on stdout and destroys it. Assumptions, notes and the safety sentence come last. SF_E_MEMORY.
sf_Status sf_result_print(sf_Json **json, sf_Error *err) SF_MUST_USE;

/// Prints a result by `body`, which lays out what this result is about, then "Assumed", "To know" and the safety
/// sentence. The text is written from the result itself, so that both tell the same. The result stays. SF_E_MEMORY.
sf_Status sf_result_print_by(const sf_Json *json, void (*body)(sf_DocNode root), sf_Error *err) SF_MUST_USE;

/// Prints a list of texts, or of objects by their text `field` (NULL: none), under a title; nothing when it is empty.
void sf_result_print_list(sf_DocNode root, const char *key, const char *title, const char *field);

/// A member as a number, 0 when there is none; as a text, "".
double sf_result_number(sf_DocNode object, const char *key);
const char *sf_result_text(sf_DocNode object, const char *key);
