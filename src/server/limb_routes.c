// SPDX-License-Identifier: GPL-3.0-or-later
// Shop, limbs, facts.
#include "record/limb_record.h"
#include "server/limb_json.h"
#include "server/route.h"

enum { PAGE = 50, PAGE_MOST = 200 };

static sf_Status list_limbs(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t count, wearer;
    sf_LimbRow *rows;
    size_t found;
    const char *next, *order = sf_request_query(request, "order"), *search = sf_request_query(request, "search");
    const char *after = sf_request_query(request, "after");
    SF_TRY(sf_request_query_whole(request, "count", 1, PAGE_MOST, PAGE, &count, err));
    SF_TRY(sf_request_query_whole(request, "wearer", 1, INT64_MAX, 0, &wearer, err));
    sf_LimbAsk ask = { .search = search && *search ? search : NULL,
                       .stage = sf_request_query(request, "stage"),
                       .flag = sf_request_query(request, "flag"),
                       .due_until = sf_request_query(request, "due_until"),
                       .wearer = wearer,
                       .after = after && *after ? after : NULL,
                       .count = (size_t)count };
    SF_TRY(sf_limb_order_read(order, &ask.order, err));
    SF_TRY(sf_limb_record_list(request->transaction, &ask, &rows, &found, &next, err));
    sf_Json *json = sf_json_object();
    sf_json_set(json, "limbs", sf_limb_rows_json(rows, found));
    sf_json_set_text(json, "after", next);
    return sf_reply_json(reply, 200, &json, err);
}

const sf_Route sf_limb_routes[] = {
    { "GET", "/api/limbs", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_limbs,
      "the list: `?search= order= stage= flag= due_until= wearer= after= count=`" },
    { 0 },
};
