// SPDX-License-Identifier: GPL-3.0-or-later
// Proof that nothing in the store was changed behind its back, or the first entry of the chain that does not hold.
#pragma once

#include "record/store.h"

enum { SF_VERIFY_PROBLEMS = 50 };

typedef struct sf_VerifyProblem {
    int64_t seq; ///< entry of the chain that it concerns; 0: none, such as a working row
    char text[400];
} sf_VerifyProblem;

typedef struct sf_VerifyReport {
    int64_t entries, rows, working_rows, words, files, file_bytes;
    int64_t unnamed_files; ///< on the shelf, named by no row: left by an upload that was not finished
    int64_t head_seq;      ///< newest entry; note it down with head_hash to prove later that nothing was cut off
    char head_hash[65];
    size_t problem_count;                          ///< all of them
    size_t kept;                                   ///< how many are described
    sf_VerifyProblem problems[SF_VERIFY_PROBLEMS]; ///< those of the lowest entries first
} sf_VerifyReport;

typedef struct sf_VerifyAsk {
    const char *expect; ///< "SEQ:HASH" of an earlier report: that entry must still be there; NULL: not asked
    bool skip_files;    ///< do not read the picture files
} sf_VerifyAsk;

/// Walks everything in one view of the store: order, hashes and signatures of the chain; for every row that the newest
/// entry on it holds its hash, and for every entry its row; seals of working rows; search words; picture files; with
/// SQLite the structure of the file. SF_OK also when problems were found: look at problem_count. SF_E_INPUT when
/// `expect` is malformed, SF_E_STORE when the store cannot be read at all.
sf_Status sf_store_verify(sf_Store *store, const sf_VerifyAsk *ask, sf_VerifyReport *report, sf_Error *err) SF_MUST_USE;
