// SPDX-License-Identifier: GPL-3.0-or-later
// Glue between clamp, spacers and foot, by the two materials glued (docs/theory/strength.md). It positions; the bolt
// carries.
#pragma once

#include "base/shape.h"
#include "material/card.h"

typedef struct sf_GluePair {
    bool there;
    const char *first, *second, *adhesive;
    sf_Answer primer;
    double shear; ///< Pa
    sf_Confidence confidence;
    const char *source;
} sf_GluePair;

typedef struct sf_GlueTable {
    bool there;
    double shop_share, wet_share;
    const char *shop_share_source, *wet_share_source;
    sf_GluePair *pairs;
    size_t pair_count;
    sf_Arena *arena; ///< not a field of the file
} sf_GlueTable;

/// Reads the table that comes with the program. SF_E_MEMORY, SF_E_INPUT. Free with sf_glue_table_destroy.
sf_Status sf_glue_table_create(sf_GlueTable **table, sf_Error *err) SF_MUST_USE;
void sf_glue_table_destroy(sf_GlueTable **table);

/// What a glued joint may count as.
typedef struct sf_GlueJointFigure {
    double shear;            ///< Pa, after the shop's and the wet share; 0 for an unprimed polyolefin; NaN when unknown
    const char *why;         ///< one sentence
    const sf_GluePair *pair; ///< the row used, NULL when none
} sf_GlueJointFigure;

/// The joint of two materials (words of the limb file): the row for both, else the weaker of the two rows of each with
/// itself; unprimed polypropylene or polyethylene counts as zero with any adhesive but a primerless acrylic.
sf_GlueJointFigure sf_glue_joint(const sf_GlueTable *table, const char *first, const char *second, const char *adhesive,
                                 bool primer, bool wet);
