// SPDX-License-Identifier: GPL-3.0-or-later
#include "server/route.h"

#include "server/server_inside.h"

#include <string.h>

enum {
    JSON_MOST = 8 * 1024 * 1024,
    BYTES_MOST = 96 * 1024 * 1024,
    IDLE_MOST = 4096, ///< of a body that nobody asked for: it is not looked at
    PATH_MOST = 512
};

static const sf_Route *const parts[] = { sf_people_routes, sf_limb_routes,  sf_ring_routes,      sf_compute_routes,
                                         sf_record_routes, sf_paper_routes, sf_letterhead_routes };

const sf_Route *sf_route_at(size_t index)
{
    for (size_t p = 0; p < sizeof parts / sizeof *parts; p++)
        for (const sf_Route *route = parts[p]; route->method; route++)
            if (index-- == 0)
                return route;
    return NULL;
}

// Whether the path fits the pattern; what stands in its places is copied into the request's arena.
static bool fits(const char *pattern, const char *path, sf_Arena *arena, const char **parameters)
{
    size_t place = 0;
    while (*pattern && *path) {
        if (*pattern != '{') {
            if (*pattern++ != *path++)
                return false;
            continue;
        }
        pattern = strchr(pattern, '}') + 1;
        size_t length = strcspn(path, "/");
        const char *tail = *pattern && *pattern != '/' ? pattern : NULL; // such as {n}.svg
        if (tail && (length <= strlen(tail) || strncmp(path + length - strlen(tail), tail, strlen(tail)) != 0))
            return false;
        size_t own = tail ? length - strlen(tail) : length;
        if (own == 0)
            return false;
        parameters[place++] = sf_arena_format(arena, "%.*s", (int)own, path);
        path += own;
    }
    return *pattern == '\0' && *path == '\0';
}

sf_Status sf_route_find(sf_Request *request, char *allowed, size_t room, sf_Error *err)
{
    const sf_Route *route;
    bool there = false;
    *allowed = '\0';
    if (strlen(request->path) > PATH_MOST)
        return SF_FAIL(err, SF_E_MISSING, NULL, "there is nothing at so long an address");
    for (size_t i = 0; (route = sf_route_at(i)); i++) {
        const char *parameters[SF_REQUEST_PARAMETERS] = { NULL };
        if (!fits(route->path, request->path, request->arena, parameters))
            continue;
        if (strcmp(route->method, request->method) == 0 ||
            (strcmp(route->method, "GET") == 0 && strcmp(request->method, "HEAD") == 0)) {
            request->route = route;
            memcpy(request->parameters, parameters, sizeof parameters);
            return SF_OK;
        }
        there = true;
        if (!strstr(allowed, route->method) && strlen(allowed) + strlen(route->method) + 3 < room) {
            strcat(allowed, *allowed ? ", " : "");
            strcat(allowed, route->method);
        }
    }
    if (there)
        return SF_FAIL(err, SF_E_USAGE, NULL, "%.80s takes %s, not %.20s", request->path, allowed, request->method);
    return SF_FAIL(err, SF_E_MISSING, NULL, "there is nothing at %.120s", request->path);
}

size_t sf_route_body_most(const sf_Route *route)
{
    return route->body == SF_BODY_BYTES ? BYTES_MOST : route->body == SF_BODY_JSON ? JSON_MOST : IDLE_MOST;
}

enum { WORDS_MOST = 12, WORD_ROOM = 200 };

static void check_word(const sf_RouteField *field, sf_DocNode node)
{
    char room[WORD_ROOM];
    const char *words[WORDS_MOST];
    size_t count = 0, index;
    strncpy(room, field->words, sizeof room - 1);
    room[sizeof room - 1] = '\0';
    for (char *word = room; word && count < WORDS_MOST;) {
        char *bar = strchr(word, '|');
        if (bar)
            *bar++ = '\0';
        words[count++] = word;
        word = bar;
    }
    sf_doc_word(node, words, count, &index);
}

static void check_field(const sf_RouteField *field, sf_DocNode node)
{
    const char *text;
    int64_t whole;
    double number;
    bool flag;
    switch (field->kind) {
    case SF_ROUTE_TEXT:
        if (sf_doc_text(node, (size_t)field->high, &text) && strlen(text) < (size_t)field->low)
            sf_doc_problem(node, "must have at least %d characters", (int)field->low);
        break;
    case SF_ROUTE_WHOLE: sf_doc_whole(node, (int64_t)field->low, (int64_t)field->high, &whole); break;
    case SF_ROUTE_NUMBER: sf_doc_number(node, field->low, field->high, &number); break;
    case SF_ROUTE_FLAG: sf_doc_flag(node, &flag); break;
    case SF_ROUTE_WORD: check_word(field, node); break;
    case SF_ROUTE_OBJECT: sf_doc_expect_object(node); break;
    case SF_ROUTE_LIST: sf_doc_expect_array(node, (size_t)field->high); break;
    }
}

void sf_route_check(const sf_Route *route, sf_DocNode root)
{
    enum { KNOWN_MOST = 24 };
    const char *known[KNOWN_MOST];
    size_t count = 0;
    if (!sf_doc_is_object(root)) {
        sf_doc_problem(root, "must be an object { ... }");
        return;
    }
    for (const sf_RouteField *field = route->fields; field && field->name && count < KNOWN_MOST; field++) {
        sf_DocNode node = sf_doc_member(root, field->name);
        known[count++] = field->name;
        if (field->required)
            sf_doc_need(node, NULL);
        check_field(field, node);
    }
    if (route->fields)
        sf_doc_only(root, known, count);
}
