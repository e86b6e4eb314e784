// SPDX-License-Identifier: GPL-3.0-or-later
// The table of docs/api.md, printed from the routes.
#include "base/alloc.h"
#include "base/text.h"
#include "server/route.h"
#include "server/server.h"

#include <string.h>

enum { PAGE_MOST = 256 * 1024 };

static void add_who(sf_Text *text, unsigned may)
{
    const char *between = "";
    if (may & SF_MAY_ANYONE)
        sf_text_add(text, "anyone");
    else if ((may & SF_MAY_STAFF) == SF_MAY_STAFF)
        sf_text_add(text, "all staff");
    else
        for (int role = 0; role < SF_ROLE_COUNT; role++)
            if (may & (1u << role)) {
                sf_text_format(text, "%s%s", between, sf_person_role_words[role]);
                between = ", ";
            }
}

static void add_body(sf_Text *text, const sf_Route *route)
{
    const char *between = "";
    if (route->body == SF_BODY_NONE)
        sf_text_add(text, "-");
    else if (route->body == SF_BODY_BYTES)
        sf_text_add(text, "bytes");
    else if (!route->fields)
        sf_text_add(text, "JSON");
    for (const sf_RouteField *field = route->fields; field && field->name; field++) {
        sf_text_format(text, "%s`%s`%s", between, field->name, field->required ? "" : "?");
        between = ", ";
    }
}

sf_Status sf_server_api_page(char **out, sf_Error *err)
{
    sf_Text text = sf_text_make(PAGE_MOST);
    const sf_Route *route;
    sf_text_add(&text, "| method | path | who | body | what |\n|---|---|---|---|---|\n");
    for (size_t i = 0; (route = sf_route_at(i)); i++) {
        sf_text_format(&text, "| %s | `%s` | ", route->method, route->path);
        add_who(&text, route->may);
        sf_text_add(&text, " | ");
        add_body(&text, route);
        sf_text_format(&text, " | %s |\n", route->what);
    }
    *out = text.broken ? NULL : sf_copy_text(sf_text_string(&text), text.length);
    sf_text_free(&text);
    return *out ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}
