// SPDX-License-Identifier: GPL-3.0-or-later
// One wearer with limbs and pictures as one file that anybody can open (a tar archive), and back into a store:
//
//     export.json             who and what: shop, wearer, limbs, their lines, versions, facts, attachments, staff by name,
//     and
//                             the BLAKE2b of every other file
//     export.signature        public key of the store and its signature of export.json
//     limb-3/document-2.json  version 2 of the document of limb 3, byte for byte
//     limb-3/fact-17.json     body of fact 17, byte for byte
//     pictures/abcd...        picture files by their hash
#pragma once

#include "record/store.h"

enum { SF_BUNDLE_BYTES_MOST = 1024 * 1024 * 1024 };

/// Exports all limbs of a wearer (`limb` 0) or one of them into a fresh block (free with sf_free). The caller notes in
/// the chain who took it. SF_E_MISSING, SF_E_LIMIT when it is larger than SF_BUNDLE_BYTES_MOST.
sf_Status sf_bundle_export(sf_Transaction *t, int64_t wearer, int64_t limb, unsigned char **bytes, size_t *size,
                           sf_Error *err) SF_MUST_USE;

typedef struct sf_BundleReport {
    int64_t wearer;
    int64_t limbs, facts, attachments;
    const int64_t *limb_ids; ///< of the new limbs, `limb_count` of them; lives as long as the transaction
    size_t limb_count;
    char store[33]; ///< the store it came from
    bool own;       ///< from this very store
} sf_BundleReport;

/// Adds what an export holds, as new rows with new ids, each telling in `origin` where it came from. `wearer` 0: a new
/// wearer; else one that is here. Everything is looked at before anything is written: the hash of every file, the
/// signature, what refers to what. SF_E_PARSE, SF_E_INPUT; SF_E_CONFLICT when one of the limbs is here already.
sf_Status sf_bundle_import(sf_Transaction *t, const unsigned char *bytes, size_t size, int64_t wearer,
                           sf_BundleReport *report, sf_Error *err) SF_MUST_USE;
