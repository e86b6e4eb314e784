// SPDX-License-Identifier: GPL-3.0-or-later
// How a ring of a limb was pressed, in the record: the fact 'squeeze-proof' keeps the loads as they were told and what
// follows from them for this ring. Internal to limb_case.
#pragma once

#include "study/limb_case.h"
#include "study/squeeze_study.h"

/// The squeeze document (without a ring) that decides for this ring: that of a proof which failed, else of the newest
/// proof that was told with its loads. *text NULL: none was. Freed with sf_free.
sf_Status sf_limb_case_pressed(const sf_LimbCase *limb, const char *ring_number, char **text,
                               sf_Error *err) SF_MUST_USE;

/// A told squeeze made ready: it must say the load and what the seam showed and name no ring; material and seam are
/// filled in from the limb (`seam_deg` NaN: not known). SF_E_INPUT, SF_E_MISSING. Freed with sf_free.
sf_Status sf_limb_case_told(const sf_LimbCase *limb, const char *told, double seam_deg, char **text,
                            sf_Error *err) SF_MUST_USE;

/// Body of the fact 'squeeze-proof' and the whole result, both JSON (freed with sf_free). A press that neither proves
/// nor breaks the seam is no proof: SF_E_INPUT says what to press with.
sf_Status sf_limb_case_proof(const sf_Squeeze *squeeze, const char *ring_number, const char *text, char **body,
                             char **result, sf_Error *err) SF_MUST_USE;
