// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/sealed.h"

#include "record/audit.h"
#include "seal/token.h"

#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { CONTENT_BYTES = 64 * 1024 * 1024, SQL_BYTES = 4096, CHAIN_FIELDS = 8 };

#define COLUMNS(...)                                                                                                   \
    (const char *const[]){ __VA_ARGS__ }, sizeof((const char *const[]){ __VA_ARGS__ }) / sizeof(const char *)

const sf_SealedTable sf_sealed_tables[SF_TABLE_COUNT] = {
    [SF_SEALED_STORE] = { "store",
                          COLUMNS("id", "public_key", "made_at", "shop_name", "shop_address", "shop_telephone",
                                  "shop_statement"),
                          1 },
    [SF_SEALED_MIGRATION] = { "migration", COLUMNS("number", "name", "applied_at"), 1 },
    [SF_SEALED_PERSON] = { "person",
                           COLUMNS("id", "name", "initials", "role", "license", "password_hash", "pin_hash", "units",
                                   "active"),
                           1 },
    [SF_SEALED_WEARER] = { "wearer", COLUMNS("id", "label", "pseudonym", "made_at", "removed_at"), 1 },
    [SF_SEALED_LIMB] = { "limb",
                         COLUMNS("id", "wearer", "version", "made_at", "changed_at", "label", "side", "sheet_lot",
                                 "stage", "next_action", "next_due", "flags", "origin", "dues"),
                         1 },
    [SF_SEALED_LIMB_VERSION] = { "limb_version", COLUMNS("limb", "version", "document", "at", "who"), 2 },
    [SF_SEALED_FACT] = { "fact",
                         COLUMNS("id", "limb", "kind", "happened_at", "recorded_at", "who", "body", "withdraws",
                                 "origin"),
                         1 },
    [SF_SEALED_ATTACHMENT] = { "attachment",
                               COLUMNS("id", "limb", "fact", "file_hash", "name", "media_type", "bytes", "at", "who",
                                       "removed_at"),
                               1 },
    [SF_WORKING_SIGN_IN] = { "sign_in", COLUMNS("person", "failures", "locked_until"), 1 },
    [SF_WORKING_SESSION] = { "session", COLUMNS("token_hash", "person", "csrf", "made_at", "expires_at", "device"), 1 },
    [SF_WORKING_REPEAT_KEY] = { "repeat_key", COLUMNS("person", "key", "request", "status", "answer", "at"), 2 },
};

static void add_field(sf_Text *text, const char *name, const sf_Value *value)
{
    char number[24];
    const char *bytes = value->text;
    if (value->kind == SF_VALUE_NULL)
        return;
    if (value->kind == SF_VALUE_WHOLE) {
        snprintf(number, sizeof number, "%" PRId64, value->whole);
        bytes = number;
    }
    sf_text_format(text, "%s=%zu:", name, strlen(bytes));
    sf_text_add(text, bytes);
    sf_text_add(text, ";");
}

void sf_sealed_content(sf_Text *text, const sf_SealedTable *table, const sf_Value *values)
{
    sf_text_add(text, table->name);
    sf_text_add(text, ";");
    for (size_t i = 0; i < table->count; i++)
        add_field(text, table->columns[i], &values[i]);
}

const char *sf_sealed_subject(sf_Arena *arena, const sf_SealedTable *table, const sf_Value *values)
{
    if (table->keys == 2)
        return sf_arena_format(arena, "%s/%" PRId64 "/%" PRId64, table->name, values[0].whole, values[1].whole);
    if (values[0].kind == SF_VALUE_TEXT)
        return sf_arena_format(arena, "%s/%s", table->name, values[0].text);
    return sf_arena_format(arena, "%s/%" PRId64, table->name, values[0].whole);
}

