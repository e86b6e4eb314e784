// SPDX-License-Identifier: GPL-3.0-or-later
// The figures of a finished result, read by their keys: what pages and tables show is what the result says.
#pragma once

#include "study/result.h"

typedef struct sf_Figures {
    sf_Doc *doc;       ///< NULL: the study gave no result
    char why_not[512]; ///< its sentence, when doc is NULL
    sf_Status why_not_code;
} sf_Figures;

/// Finishes `result` when `status` is SF_OK and keeps its figures, else keeps the sentence of `why`. The result is
/// empty afterwards in any case. SF_E_MEMORY is handed on, every other failure of the study is data.
sf_Status sf_figures_take(sf_Figures *figures, sf_Result *result, sf_Status status, const sf_Error *why,
                          sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_figures_free(sf_Figures *figures);

/// The value at a path such as "limb.mass_kg" or "cases[2].name"; a place that is missing or null is not there.
sf_DocNode sf_figures_at(const sf_Figures *figures, const char *path);
double sf_figures_number(const sf_Figures *figures, const char *path);    ///< NaN when not there
const char *sf_figures_text(const sf_Figures *figures, const char *path); ///< NULL when not there; borrowed
bool sf_figures_flag(const sf_Figures *figures, const char *path);        ///< false when not there
size_t sf_figures_length(const sf_Figures *figures, const char *path);
