// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/bundle.h"

#include "base/alloc.h"
#include "base/doc.h"
#include "record/archive.h"
#include "record/attachment.h"
#include "record/fact.h"
#include "record/letterhead.h"
#include "record/limb_row.h"
#include "record/people.h"
#include "record/sealed.h"
#include "record/wearer.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

typedef struct Packing {
    sf_Transaction *t;
    sf_Text archive;
    sf_Json *files;  // name -> hash, of everything added so far
    sf_Json *people; // id -> name, of everybody who wrote something
} Packing;

/// Adds a file once; its hash goes into the index.
static void pack(Packing *packing, const char *name, const void *bytes, size_t size)
{
    char hash[SF_DIGEST_HEX];
    sf_digest(bytes, size, NULL, 0, hash);
    sf_archive_add(&packing->archive, name, bytes, size);
    sf_json_set_text(packing->files, name, hash);
}

static sf_Status note_person(Packing *packing, int64_t id, sf_Error *err)
{
    char key[24];
    sf_Person person;
    sf_Status status = sf_person_get(packing->t, id, &person, err);
    if (status == SF_E_MISSING)
        return SF_OK; // the store itself
    if (status != SF_OK)
        return status;
    snprintf(key, sizeof key, "%" PRId64, id);
    sf_json_set_text(packing->people, key, person.name);
    return SF_OK;
}

static sf_Status pack_versions(Packing *packing, sf_Json *limb, int64_t id, sf_Error *err)
{
    sf_LimbVersion *versions = NULL;
    size_t count = 0;
    char name[SF_ARCHIVE_NAME_MOST];
    SF_TRY(sf_limb_record_versions(packing->t, id, true, &versions, &count, err));
    sf_Json *list = sf_json_array();
    sf_Status status = SF_OK;
    for (size_t i = 0; i < count; i++) {
        sf_Json *one = sf_json_object();
        sf_json_set_whole(one, "version", versions[i].version);
        sf_json_set_text(one, "at", versions[i].at);
        sf_json_set_whole(one, "who", versions[i].who);
        if (versions[i].document) {
            snprintf(name, sizeof name, "limb-%" PRId64 "/document-%" PRId64 ".json", id, versions[i].version);
            pack(packing, name, versions[i].document, strlen(versions[i].document));
            sf_json_set_text(one, "document", name);
        }
        sf_json_add(list, one);
        SF_TRY_DONE(note_person(packing, versions[i].who, err));
    }
done:
    sf_json_set(limb, "versions", list); // it takes the list: nothing may be added any more
    return status;
}

static sf_Status pack_facts(Packing *packing, sf_Json *limb, int64_t id, sf_Error *err)
{
    sf_Fact *facts = NULL;
    size_t count = 0;
    char name[SF_ARCHIVE_NAME_MOST];
    SF_TRY(sf_fact_list(packing->t, id, &facts, &count, err));
    sf_Json *list = sf_json_array();
    sf_Status status = SF_OK;
    for (size_t i = 0; i < count; i++) {
        sf_Json *one = sf_json_object();
        sf_json_set_whole(one, "id", facts[i].id);
        sf_json_set_text(one, "kind", facts[i].kind);
        sf_json_set_text(one, "happened_at", facts[i].happened_at);
        sf_json_set_text(one, "recorded_at", facts[i].recorded_at);
        sf_json_set_whole(one, "who", facts[i].who);
        if (facts[i].withdraws)
            sf_json_set_whole(one, "withdraws", facts[i].withdraws);
        if (facts[i].origin)
            sf_json_set_text(one, "origin", facts[i].origin);
        if (facts[i].body) {
            snprintf(name, sizeof name, "limb-%" PRId64 "/fact-%" PRId64 ".json", id, facts[i].id);
            pack(packing, name, facts[i].body, strlen(facts[i].body));
            sf_json_set_text(one, "body", name);
        }
        sf_json_add(list, one);
        SF_TRY_DONE(note_person(packing, facts[i].who, err));
    }
done:
    sf_json_set(limb, "facts", list); // it takes the list: nothing may be added any more
    return status;
}

static sf_Status pack_picture(Packing *packing, const char *hash, sf_Error *err)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    char name[SF_ARCHIVE_NAME_MOST];
    SF_TRY(sf_shelf_get(packing->t->store, hash, &bytes, &size, err));
    snprintf(name, sizeof name, "pictures/%.64s", hash);
    pack(packing, name, bytes, size);
    sf_free(bytes);
    return SF_OK;
}

static sf_Status pack_attachments(Packing *packing, sf_Json *limb, int64_t id, sf_Error *err)
{
    sf_Attachment *list = NULL;
    size_t count = 0;
    SF_TRY(sf_attachment_list(packing->t, id, &list, &count, err));
    sf_Json *attachments = sf_json_array();
    sf_Status status = SF_OK;
    for (size_t i = 0; i < count; i++) {
        if (list[i].removed_at)
            continue;
        bool packed = false;
        for (size_t k = 0; k < i; k++)
            packed |= !list[k].removed_at && strcmp(list[k].file_hash, list[i].file_hash) == 0;
        if (!packed)
            SF_TRY_DONE(pack_picture(packing, list[i].file_hash, err));
        sf_Json *one = sf_json_object();
        if (list[i].fact)
            sf_json_set_whole(one, "fact", list[i].fact);
        sf_json_set_text(one, "file", list[i].file_hash);
        if (list[i].name)
            sf_json_set_text(one, "name", list[i].name);
        sf_json_set_text(one, "media_type", list[i].media_type);
        sf_json_set_text(one, "at", list[i].at);
        sf_json_set_whole(one, "who", list[i].who);
        sf_json_add(attachments, one);
        SF_TRY_DONE(note_person(packing, list[i].who, err));
    }
done:
    sf_json_set(limb, "attachments", attachments); // it takes the list: nothing may be added any more
    return status;
}