void sf_chain_hash(const sf_Value fields[CHAIN_FIELDS], char hex[SF_DIGEST_HEX])
{
    static const char *const names[CHAIN_FIELDS] = { "seq",     "at",   "who",          "action",
                                                     "subject", "limb", "payload_hash", "previous_hash" };
    // Straight into a small block: an entry has no long fields.
    char block[2048];
    size_t used = (size_t)snprintf(block, sizeof block, "audit;");
    for (size_t i = 0; i < CHAIN_FIELDS && used < sizeof block; i++) {
        char number[24];
        const char *bytes = fields[i].text;
        if (fields[i].kind == SF_VALUE_NULL)
            continue;
        if (fields[i].kind == SF_VALUE_WHOLE) {
            snprintf(number, sizeof number, "%" PRId64, fields[i].whole);
            bytes = number;
        }
        used += (size_t)snprintf(block + used, sizeof block - used, "%s=%zu:%s;", names[i], strlen(bytes), bytes);
    }
    sf_digest(block, used < sizeof block ? used : sizeof block - 1, NULL, 0, hex);
}

sf_Status sf_transaction_query(sf_Transaction *t, const char *sql, const sf_Value *values, size_t count, sf_Rows *rows,
                               sf_Error *err)
{
    if (t->over)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "the transaction is over");
    sf_Status status = sf_database_query(t->db, t->arena, sql, values, count, rows, err);
    if (status != SF_OK && t->write)
        t->over = true; // nothing of a broken write may be kept
    return status;
}

sf_Status sf_next_id(sf_Transaction *t, const char *table, int64_t *id, sf_Error *err)
{
    char sql[128];
    snprintf(sql, sizeof sql, "SELECT coalesce(max(id), 0) + 1 FROM %s", table);
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, sql, SF_BIND_NONE, &rows, err));
    *id = sf_cell_whole(&rows, 0, 0);
    return SF_OK;
}

static sf_Status read_chain_end(sf_Transaction *t, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT seq, entry_hash FROM audit ORDER BY seq DESC LIMIT 1", SF_BIND_NONE, &rows,
                                err));
    if (rows.count == 0) {
        t->last_seq = 0;
        memset(t->last_hash, '0', SF_DIGEST_HEX - 1);
        t->last_hash[SF_DIGEST_HEX - 1] = 0;
    } else {
        t->last_seq = sf_cell_whole(&rows, 0, 0);
        snprintf(t->last_hash, sizeof t->last_hash, "%s", sf_cell_text(&rows, 0, 1));
    }
    t->chain_read = true;
    return SF_OK;
}

sf_Status sf_chain_add(sf_Transaction *t, const char *action, const char *subject, int64_t limb,
                       const char *payload_hash, sf_Error *err)
{
    if (!t->write)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "a transaction for reading was asked to write");
    if (!t->chain_read)
        SF_TRY(read_chain_end(t, err));
    int64_t seq = t->last_seq + 1;
    sf_Value entry[CHAIN_FIELDS + 2] = {
        sf_whole(seq),     sf_words(t->time),  sf_whole(t->who),       sf_words(action),
        sf_words(subject), sf_reference(limb), sf_words(payload_hash), sf_words(t->last_hash),
    };
    char hash[SF_DIGEST_HEX], signature[SF_SIGNATURE_HEX];
    sf_chain_hash(entry, hash);
    sf_signature_make(&t->store->key, hash, strlen(hash), signature);
    entry[CHAIN_FIELDS] = sf_words(hash);
    entry[CHAIN_FIELDS + 1] = sf_words(signature);
    SF_TRY(sf_transaction_query(t,
                                "INSERT INTO audit (seq, at, who, action, subject, limb, payload_hash, previous_hash,"
                                " entry_hash, signature) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
                                entry, CHAIN_FIELDS + 2, NULL, err));
    t->last_seq = seq;
    memcpy(t->last_hash, hash, sizeof hash);
    return SF_OK;
}

