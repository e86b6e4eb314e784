// SPDX-License-Identifier: GPL-3.0-or-later
// A result document as text for a person: every key in words, with the unit that its name ends in.
#pragma once

#include "base/doc.h"

/// Prints the result on stdout and destroys it. Assumptions, notes and the safety sentence come last. SF_E_MEMORY.
sf_Status sf_result_print(sf_Json **json, sf_Error *err) SF_MUST_USE;
