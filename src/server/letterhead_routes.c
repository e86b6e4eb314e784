// SPDX-License-Identifier: GPL-3.0-or-later
// What papers say of the shop.
#include "record/letterhead.h"
#include "server/route.h"

#include <string.h>

static sf_Status reply_letterhead(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Letterhead shop;
    SF_TRY(sf_letterhead_get(request->transaction, &shop, err));
    sf_Json *json = sf_letterhead_json(&shop);
    return sf_reply_json(reply, 200, &json, err);
}

// A field that is left out stays; an empty text or null takes it away.
static void take(const sf_Request *request, const char *key, const char **text)
{
    sf_DocNode root = sf_request_root(request), node = sf_doc_member(root, key);
    const char *given = NULL;
    for (size_t i = 0; sf_doc_key(root, i); i++)
        if (strcmp(sf_doc_key(root, i), key) == 0)
            *text = sf_doc_text(node, SF_LETTERHEAD_STATEMENT_MOST, &given) ? given : NULL;
}

static sf_Status change(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Letterhead shop;
    SF_TRY(sf_letterhead_get(request->transaction, &shop, err));
    take(request, "name", &shop.name);
    take(request, "address", &shop.address);
    take(request, "telephone", &shop.telephone);
    take(request, "statement", &shop.statement);
    SF_TRY(sf_letterhead_set(request->transaction, &shop, err));
    return reply_letterhead(request, reply, err);
}

static const sf_RouteField fields[] = { { "name", SF_ROUTE_TEXT, false, 0, SF_LETTERHEAD_LINE_MOST, NULL },
                                        { "address", SF_ROUTE_TEXT, false, 0, SF_LETTERHEAD_LINE_MOST, NULL },
                                        { "telephone", SF_ROUTE_TEXT, false, 0, SF_LETTERHEAD_LINE_MOST, NULL },
                                        { "statement", SF_ROUTE_TEXT, false, 0, SF_LETTERHEAD_STATEMENT_MOST, NULL },
                                        { 0 } };

const sf_Route sf_letterhead_routes[] = {
    { "GET", "/api/letterhead", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, reply_letterhead,
      "what papers say of the shop: its name, address, telephone, statement" },
    { "PUT", "/api/letterhead", SF_MAY_ADMIN, SF_STORE_WRITE, SF_BODY_JSON, fields, NULL, change,
      "change it; what is left out stays, an empty text goes" },
    { 0 },
};
