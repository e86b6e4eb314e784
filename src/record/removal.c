// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/removal.h"

#include "base/alloc.h"
#include "record/limb_row.h"
#include "record/sealed.h"
#include "record/wearer.h"

#include <errno.h>
#include <inttypes.h>
#include <string.h>
#include <unistd.h>

static const char ACTION[] =
    "remove-data"; // store verify lets only this one rewrite rows that are otherwise only added

static sf_Status remove_documents(sf_Transaction *t, int64_t limb, const sf_Removal *removal, sf_Error *err)
{
    sf_LimbVersion *versions = NULL;
    size_t count = 0;
    SF_TRY(sf_limb_record_versions(t, limb, true, &versions, &count, err));
    for (size_t i = 0; i < count; i++) {
        const char *kept = NULL;
        if (versions[i].document && removal->document)
            SF_TRY(removal->document(removal->context, t->arena, limb, &versions[i], &kept, err));
        SF_TRY(sf_record_check_text(kept, "document", 0, 16 * 1024 * 1024, err));
        const sf_Value row[] = { sf_whole(limb), sf_whole(versions[i].version), sf_words(kept),
                                 sf_words(versions[i].at), sf_whole(versions[i].who) };
        SF_TRY(sf_sealed_change(t, SF_SEALED_LIMB_VERSION, ACTION, limb, row, sizeof row / sizeof *row, err));
    }
    return SF_OK;
}

static sf_Status remove_bodies(sf_Transaction *t, int64_t limb, const sf_Removal *removal, sf_Error *err)
{
    sf_Fact *facts = NULL;
    size_t count = 0;
    SF_TRY(sf_fact_list(t, limb, &facts, &count, err));
    for (size_t i = 0; i < count; i++) {
        const sf_Fact *fact = &facts[i];
        const char *kept = NULL;
        if (fact->body && removal->body)
            SF_TRY(removal->body(removal->context, t->arena, fact, &kept, err));
        SF_TRY(sf_record_check_text(kept, "body", 0, SF_FACT_BODY_MOST, err));
        const sf_Value row[] = {
            sf_whole(fact->id),          sf_whole(limb),      sf_words(fact->kind), sf_words(fact->happened_at),
            sf_words(fact->recorded_at), sf_whole(fact->who), sf_words(kept),       sf_reference(fact->withdraws),
            sf_words(fact->origin)
        };
        SF_TRY(sf_sealed_change(t, SF_SEALED_FACT, ACTION, limb, row, sizeof row / sizeof *row, err));
    }
    return SF_OK;
}

static sf_Status remove_pictures(sf_Transaction *t, int64_t limb, const sf_Removal *removal, sf_Error *err)
{
    sf_Attachment *list = NULL;
    size_t count = 0;
    SF_TRY(sf_attachment_list(t, limb, &list, &count, err));
    for (size_t i = 0; i < count; i++) {
        const sf_Attachment *one = &list[i];
        bool stays = !one->removed_at && removal->picture && removal->picture(removal->context, one);
        const char *removed_at = one->removed_at ? one->removed_at : stays ? NULL : t->time;
        const sf_Value row[] = { sf_whole(one->id),        sf_whole(limb),    sf_reference(one->fact),
                                 sf_words(one->file_hash), sf_words(NULL),    sf_words(one->media_type),
                                 sf_whole(one->bytes),     sf_words(one->at), sf_whole(one->who),
                                 sf_words(removed_at) };
        SF_TRY(sf_sealed_change(t, SF_SEALED_ATTACHMENT, ACTION, limb, row, sizeof row / sizeof *row, err));
    }
    return SF_OK;
}

static sf_Status remove_limb(sf_Transaction *t, const sf_LimbRow *old, const sf_Removal *removal, sf_Error *err)
{
    SF_TRY(remove_documents(t, old->id, removal, err));
    SF_TRY(remove_bodies(t, old->id, removal, err));
    SF_TRY(remove_pictures(t, old->id, removal, err));
    sf_LimbRow row = *old;
    row.head = (sf_LimbHead){
        .side = old->head.side, .sheet_lot = old->head.sheet_lot, .stage = old->head.stage, .flags = old->head.flags
    };
    row.changed_at = t->time;
    if (removal->head)
        removal->head(removal->context, t->arena, old, &row.head);
    return sf_limb_row_change(t, ACTION, &row, &old->head, err);
}

sf_Status sf_wearer_remove(sf_Transaction *t, int64_t id, const sf_Removal *removal, sf_Error *err)
{
    sf_Wearer wearer;
    sf_Rows rows;
    SF_TRY(sf_wearer_get(t, id, &wearer, err));
    SF_TRY(sf_transaction_query(t, SF_LIMB_SELECT " FROM limb l WHERE l.wearer = $1 ORDER BY l.id",
                                SF_BIND(sf_whole(id)), &rows, err));
    sf_Status status = SF_OK;
    for (size_t i = 0; status == SF_OK && i < rows.count; i++) {
        const sf_LimbRow old = sf_limb_row_of(&rows, i);
        status = remove_limb(t, &old, removal, err);
    }
    const sf_Value row[] = { sf_whole(id), sf_words(NULL), sf_words(wearer.pseudonym), sf_words(wearer.made_at),
                             sf_words(t->time) };
    if (status == SF_OK)
        status = sf_sealed_change(t, SF_SEALED_WEARER, ACTION, 0, row, sizeof row / sizeof *row, err);
    if (status == SF_OK)
        status = sf_transaction_query(t, "DELETE FROM repeat_key", SF_BIND_NONE, NULL, err);
    if (status != SF_OK)
        t->over = true; // a removal is whole or it is none
    return status;
}

/// Unlinks files that only removed rows name.
static sf_Status scrub_files(sf_Transaction *t, size_t *removed, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(
        sf_transaction_query(t,
                             "SELECT DISTINCT a.file_hash FROM attachment a WHERE a.removed_at IS NOT NULL AND NOT"
                             " EXISTS (SELECT 1 FROM attachment b WHERE b.file_hash = a.file_hash AND b.removed_at IS"
                             " NULL)",
                             SF_BIND_NONE, &rows, err));
    for (size_t i = 0; i < rows.count; i++) {
        char *path = sf_shelf_path(t->store, sf_cell_text(&rows, i, 0));
        if (!path)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        int done = unlink(path), why = errno;
        sf_free(path);
        if (done == 0)
            (*removed)++;
        else if (why != ENOENT)
            return SF_FAIL(err, SF_E_STORE, "picture", "a picture file of the removed wearer cannot be removed: %s",
                           strerror(why));
    }
    return SF_OK;
}

sf_Status sf_store_scrub(sf_Store *store, size_t *files_removed, sf_Error *err)
{
    sf_Transaction *t = NULL;
    *files_removed = 0;
    SF_TRY(sf_transaction_write(&t, store, 0, err)); // nobody may name a file while it is being taken away
    sf_Status status = scrub_files(t, files_removed, err);
    if (status == SF_OK)
        status = sf_transaction_commit(t, err);
    if (status == SF_OK)
        status = sf_database_script(t->db, t->db->kind->scrub, err); // still alone: the writer's lock is held
    sf_transaction_end(&t);
    return status;
}
