// SPDX-License-Identifier: GPL-3.0-or-later
// What every result carries beside its own figures: the program's version, a fingerprint of the inputs, assumptions,
// notes and the safety sentence.
#pragma once

#include "base/doc.h"
#include "seal/hash.h"

#include <stddef.h>

typedef struct sf_Result {
    sf_Json *json; ///< the result object; figures are set straight into it
    sf_Json *assumptions, *notes;
    sf_Hash *hash;
} sf_Result;

/// An empty result. SF_E_MEMORY.
sf_Status sf_result_begin(sf_Result *result, sf_Error *err) SF_MUST_USE;

/// Adds input bytes to the fingerprint, with their length, so that two inputs never run together.
void sf_result_input(sf_Result *result, const void *bytes, size_t size);

/// The fingerprint that a result of these inputs, added in this order, will carry: to be printed before it is finished.
/// SF_E_MEMORY.
sf_Status sf_result_fingerprint(char hex[SF_HASH_HEX], const void *const *bytes, const size_t *sizes, size_t count,
                                sf_Error *err) SF_MUST_USE;

/// What was assumed because a field was left out, with the field that would replace it.
void sf_result_assume(sf_Result *result, const char *format, ...) SF_PRINTF(2, 3);

/// What a reader must know, such as why a figure is null.
void sf_result_note(sf_Result *result, const char *format, ...) SF_PRINTF(2, 3);

/// A figure that does not exist: null under its key, and the reason as a note.
void sf_result_null(sf_Result *result, const char *key, const char *reason);

/// Sets the common keys and hands the whole object over (destroy with sf_json_destroy); the result is empty afterwards.
/// `safety` is the safety sentence of this kind of result, or NULL for the general one.
sf_Json *sf_result_finish(sf_Result *result, const char *safety);

/// Frees what was not handed over; safe to call twice.
void sf_result_drop(sf_Result *result);

/// The general safety sentence.
const char *sf_safety_sentence(void);

/// The program's version.
const char *sf_version(void);
