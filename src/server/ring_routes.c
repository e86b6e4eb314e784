// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures and rings.
#include "base/alloc.h"
#include "record/attachment.h"
#include "record/limb_record.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/computation.h"
#include "study/picture_view.h"

#include <string.h>

static const char FOR_EVER[] = "private, max-age=31536000, immutable"; // a file's name is what is in it

// What the first bytes say; NULL: none of the kinds that are measured.
static const char *media_type_of(const unsigned char *bytes, size_t size)
{
    if (size >= 8 && memcmp(bytes, "\x89PNG\r\n\x1a\n", 8) == 0)
        return "image/png";
    if (size >= 3 && memcmp(bytes, "\xff\xd8\xff", 3) == 0)
        return "image/jpeg";
    if (size >= 4 && (memcmp(bytes, "II*\0", 4) == 0 || memcmp(bytes, "MM\0*", 4) == 0))
        return "image/tiff";
    return NULL;
}

// The file lies on the disk before any row may name it.
static sf_Status shelve(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    char *hash = sf_arena_alloc(request->arena, 1, SF_DIGEST_HEX);
    if (!hash)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (!media_type_of(request->body, request->body_size)) {
        reply->status = 415;
        return SF_FAIL(err, SF_E_INPUT, NULL, "this is no PNG, JPEG or TIFF: send the scan's own file");
    }
    request->prepared = hash;
    return sf_shelf_put(request->server->store, request->body, request->body_size, hash, err);
}

static sf_Status add_picture(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *name = sf_request_query(request, "name");
    sf_Attachment row = { .file_hash = request->prepared,
                          .media_type = media_type_of(request->body, request->body_size),
                          .name = name && *name && strlen(name) <= SF_ATTACHMENT_NAME_MOST ? name : "picture" };
    sf_LimbRow limb;
    int64_t id;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &row.limb, err)));
    SF_TRY(sf_reply_or_404(reply, sf_limb_record_get(request->transaction, row.limb, &limb, err)));
    SF_TRY(sf_attachment_add(request->transaction, &row, &id, err));
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "picture", row.file_hash);
    sf_json_set_whole(json, "bytes", (int64_t)request->body_size);
    sf_json_set_text(json, "media_type", row.media_type);
    return sf_reply_json(reply, 201, &json, err);
}

// A file is shown when a row names it; what merely lies on the shelf is nobody's yet.
static sf_Status fetch(sf_Request *request, sf_Reply *reply, unsigned char **bytes, size_t *size, const char **type,
                       sf_Error *err)
{
    sf_Attachment row;
    const char *hash = request->parameters[0];
    *bytes = NULL;
    if (!hash || !sf_compute_is_hash(hash)) {
        reply->status = 404;
        return SF_FAIL(err, SF_E_MISSING, NULL, "pictures are named by their hash, 64 digits");
    }
    SF_TRY(sf_reply_or_404(reply, sf_attachment_by_hash(request->transaction, hash, &row, err)));
    *type = sf_arena_text(request->arena, row.media_type);
    return sf_reply_or_404(reply, sf_shelf_get(request->server->store, hash, bytes, size, err));
}

static sf_Status send_picture(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    unsigned char *bytes;
    SF_TRY(fetch(request, reply, &bytes, &reply->size, &reply->type, err));
    reply->bytes = (char *)bytes;
    reply->status = 200;
    sf_reply_header(reply, "Cache-Control", FOR_EVER);
    return SF_OK;
}

static sf_Status send_view(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    unsigned char *bytes, *png = NULL;
    size_t size, width, height;
    const char *type;
    SF_TRY(fetch(request, reply, &bytes, &size, &type, err));
    sf_Status status = sf_gate_enter(request->server, err);
    if (status == SF_OK) {
        status = sf_picture_view(&png, &reply->size, &width, &height, bytes, size, err);
        sf_gate_leave(request->server);
    }
    sf_free(bytes);
    SF_TRY(status);
    reply->bytes = (char *)png;
    reply->type = "image/png";
    reply->status = 200;
    sf_reply_header(reply, "Cache-Control", FOR_EVER);
    return SF_OK;
}

const sf_Route sf_ring_routes[] = {
    { "POST", "/api/limbs/{id}/pictures", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_BYTES, NULL, shelve, add_picture,
      "put a picture to a limb: PNG, JPEG or TIFF; `?name=` is what the person calls it" },
    { "GET", "/api/pictures/{hash}", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, send_picture,
      "the picture as it was sent" },
    { "GET", "/api/pictures/{hash}/view.png", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, send_view,
      "a grey copy that browsers show" },
    { 0 },
};
