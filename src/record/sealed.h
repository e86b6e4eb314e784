// SPDX-License-Identifier: GPL-3.0-or-later
// Rows that the chain vouches for, and the inside of a transaction. Internal to record.
//
// Content of a row: its table's name and every column that is not NULL, as "name=length:bytes;" in the order of the
// table below; whole numbers in decimal. payload_hash = BLAKE2b-256 of that, keyed by the row's salt. Deleting the salt
// with the content leaves nothing to guess from, and the chain as it was.
#pragma once

#include "base/text.h"
#include "record/database.h"
#include "record/store.h"
#include "seal/digest.h"
#include "seal/signature.h"

#include <pthread.h>

typedef struct sf_SealedTable {
    const char *name;
    const char *const *columns; ///< without seq and salt; the first `keys` of them say which row it is
    size_t count, keys;
} sf_SealedTable;

typedef enum sf_SealedName {
    SF_SEALED_STORE,
    SF_SEALED_MIGRATION,
    SF_SEALED_PERSON,
    SF_SEALED_WEARER,
    SF_SEALED_LIMB,
    SF_SEALED_LIMB_VERSION,
    SF_SEALED_FACT,
    SF_SEALED_ATTACHMENT,
    SF_SEALED_COUNT,
    SF_WORKING_SIGN_IN = SF_SEALED_COUNT,
    SF_WORKING_SESSION,
    SF_WORKING_REPEAT_KEY,
    SF_TABLE_COUNT
} sf_SealedName;

extern const sf_SealedTable sf_sealed_tables[SF_TABLE_COUNT]; ///< in an order in which references point backwards

struct sf_Store {
    char *place, *files;
    bool postgres;
    bool made_file, made_folder, owns_folder; ///< by this opening; owns: nobody had anything in the folder before
    bool fresh;                               ///< the store itself was made by this opening
    char id[SF_SALT_HEX];
    sf_SigningKey key;
    unsigned char working_key[SF_DERIVED_KEY_BYTES]; ///< seals working rows
    sf_StoreClock clock;
    void *clock_context;
    pthread_mutex_t writer_lock;
    sf_Database *writer;
    pthread_mutex_t pool_lock;
    pthread_cond_t pool_free;
    sf_Database *readers[SF_STORE_READERS];
    bool reader_busy[SF_STORE_READERS];
};

struct sf_Transaction {
    sf_Store *store;
    sf_Database *db;
    sf_Arena *arena;
    bool write, over; ///< over: committed, or broken by a failure
    int reader;       ///< its place in the pool
    int64_t who;
    char time[SF_TIME_TEXT];
    bool chain_read;
    int64_t last_seq;
    char last_hash[SF_DIGEST_HEX];
};

/// Runs one statement inside a transaction; rows live in its arena.
sf_Status sf_transaction_query(sf_Transaction *t, const char *sql, const sf_Value *values, size_t count, sf_Rows *rows,
                               sf_Error *err) SF_MUST_USE;

/// One more than the greatest id of a table; nobody else writes meanwhile.
sf_Status sf_next_id(sf_Transaction *t, const char *table, int64_t *id, sf_Error *err) SF_MUST_USE;

/// Adds a row (values in the order of the table's columns) with its entry in the chain.
sf_Status sf_sealed_add(sf_Transaction *t, sf_SealedName table, const char *action, int64_t limb,
                        const sf_Value *values, size_t count, sf_Error *err) SF_MUST_USE;

/// Replaces the row with the same key. SF_E_MISSING when there is none.
sf_Status sf_sealed_change(sf_Transaction *t, sf_SealedName table, const char *action, int64_t limb,
                           const sf_Value *values, size_t count, sf_Error *err) SF_MUST_USE;

/// Adds or replaces a working row with its seal.
sf_Status sf_working_keep(sf_Transaction *t, sf_SealedName table, const sf_Value *values, size_t count,
                          sf_Error *err) SF_MUST_USE;

/// Writes an entry and moves the chain on. `payload_hash` NULL: no row.
sf_Status sf_chain_add(sf_Transaction *t, const char *action, const char *subject, int64_t limb,
                       const char *payload_hash, sf_Error *err) SF_MUST_USE;

/// The content of a row as it is hashed, added to `text`.
void sf_sealed_content(sf_Text *text, const sf_SealedTable *table, const sf_Value *values);

/// "fact/17", "limb_version/3/2"; in the arena. NULL when out of memory.
const char *sf_sealed_subject(sf_Arena *arena, const sf_SealedTable *table, const sf_Value *values);

/// The hash of an entry over all its other fields but the signature.
void sf_chain_hash(const sf_Value fields[8], char hex[SF_DIGEST_HEX]);

/// The seal of a working row.
sf_Status sf_working_seal(const sf_Store *store, const sf_SealedTable *table, const sf_Value *values,
                          char hex[SF_DIGEST_HEX], sf_Error *err) SF_MUST_USE;

/// SF_E_INPUT when a text is not there (and `least` > 0), shorter or longer, or no UTF-8 without control signs other
/// than line feed, carriage return and tab.
sf_Status sf_record_check_text(const char *text, const char *field, size_t least, size_t most,
                               sf_Error *err) SF_MUST_USE;
