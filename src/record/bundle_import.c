// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/bundle.h"

#include "base/alloc.h"
#include "base/doc.h"
#include "record/archive.h"
#include "record/attachment.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/sealed.h"
#include "record/wearer.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { FILES_MOST = 5000, LIMBS_MOST = 1000, ROWS_MOST = 100000, ORIGIN_BYTES = 900 };

typedef struct Unpacking {
    sf_Transaction *t;
    sf_Arena *arena;
    sf_ArchiveFile *files;
    size_t count;
    sf_Doc *index;
    sf_BundleReport *report;
    int64_t (*facts)[2]; // old id, new id
    size_t fact_count;
} Unpacking;

static const sf_ArchiveFile *find(const Unpacking *unpacking, const char *name)
{
    for (size_t i = 0; i < unpacking->count; i++) {
        if (strcmp(unpacking->files[i].name, name) == 0)
            return &unpacking->files[i];
    }
    return NULL;
}

static sf_Status strange(sf_Error *err, const char *what)
{
    return SF_FAIL(err, SF_E_PARSE, what, "the export does not hold together (%s): export it again", what);
}

static sf_Status out_of_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

// ---- looking before writing
// ------------------------------------------------------------------------------------------

static sf_Status list_files(Unpacking *unpacking, const unsigned char *bytes, size_t size, sf_Error *err)
{
    size_t offset = 0, room = 0;
    bool end = false;
    for (;;) {
        sf_ArchiveFile file;
        SF_TRY(sf_archive_next(bytes, size, &offset, &file, &end, err));
        if (end)
            return SF_OK;
        if (unpacking->count == FILES_MOST || find(unpacking, file.name))
            return strange(err, file.name);
        if (unpacking->count == room) {
            room = room ? 2 * room : 64;
            sf_ArchiveFile *more = sf_realloc(unpacking->files, room, sizeof *more);
            if (!more)
                return out_of_memory(err);
            unpacking->files = more;
        }
        unpacking->files[unpacking->count++] = file;
    }
}

static sf_Status check_signature(const Unpacking *unpacking, const sf_ArchiveFile *index, sf_Error *err)
{
    const sf_ArchiveFile *file = find(unpacking, "export.signature");
    char line[SF_PUBLIC_KEY_HEX + SF_SIGNATURE_HEX + 2];
    if (!file || file->size != SF_PUBLIC_KEY_HEX - 1 + 1 + SF_SIGNATURE_HEX - 1 + 1)
        return strange(err, "export.signature");
    memcpy(line, file->bytes, file->size);
    line[SF_PUBLIC_KEY_HEX - 1] = 0;
    line[file->size - 1] = 0;
    if (!sf_signature_holds(line, index->bytes, index->size, line + SF_PUBLIC_KEY_HEX))
        return strange(err, "export.signature");
    return SF_OK;
}

/// Every file but the index and its signature must be in the index, with its hash, and the other way round.
static sf_Status check_hashes(const Unpacking *unpacking, sf_Error *err)
{
    sf_DocNode files = sf_doc_member(sf_doc_root(unpacking->index), "files");
    size_t known = 0;
    for (size_t i = 0; i < unpacking->count; i++) {
        const sf_ArchiveFile *file = &unpacking->files[i];
        const char *hash = NULL;
        char found[SF_DIGEST_HEX];
        if (strcmp(file->name, "export.json") == 0 || strcmp(file->name, "export.signature") == 0)
            continue;
        sf_digest(file->bytes, file->size, NULL, 0, found);
        if (!sf_doc_text(sf_doc_member(files, file->name), 100, &hash) || strcmp(hash, found) != 0)
            return strange(err, file->name);
        known++;
    }
    return sf_doc_key(files, known) ? strange(err, sf_doc_key(files, known)) : SF_OK;
}

static sf_Status read_index(Unpacking *unpacking, sf_Error *err)
{
    const sf_ArchiveFile *file = find(unpacking, "export.json");
    const char *format = NULL, *store = NULL;
    if (!file)
        return strange(err, "export.json");
    SF_TRY(sf_doc_parse(&unpacking->index, "export.json", (const char *)file->bytes, file->size, err));
    sf_DocNode root = sf_doc_root(unpacking->index);
    if (!sf_doc_text(sf_doc_member(root, "format"), 100, &format) || strcmp(format, "standfast-export/1") != 0)
        return SF_FAIL(err, SF_E_PARSE, "format", "this is no export that this program can read");
    if (!sf_doc_text(sf_doc_member(root, "store"), SF_SALT_HEX - 1, &store))
        return strange(err, "store");
    snprintf(unpacking->report->store, sizeof unpacking->report->store, "%s", store);
    unpacking->report->own = strcmp(store, sf_store_id(unpacking->t->store)) == 0;
    SF_TRY(check_signature(unpacking, file, err));
    return check_hashes(unpacking, err);
}

