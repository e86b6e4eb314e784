// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "server/request.h"

#include <errno.h>
#include <microhttpd.h>
#include <stdlib.h>
#include <string.h>

static const char *look(const sf_Request *request, enum MHD_ValueKind kind, const char *name)
{
    return request->connection ? MHD_lookup_connection_value(request->connection, kind, name) : NULL;
}

const char *sf_request_header(const sf_Request *request, const char *name)
{
    return look(request, MHD_HEADER_KIND, name);
}

const char *sf_request_query(const sf_Request *request, const char *name)
{
    return look(request, MHD_GET_ARGUMENT_KIND, name);
}

const char *sf_request_cookie(const sf_Request *request, const char *name)
{
    return look(request, MHD_COOKIE_KIND, name);
}

sf_DocNode sf_request_root(const sf_Request *request)
{
    return sf_doc_root(request->doc);
}

static bool whole(const char *text, int64_t *value)
{
    char *end = NULL;
    if (*text == '\0' || strlen(text) > 18 || strspn(text, "-0123456789") != strlen(text))
        return false;
    errno = 0;
    *value = strtoll(text, &end, 10);
    return errno == 0 && *end == '\0';
}

sf_Status sf_request_id(const sf_Request *request, size_t place, int64_t *id, sf_Error *err)
{
    const char *text = request->parameters[place];
    if (text && whole(text, id) && *id >= 0)
        return SF_OK;
    return SF_FAIL(err, SF_E_MISSING, NULL, "there is no '%.40s' here: ids are whole numbers", text ? text : "");
}

sf_Status sf_request_query_whole(const sf_Request *request, const char *name, int64_t low, int64_t high,
                                 int64_t otherwise, int64_t *value, sf_Error *err)
{
    const char *text = sf_request_query(request, name);
    *value = otherwise;
    if (!text || !*text)
        return SF_OK;
    if (whole(text, value) && *value >= low && *value <= high)
        return SF_OK;
    return SF_FAIL(err, SF_E_INPUT, name, "%s must be a whole number between %lld and %lld", name, (long long)low,
                   (long long)high);
}