static sf_Status content_hash(const sf_SealedTable *table, const sf_Value *values, const char *salt,
                              const unsigned char *key, char hex[SF_DIGEST_HEX], sf_Error *err)
{
    sf_Text content = sf_text_make(CONTENT_BYTES);
    sf_sealed_content(&content, table, values);
    bool good = !content.broken;
    if (good && salt)
        good = sf_digest_salted(content.data, content.length, salt, hex);
    else if (good)
        sf_digest(content.data, content.length, key, SF_DERIVED_KEY_BYTES, hex);
    sf_text_free(&content);
    return good ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

sf_Status sf_working_seal(const sf_Store *store, const sf_SealedTable *table, const sf_Value *values,
                          char hex[SF_DIGEST_HEX], sf_Error *err)
{
    return content_hash(table, values, NULL, store->working_key, hex, err);
}

/// "INSERT INTO fact (id, ..., seq, salt) VALUES ($1, ...)"
static void insert_sql(sf_Text *sql, const sf_SealedTable *table, const char *last_columns, size_t last_count)
{
    sf_text_format(sql, "INSERT INTO %s (", table->name);
    for (size_t i = 0; i < table->count; i++)
        sf_text_format(sql, "%s, ", table->columns[i]);
    sf_text_format(sql, "%s) VALUES (", last_columns);
    for (size_t i = 1; i <= table->count + last_count; i++)
        sf_text_format(sql, "%s$%zu", i == 1 ? "" : ", ", i);
    sf_text_add(sql, ")");
}

static void key_sql(sf_Text *sql, const sf_SealedTable *table)
{
    for (size_t i = 0; i < table->keys; i++)
        sf_text_format(sql, "%s%s = $%zu", i ? " AND " : " WHERE ", table->columns[i], i + 1);
}

static void update_sql(sf_Text *sql, const sf_SealedTable *table)
{
    sf_text_format(sql, "UPDATE %s SET ", table->name);
    for (size_t i = table->keys; i < table->count; i++)
        sf_text_format(sql, "%s = $%zu, ", table->columns[i], i + 1);
    sf_text_format(sql, "seq = $%zu, salt = $%zu", table->count + 1, table->count + 2);
    key_sql(sql, table);
    sf_text_add(sql, " RETURNING 1");
}

static sf_Status run_built(sf_Transaction *t, sf_Text *sql, const sf_Value *values, size_t count, sf_Rows *rows,
                           sf_Error *err)
{
    sf_Status status = sql->broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory")
                                   : sf_transaction_query(t, sql->data, values, count, rows, err);
    if (status != SF_OK)
        t->over = true;
    sf_text_free(sql);
    return status;
}

static sf_Status sealed_write(sf_Transaction *t, sf_SealedName name, const char *action, int64_t limb,
                              const sf_Value *values, size_t count, bool change, sf_Error *err)
{
    const sf_SealedTable *table = &sf_sealed_tables[name];
    assert(count == table->count);
    (void)count;
    char salt[SF_SALT_HEX], hash[SF_DIGEST_HEX];
    sf_token_salt(salt);
    sf_Status status = content_hash(table, values, salt, NULL, hash, err);
    const char *subject = sf_sealed_subject(t->arena, table, values);
    if (status == SF_OK && !subject)
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (status == SF_OK)
        status = sf_chain_add(t, action, subject, limb, hash, err);
    if (status != SF_OK) {
        t->over = true;
        return status;
    }
    sf_Value all[SF_DATABASE_PARAMETERS_MOST];
    memcpy(all, values, table->count * sizeof *values);
    all[table->count] = sf_whole(t->last_seq);
    all[table->count + 1] = sf_words(salt);
    sf_Text sql = sf_text_make(SQL_BYTES);
    if (change)
        update_sql(&sql, table);
    else
        insert_sql(&sql, table, "seq, salt", 2);
    sf_Rows rows;
    SF_TRY(run_built(t, &sql, all, table->count + 2, change ? &rows : NULL, err));
    if (change && rows.count != 1) {
        t->over = true;
        return SF_FAIL(err, SF_E_MISSING, NULL, "there is no %s", subject);
    }
    return SF_OK;
}

sf_Status sf_sealed_add(sf_Transaction *t, sf_SealedName table, const char *action, int64_t limb,
                        const sf_Value *values, size_t count, sf_Error *err)
{
    return sealed_write(t, table, action, limb, values, count, false, err);
}

sf_Status sf_sealed_change(sf_Transaction *t, sf_SealedName table, const char *action, int64_t limb,
                           const sf_Value *values, size_t count, sf_Error *err)
{
    return sealed_write(t, table, action, limb, values, count, true, err);
}

sf_Status sf_working_keep(sf_Transaction *t, sf_SealedName name, const sf_Value *values, size_t count, sf_Error *err)
{
    const sf_SealedTable *table = &sf_sealed_tables[name];
    assert(count == table->count);
    (void)count;
    char seal[SF_DIGEST_HEX];
    if (!t->write)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "a transaction for reading was asked to write");
    SF_TRY(sf_working_seal(t->store, table, values, seal, err));
    sf_Text sql = sf_text_make(SQL_BYTES);
    sf_text_format(&sql, "DELETE FROM %s", table->name);
    key_sql(&sql, table);
    SF_TRY(run_built(t, &sql, values, table->keys, NULL, err));
    sf_Value all[SF_DATABASE_PARAMETERS_MOST];
    memcpy(all, values, table->count * sizeof *values);
    all[table->count] = sf_words(seal);
    sql = sf_text_make(SQL_BYTES);
    insert_sql(&sql, table, "seal", 1);
    return run_built(t, &sql, all, table->count + 1, NULL, err);
}