// ---- writing
// ---------------------------------------------------------------------------------------------------------

static const char *text_of(sf_DocNode object, const char *key)
{
    const char *text = NULL;
    return sf_doc_text(sf_doc_member(object, key), SF_FACT_BODY_MOST, &text) ? text : NULL;
}

static int64_t whole_of(sf_DocNode object, const char *key)
{
    int64_t whole = 0;
    return sf_doc_whole(sf_doc_member(object, key), 1, INT64_MAX / 2, &whole) ? whole : 0;
}

/// The file that a member names, as text in the arena; NULL when it names none or the file is no text.
static const char *file_text(const Unpacking *unpacking, sf_DocNode object, const char *key)
{
    const char *name = text_of(object, key);
    const sf_ArchiveFile *file = name ? find(unpacking, name) : NULL;
    char *text = file ? sf_arena_alloc(unpacking->arena, file->size + 1, 1) : NULL;
    if (text)
        memcpy(text, file->bytes, file->size);
    return text && strlen(text) == file->size ? text : NULL;
}

/// {"store": ..., "limb": 3} or {"store": ..., "fact": 17, "who": ..., "recorded_at": ...}
static sf_Status origin_of(const Unpacking *unpacking, const char *what, sf_DocNode object, const char **origin,
                           sf_Error *err)
{
    char key[24], *text = NULL;
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "store", unpacking->report->store);
    sf_json_set_whole(json, what, whole_of(object, "id"));
    if (strcmp(what, "fact") == 0) {
        snprintf(key, sizeof key, "%" PRId64, whole_of(object, "who"));
        sf_json_set_text(json, "who", text_of(sf_doc_member(sf_doc_root(unpacking->index), "staff"), key));
        sf_json_set_text(json, "recorded_at", text_of(object, "recorded_at"));
    }
    sf_Status status = sf_json_text(json, 15, &text, err);
    sf_json_destroy(&json);
    if (status != SF_OK)
        return status;
    *origin = sf_arena_text(unpacking->arena, text);
    sf_free(text);
    return *origin ? SF_OK : out_of_memory(err);
}

static sf_Status refuse_twice(const Unpacking *unpacking, int64_t old_id, const char *origin, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(unpacking->t, "SELECT id FROM limb WHERE origin = $1 OR (id = $2 AND $3 = 1) LIMIT 1",
                                SF_BIND(sf_words(origin), sf_whole(old_id), sf_whole(unpacking->report->own)), &rows,
                                err));
    if (rows.count)
        return SF_FAIL(err, SF_E_CONFLICT, "limb", "limb %" PRId64 " of the export is here already, as limb %" PRId64,
                       old_id, sf_cell_whole(&rows, 0, 0));
    return SF_OK;
}

/// The limb with its first version, then the others, one after the other.
static sf_Status add_limb(const Unpacking *unpacking, sf_DocNode limb, int64_t *id, sf_Error *err)
{
    const sf_LimbHead head = { text_of(limb, "label"), text_of(limb, "side"),        text_of(limb, "sheet_lot"),
                               text_of(limb, "stage"), text_of(limb, "next_action"), text_of(limb, "next_due"),
                               text_of(limb, "flags"), text_of(limb, "dues") };
    sf_DocNode versions = sf_doc_member(limb, "versions");
    const char *origin = NULL;
    int64_t version = 0;
    SF_TRY(origin_of(unpacking, "limb", limb, &origin, err));
    SF_TRY(refuse_twice(unpacking, whole_of(limb, "id"), origin, err));
    for (size_t i = 0; i < sf_doc_length(versions); i++) {
        const char *document = file_text(unpacking, sf_doc_item(versions, i), "document");
        if (!document)
            continue; // removed with the wearer's data
        if (version == 0) {
            SF_TRY(sf_limb_record_import(unpacking->t, unpacking->report->wearer, &head, origin, document, id, err));
            version = 1;
        } else {
            SF_TRY(sf_limb_record_save(unpacking->t, *id, version, &head, document, &version, err));
        }
    }
    return version ? SF_OK : strange(err, "versions");
}

static int64_t new_fact(const Unpacking *unpacking, int64_t old)
{
    for (size_t i = 0; i < unpacking->fact_count; i++) {
        if (unpacking->facts[i][0] == old)
            return unpacking->facts[i][1];
    }
    return 0;
}

