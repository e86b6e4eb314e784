// SPDX-License-Identifier: GPL-3.0-or-later
// What the parts of the case share. Internal to limb_case.
#pragma once

#include "study/limb_case.h"
#include "study/stage_history.h"

/// A limb without its state, and without its facts where the document is enough.
sf_Status sf_limb_case_load(sf_LimbCase **limb, sf_Transaction *t, const sf_StageTable *table, int64_t id, bool facts,
                            sf_Error *err) SF_MUST_USE;

/// Whether both sides of the person are prosthetic, and the newest limb of the other side in the store; *id 0: none.
bool sf_limb_case_two_sides(const sf_LimbCase *limb);
sf_Status sf_limb_case_other(sf_LimbCase *limb, int64_t *id, sf_Error *err) SF_MUST_USE;

/// Whether the person is a child on the day of the transaction.
bool sf_limb_case_child(const sf_LimbCase *limb);

/// Sets around.proof_held: a proof held on another limb of this lot, oven setting and forming person, and none failed.
sf_Status sf_limb_case_look_for_proof(sf_LimbCase *limb, sf_Error *err) SF_MUST_USE;

/// Puts a value (taken) at a path of the document and saves it as the next version, without stamping it as a fact.
/// What would contradict the document is left out and said in recorded->why_not.
sf_Status sf_limb_case_put(sf_LimbCase *limb, const char *path, sf_Json **value, sf_CaseRecorded *recorded,
                           sf_Error *err) SF_MUST_USE;

/// A ring's fact is being withdrawn: what the document took over from it goes. Does nothing for other kinds, and where
/// another ring was laid into its place since.
sf_Status sf_limb_case_ring_withdrawn(sf_LimbCase *limb, int64_t fact, sf_CaseRecorded *recorded,
                                      sf_Error *err) SF_MUST_USE;

/// A fact of this kind is being withdrawn: what it appended to the document (holes, readings) goes; a value that it put
/// in the place of another stays, as the earlier one is not known to hold.
sf_Status sf_limb_case_take_back(sf_LimbCase *limb, const sf_StageKind *kind, sf_DocNode body,
                                 sf_CaseRecorded *recorded, sf_Error *err) SF_MUST_USE;

/// The document with one value put at a path.
sf_Status sf_limb_case_with(sf_DocNode document, const char *path, sf_DocNode value, char **text,
                            sf_Error *err) SF_MUST_USE;
