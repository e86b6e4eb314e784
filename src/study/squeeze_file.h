// SPDX-License-Identifier: GPL-3.0-or-later
// The squeeze document: one ring and how it was pressed, once or twice. docs/squeeze.schema.json, $defs/input.
#pragma once

#include "section/ring_measure.h"

#include <stdbool.h>

enum { SF_SQUEEZE_PRESSES = 2, SF_SQUEEZE_NAME = 200 };

/// What the seam showed under the load.
typedef enum sf_SqueezeOutcome {
    SF_SQUEEZE_UNSAID,
    SF_SQUEEZE_HELD,
    SF_SQUEEZE_WHITENED,
    SF_SQUEEZE_CRACKED
} sf_SqueezeOutcome;

/// One pressing. NaN where nothing was said; doubts are 95 % half widths.
typedef struct sf_SqueezePress {
    double load, closing, time; ///< N, m, s
    double load_doubt, closing_doubt;
    double turn; ///< from the load line to the seam, rad; NaN: not said
    sf_SqueezeOutcome outcome;
} sf_SqueezePress;

typedef struct sf_SqueezeFile {
    sf_Outline outline; ///< the ring in its own frame
    sf_RingMeasure measure;
    bool by_hand;      ///< diameters read by hand: no doubt comes with them
    double given_seam; ///< rad, NaN
    double axial_length, axial_doubt;
    double wanted_stress; ///< Pa, NaN: the shop's
    double poisson_ratio, temperature_c;
    char material[SF_SQUEEZE_NAME]; ///< "" when not said
    sf_SqueezePress presses[SF_SQUEEZE_PRESSES];
    size_t count;
} sf_SqueezeFile;

/// Reads the document and the ring it names (files start at the document's folder). All problems of the document at
/// once. SF_E_PARSE, SF_E_INPUT, and every failure of the ring's readers. Free with sf_squeeze_file_free.
sf_Status sf_squeeze_file_read(sf_SqueezeFile *file, const char *path, const char *text, size_t size,
                               sf_Error *err) SF_MUST_USE;

/// The same of a ring that is measured already: a document without a ring is about `own` (copied); NULL: it must name
/// one.
sf_Status sf_squeeze_file_read_of(sf_SqueezeFile *file, const sf_Outline *own, const char *path, const char *text,
                                  size_t size, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_squeeze_file_free(sf_SqueezeFile *file);