static sf_Status pack_limb(Packing *packing, sf_Json *limbs, const sf_LimbRow *row, sf_Error *err)
{
    const sf_LimbHead *head = &row->head;
    sf_Json *limb = sf_json_object();
    sf_json_set_whole(limb, "id", row->id);
    sf_json_set_text(limb, "made_at", row->made_at);
    sf_json_set_text(limb, "changed_at", row->changed_at);
    sf_json_set_text(limb, "label", head->label);
    sf_json_set_text(limb, "side", head->side);
    sf_json_set_text(limb, "sheet_lot", head->sheet_lot);
    sf_json_set_text(limb, "stage", head->stage);
    sf_json_set_text(limb, "next_action", head->next_action);
    sf_json_set_text(limb, "next_due", head->next_due);
    sf_json_set_text(limb, "flags", head->flags);
    sf_json_set_text(limb, "dues", head->dues);
    sf_Status status;
    SF_TRY_DONE(pack_versions(packing, limb, row->id, err));
    SF_TRY_DONE(pack_facts(packing, limb, row->id, err));
    SF_TRY_DONE(pack_attachments(packing, limb, row->id, err));
done:
    sf_json_add(limbs, limb);
    return status;
}

/// Closes the archive with its index and the signature of that.
static sf_Status pack_index(Packing *packing, sf_Json *index, sf_Error *err)
{
    char *text = NULL, signature[SF_SIGNATURE_HEX], line[SF_SIGNATURE_HEX + SF_PUBLIC_KEY_HEX + 2];
    sf_json_set(index, "staff", packing->people);
    sf_json_set(index, "files", packing->files);
    packing->people = packing->files = NULL;
    SF_TRY(sf_json_text(index, 15, &text, err));
    sf_signature_make(&packing->t->store->key, text, strlen(text), signature);
    int n = snprintf(line, sizeof line, "%s %s\n", packing->t->store->key.public_key, signature);
    sf_archive_add(&packing->archive, "export.json", text, strlen(text));
    sf_archive_add(&packing->archive, "export.signature", line, (size_t)n);
    sf_archive_close(&packing->archive);
    sf_free(text);
    return SF_OK;
}

static sf_Status pack_wearer(Packing *packing, sf_Json *index, int64_t wearer, int64_t limb, sf_Error *err)
{
    sf_Wearer known;
    sf_Rows rows;
    SF_TRY(sf_wearer_get(packing->t, wearer, &known, err));
    sf_json_set_text(index, "format", "standfast-export/1");
    sf_json_set_text(index, "store", sf_store_id(packing->t->store));
    sf_json_set_text(index, "exported_at", sf_transaction_time(packing->t));
    sf_Letterhead maker;
    SF_TRY(sf_letterhead_get(packing->t, &maker, err));
    sf_Json *who = sf_json_object();
    sf_json_set(index, "shop", sf_letterhead_json(&maker));
    sf_json_set_text(who, "label", known.label);
    sf_json_set_text(who, "pseudonym", known.pseudonym);
    sf_json_set_text(who, "made_at", known.made_at);
    sf_json_set_text(who, "removed_at", known.removed_at);
    sf_json_set(index, "wearer", who);
    SF_TRY(sf_transaction_query(
        packing->t, SF_LIMB_SELECT " FROM limb l WHERE l.wearer = $1 AND ($2 = 0 OR l.id = $2) ORDER BY l.id",
        SF_BIND(sf_whole(wearer), sf_whole(limb)), &rows, err));
    if (limb && rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "limb", "this wearer has no limb %" PRId64, limb);
    sf_Json *limbs = sf_json_array();
    sf_Status status = SF_OK;
    for (size_t i = 0; i < rows.count && status == SF_OK; i++) {
        const sf_LimbRow row = sf_limb_row_of(&rows, i);
        status = pack_limb(packing, limbs, &row, err);
    }
    sf_json_set(index, "limbs", limbs);
    return status;
}

sf_Status sf_bundle_export(sf_Transaction *t, int64_t wearer, int64_t limb, unsigned char **bytes, size_t *size,
                           sf_Error *err)
{
    Packing packing = { .t = t, .archive = sf_text_make(SF_BUNDLE_BYTES_MOST) };
    packing.files = sf_json_object();
    packing.people = sf_json_object();
    sf_Json *index = sf_json_object();
    sf_Status status = pack_wearer(&packing, index, wearer, limb, err);
    if (status == SF_OK)
        status = pack_index(&packing, index, err);
    if (status == SF_OK && packing.archive.broken)
        status = SF_FAIL(err, SF_E_LIMIT, NULL, "the export does not fit into memory: export one limb at a time");
    if (status == SF_OK) {
        *bytes = (unsigned char *)packing.archive.data;
        *size = packing.archive.length;
    } else {
        sf_text_free(&packing.archive);
    }
    sf_json_destroy(&packing.files);
    sf_json_destroy(&packing.people);
    sf_json_destroy(&index);
    return status;
}
