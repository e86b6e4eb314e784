// SPDX-License-Identifier: GPL-3.0-or-later
// The store: rows in SQLite or PostgreSQL, picture files beside them, one signed chain of entries over every write.
// The store knows nothing of the trade; who may do what is decided above it.
//
//     sf_Transaction *t = NULL;
//     SF_TRY(sf_transaction_write(&t, store, person, err));
//     sf_Status status = sf_fact_add(t, &fact, &id, err);
//     if (status == SF_OK)
//         status = sf_transaction_commit(t, err);   // only now is it kept; what was not committed never happened
//     sf_transaction_end(&t);
#pragma once

#include "base/arena.h"
#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

enum { SF_TIME_TEXT = 25 }; ///< "2026-11-25T14:03:22.123Z" and the closing zero; UTC

typedef struct sf_Store sf_Store;
typedef struct sf_Transaction sf_Transaction;

typedef enum sf_StoreOpening {
    SF_STORE_EXISTING, ///< SF_E_MISSING when there is none
    SF_STORE_MAKE      ///< made when there is none
} sf_StoreOpening;

/// Opens the store at `place`: the path of an SQLite file, or "postgres://...". Picture files and the signing key lie
/// in `files`; NULL means "<place>.files" (and is refused with PostgreSQL). An older schema is brought up to date in
/// one transaction; a newer one is refused. One sf_Store serves many threads. SF_E_MISSING, SF_E_STORE, SF_E_INPUT.
sf_Status sf_store_open(sf_Store **store, const char *place, const char *files, sf_StoreOpening opening,
                        sf_Error *err) SF_MUST_USE;

/// Closes and nulls. No transaction may be open any more.
void sf_store_close(sf_Store **store);

/// Closes and nulls; a store that was made by this very opening is removed again, so that a first step that failed
/// leaves nothing behind.
void sf_store_unmake(sf_Store **store);

/// $XDG_DATA_HOME/standfast/standfast.sqlite, else ~/.local/share/standfast/standfast.sqlite; the folder is made.
/// Freed with sf_free.
sf_Status sf_store_default_place(char **place, sf_Error *err) SF_MUST_USE;

const char *sf_store_place(const sf_Store *store);      ///< without a password
const char *sf_store_kind(const sf_Store *store);       ///< "SQLite" or "PostgreSQL"
const char *sf_store_id(const sf_Store *store);         ///< 32 hexadecimal digits, made with the store
const char *sf_store_public_key(const sf_Store *store); ///< 64 hexadecimal digits
const char *sf_store_files(const sf_Store *store);      ///< folder of the picture files

/// Replaces the clock that stamps entries, for tests and for the demo's invented past. `now` writes UTC as above.
typedef void (*sf_StoreClock)(void *context, char text[SF_TIME_TEXT]);
void sf_store_set_clock(sf_Store *store, sf_StoreClock now, void *context);

/// The time by the store's clock.
void sf_store_now(sf_Store *store, char text[SF_TIME_TEXT]);

/// Whether the text is a time as SF_TIME_TEXT has it, on a day that exists.
bool sf_time_is_good(const char *text);

/// A view that does not change while it is open. At most SF_STORE_READERS are open at a time, more wait; SF_E_LIMIT
/// after 10 s. Texts of rows that are read belong to the transaction and live until it ends.
enum { SF_STORE_READERS = 8 };
sf_Status sf_transaction_read(sf_Transaction **transaction, sf_Store *store, sf_Error *err) SF_MUST_USE;

/// The one writer: others wait, SF_E_STORE after 10 s. `who` is the id of the person who acts, 0 for the store itself.
/// Everything may also be read, and is seen as written so far.
sf_Status sf_transaction_write(sf_Transaction **transaction, sf_Store *store, int64_t who, sf_Error *err) SF_MUST_USE;

/// Keeps what was written, on the disk, or nothing of it. Further calls but sf_transaction_end() are refused.
sf_Status sf_transaction_commit(sf_Transaction *transaction, sf_Error *err) SF_MUST_USE;

/// Ends, undoes what was not committed, frees the rows and nulls; NULL and pointer to NULL are allowed.
void sf_transaction_end(sf_Transaction **transaction);

/// The time of this transaction (one for all that it writes), who acts, the arena of its rows, its store.
const char *sf_transaction_time(const sf_Transaction *transaction);
int64_t sf_transaction_who(const sf_Transaction *transaction);
sf_Arena *sf_transaction_arena(sf_Transaction *transaction);
sf_Store *sf_transaction_store(sf_Transaction *transaction);
