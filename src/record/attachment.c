// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/attachment.h"

#include "base/alloc.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/sealed.h"

#include <sys/stat.h>

#define ATTACHMENTS "SELECT id, limb, who, fact, file_hash, name, media_type, bytes, at, removed_at FROM attachment"

static sf_Attachment attachment_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    return (sf_Attachment){ cell[0].whole, cell[1].whole, cell[2].whole, cell[3].whole, cell[4].text,
                            cell[5].text,  cell[6].text,  cell[7].whole, cell[8].text,  cell[9].text };
}

static sf_Status file_size(const sf_Store *store, const char *hash, int64_t *size, sf_Error *err)
{
    char *path = sf_shelf_path(store, hash);
    struct stat info;
    sf_Status status = SF_OK;
    if (!path || stat(path, &info) != 0 || !S_ISREG(info.st_mode))
        status = SF_FAIL(err, SF_E_MISSING, "picture", "there is no such picture in the store: send it first");
    else
        *size = (int64_t)info.st_size;
    sf_free(path);
    return status;
}

sf_Status sf_attachment_add(sf_Transaction *t, const sf_Attachment *given, int64_t *id, sf_Error *err)
{
    SF_TRY(sf_record_check_text(given->name, "name", 0, SF_ATTACHMENT_NAME_MOST, err));
    SF_TRY(sf_record_check_text(given->media_type, "media_type", 1, SF_MEDIA_TYPE_MOST, err));
    sf_LimbRow limb;
    SF_TRY(sf_limb_record_get(t, given->limb, &limb, err));
    if (given->fact) {
        sf_Fact fact;
        SF_TRY(sf_fact_get(t, given->fact, &fact, err));
        if (fact.limb != given->limb)
            return SF_FAIL(err, SF_E_INPUT, "fact", "the fact belongs to another limb");
    }
    int64_t bytes = 0;
    SF_TRY(file_size(t->store, given->file_hash, &bytes, err));
    SF_TRY(sf_next_id(t, "attachment", id, err));
    const sf_Value row[] = { sf_whole(*id),
                             sf_whole(given->limb),
                             sf_reference(given->fact),
                             sf_words(given->file_hash),
                             sf_words(given->name),
                             sf_words(given->media_type),
                             sf_whole(bytes),
                             sf_words(t->time),
                             sf_whole(t->who),
                             sf_words(NULL) };
    return sf_sealed_add(t, SF_SEALED_ATTACHMENT, "add", given->limb, row, sizeof row / sizeof *row, err);
}

sf_Status sf_attachment_list(sf_Transaction *t, int64_t limb, sf_Attachment **attachments, size_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, ATTACHMENTS " WHERE limb = $1 ORDER BY id", SF_BIND(sf_whole(limb)), &rows, err));
    sf_Attachment *list = sf_arena_alloc(t->arena, rows.count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows.count; i++)
        list[i] = attachment_of(&rows, i);
    *attachments = list;
    *count = rows.count;
    return SF_OK;
}

sf_Status sf_attachment_by_hash(sf_Transaction *t, const char *hash, sf_Attachment *attachment, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, ATTACHMENTS " WHERE file_hash = $1 AND removed_at IS NULL ORDER BY id LIMIT 1",
                                SF_BIND(sf_words(hash)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "picture", "there is no such picture");
    *attachment = attachment_of(&rows, 0);
    return SF_OK;
}