static sf_Status add_facts(Unpacking *unpacking, sf_DocNode limb, int64_t id, sf_Error *err)
{
    sf_DocNode facts = sf_doc_member(limb, "facts");
    size_t count = sf_doc_length(facts);
    if (count > ROWS_MOST)
        return strange(err, "facts");
    unpacking->fact_count = 0;
    unpacking->facts = sf_arena_alloc(unpacking->arena, count, sizeof *unpacking->facts);
    if (!unpacking->facts)
        return out_of_memory(err);
    for (size_t i = 0; i < count; i++) {
        sf_DocNode one = sf_doc_item(facts, i);
        sf_Fact fact = { .limb = id,
                         .kind = text_of(one, "kind"),
                         .happened_at = text_of(one, "happened_at"),
                         .body = file_text(unpacking, one, "body"),
                         .origin = text_of(one, "origin") };
        int64_t old = whole_of(one, "id"), withdraws = whole_of(one, "withdraws"), fresh = 0;
        if (withdraws) {
            fact.withdraws = new_fact(unpacking, withdraws);
            if (!fact.withdraws)
                return strange(err, "withdraws");
        }
        if (!fact.origin) // one that was imported before keeps its first origin
            SF_TRY(origin_of(unpacking, "fact", one, &fact.origin, err));
        if (!fact.body && !text_of(one, "body"))
            fact.body = "{}"; // removed with the wearer's data
        SF_TRY(sf_fact_add(unpacking->t, &fact, &fresh, err));
        unpacking->facts[unpacking->fact_count][0] = old;
        unpacking->facts[unpacking->fact_count++][1] = fresh;
        unpacking->report->facts++;
    }
    return SF_OK;
}

static sf_Status add_attachments(const Unpacking *unpacking, sf_DocNode limb, int64_t id, sf_Error *err)
{
    sf_DocNode list = sf_doc_member(limb, "attachments");
    for (size_t i = 0; i < sf_doc_length(list) && i < ROWS_MOST; i++) {
        sf_DocNode one = sf_doc_item(list, i);
        char name[SF_ARCHIVE_NAME_MOST], hash[SF_DIGEST_HEX];
        int64_t fact = whole_of(one, "fact"), fresh = 0;
        snprintf(name, sizeof name, "pictures/%.64s", text_of(one, "file") ? text_of(one, "file") : "");
        const sf_ArchiveFile *file = find(unpacking, name);
        if (!file || (fact && !new_fact(unpacking, fact)))
            return strange(err, "attachments");
        SF_TRY(sf_shelf_put(unpacking->t->store, file->bytes, file->size, hash, err));
        const sf_Attachment attachment = { .limb = id,
                                           .fact = fact ? new_fact(unpacking, fact) : 0,
                                           .file_hash = hash,
                                           .name = text_of(one, "name"),
                                           .media_type = text_of(one, "media_type") };
        SF_TRY(sf_attachment_add(unpacking->t, &attachment, &fresh, err));
        unpacking->report->attachments++;
    }
    return SF_OK;
}

static sf_Status add_all(Unpacking *unpacking, int64_t wearer, sf_Error *err)
{
    sf_DocNode root = sf_doc_root(unpacking->index), limbs = sf_doc_member(root, "limbs");
    sf_BundleReport *report = unpacking->report;
    report->wearer = wearer;
    if (sf_doc_length(limbs) > LIMBS_MOST)
        return strange(err, "limbs");
    sf_Wearer known;
    if (wearer != 0) {
        SF_TRY(sf_wearer_get(unpacking->t, wearer, &known, err));
        if (known.removed_at)
            return SF_FAIL(err, SF_E_INPUT, "wearer", "the data of this wearer was removed: import for a new one");
    } else {
        sf_DocNode who = sf_doc_member(root, "wearer");
        const char *label = text_of(who, "label");
        SF_TRY(sf_wearer_add(unpacking->t, label ? label : text_of(who, "pseudonym"), &report->wearer, err));
    }
    int64_t *ids = sf_arena_alloc(unpacking->arena, sf_doc_length(limbs), sizeof *ids);
    if (!ids)
        return out_of_memory(err);
    report->limb_ids = ids;
    for (size_t i = 0; i < sf_doc_length(limbs); i++) {
        sf_DocNode limb = sf_doc_item(limbs, i);
        int64_t id = 0;
        SF_TRY(add_limb(unpacking, limb, &id, err));
        SF_TRY(add_facts(unpacking, limb, id, err));
        SF_TRY(add_attachments(unpacking, limb, id, err));
        ids[report->limb_count++] = id;
        report->limbs++;
    }
    return SF_OK;
}

sf_Status sf_bundle_import(sf_Transaction *t, const unsigned char *bytes, size_t size, int64_t wearer,
                           sf_BundleReport *report, sf_Error *err)
{
    *report = (sf_BundleReport){ .wearer = wearer };
    Unpacking unpacking = { .t = t, .arena = sf_transaction_arena(t), .report = report };
    sf_Status status;
    SF_TRY_DONE(list_files(&unpacking, bytes, size, err));
    SF_TRY_DONE(read_index(&unpacking, err));
    status = add_all(&unpacking, wearer, err);
    if (status != SF_OK)
        t->over = true; // an import is whole or it is none
done:
    sf_free(unpacking.files);
    sf_doc_destroy(&unpacking.index);
    return status;
}
