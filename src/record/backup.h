// SPDX-License-Identifier: GPL-3.0-or-later
// Whole copies of a store, made while it is in use. A backup is a folder that no database is needed to read:
//
//     backup.json   format, schema, store, when, newest entry of the chain, rows of each table
//     rows/NAME     the rows of the chain and of every sealed table: cells "-" (NULL), "i17;" and "t5:words", row by
//     row files/ab/...  the picture files signing.key   the store's key: keep a backup as carefully as the store
//
// Working rows (sessions, kept answers, failed sign-ins) are left out: everybody signs in again.
#pragma once

#include "record/verify.h"

/// Writes a backup of one view of the store to a folder that does not exist yet; it appears whole or not at all. Other
/// transactions go on meanwhile. SF_E_INPUT when the folder is there, SF_E_STORE.
sf_Status sf_backup_make(sf_Store *store, const char *folder, sf_Error *err) SF_MUST_USE;

/// Makes a store at `place` (as for sf_store_open) out of a backup, brings it up to date and proves it. A backup of
/// SQLite can become a store in PostgreSQL and the other way round. `report` is the proof's; SF_E_STORE when it found
/// anything. SF_E_INPUT when there is a store already, SF_E_PARSE when the folder is no backup. Nothing half restored
/// stays.
sf_Status sf_backup_restore(const char *folder, const char *place, const char *files, sf_VerifyReport *report,
                            sf_Error *err) SF_MUST_USE;