/// Length of the UTF-8 sequence that starts here, 0 when it is none (RFC 3629: no overlong forms, no surrogates).
static size_t utf8_step(const unsigned char *s)
{
    if (s[0] < 0x80)
        return 1;
    size_t n = s[0] >= 0xF0 ? 4 : s[0] >= 0xE0 ? 3 : 2;
    if (s[0] < 0xC2 || s[0] > 0xF4)
        return 0;
    for (size_t i = 1; i < n; i++) {
        if ((s[i] & 0xC0) != 0x80)
            return 0;
    }
    if ((s[0] == 0xE0 && s[1] < 0xA0) || (s[0] == 0xED && s[1] > 0x9F) || (s[0] == 0xF0 && s[1] < 0x90) ||
        (s[0] == 0xF4 && s[1] > 0x8F))
        return 0;
    return n;
}

sf_Status sf_record_check_text(const char *text, const char *field, size_t least, size_t most, sf_Error *err)
{
    if (!text)
        return least == 0 ? SF_OK : SF_FAIL(err, SF_E_INPUT, field, "%s is missing", field);
    size_t n = strlen(text);
    if (n < least)
        return SF_FAIL(err, SF_E_INPUT, field, "%s is empty", field);
    if (n > most)
        return SF_FAIL(err, SF_E_INPUT, field, "%s is longer than %zu bytes", field, most);
    for (const unsigned char *s = (const unsigned char *)text; *s;) {
        size_t step = utf8_step(s);
        if (step == 0 || (*s < 0x20 && *s != '\n' && *s != '\r' && *s != '\t') || *s == 0x7F)
            return SF_FAIL(err, SF_E_INPUT, field, "%s holds signs that are no text", field);
        s += step;
    }
    return SF_OK;
}

// ---- audit.h -------------------------------------------------------------------------------------------------------

sf_Status sf_audit_note(sf_Transaction *t, const char *action, const char *subject, int64_t limb, sf_Error *err)
{
    SF_TRY(sf_record_check_text(action, "action", 1, 100, err));
    SF_TRY(sf_record_check_text(subject, "subject", 0, 200, err));
    return sf_chain_add(t, action, subject, limb, NULL, err);
}

sf_Status sf_audit_list(sf_Transaction *t, int64_t limb, int64_t before, size_t most, sf_AuditEntry **entries,
                        size_t *count, sf_Error *err)
{
    static const char all[] = "SELECT seq, at, who, action, subject, limb, payload_hash, previous_hash, entry_hash,"
                              " signature FROM audit WHERE seq < $1 ORDER BY seq DESC LIMIT $2";
    static const char of_limb[] = "SELECT seq, at, who, action, subject, limb, payload_hash, previous_hash, entry_hash,"
                                  " signature FROM audit WHERE seq < $1 AND limb = $3 ORDER BY seq DESC LIMIT $2";
    sf_Rows rows;
    const sf_Value values[] = { sf_whole(before > 0 ? before : INT64_MAX), sf_whole((int64_t)most), sf_whole(limb) };
    SF_TRY(sf_transaction_query(t, limb ? of_limb : all, values, limb ? 3 : 2, &rows, err));
    sf_AuditEntry *list = sf_arena_alloc(t->arena, rows.count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows.count; i++) {
        const sf_Value *cell = &rows.cells[i * rows.columns];
        list[i] = (sf_AuditEntry){ cell[0].whole, cell[1].text, cell[2].whole, cell[3].text, cell[4].text,
                                   cell[5].whole, cell[6].text, cell[7].text,  cell[8].text, cell[9].text };
    }
    *entries = list;
    *count = rows.count;
    return SF_OK;
}
