// SPDX-License-Identifier: GPL-3.0-or-later
#include "server/ring_ask.h"

#include "base/alloc.h"
#include "base/date.h"
#include "record/attachment.h"
#include "server/compute_source.h"
#include "server/server_inside.h"

#include <math.h>
#include <string.h>

enum { ADULT_YEARS = 18, MOST_TABLE = 8 * 1024 * 1024, DIGITS = 15 };

sf_RingAsked sf_ring_asked_nothing(void)
{
    return (sf_RingAsked){ .posterior_deg = NAN,
                           .dpi = NAN,
                           .seam_deg = NAN,
                           .nominal_wall_mm = NAN,
                           .height_mm = NAN,
                           .body_mass_kg = NAN,
                           .shank_mm = NAN,
                           .rim_mm = NAN };
}

static void take_text(sf_DocNode object, const char *key, const char **text)
{
    sf_doc_text(sf_doc_member(object, key), MOST_TABLE, text);
}

static void take_number(sf_DocNode object, const char *key, double *number)
{
    sf_doc_number(sf_doc_member(object, key), -1e6, 1e6, number);
}

void sf_ring_asked_read(sf_RingAsked *asked, sf_DocNode object)
{
    sf_DocNode before = sf_doc_member(sf_doc_member(object, "result"), "asked");
    if (sf_doc_is_object(before))
        sf_ring_asked_read(asked, before);
    take_text(object, "picture", &asked->picture);
    take_text(object, "caliper", &asked->caliper);
    take_text(object, "caliper_csv", &asked->caliper_csv);
    take_text(object, "user", &asked->user);
    take_text(object, "face", &asked->face);
    take_text(object, "ring_number", &asked->ring_number);
    take_number(object, "posterior_deg", &asked->posterior_deg);
    take_number(object, "dpi", &asked->dpi);
    take_number(object, "seam_deg", &asked->seam_deg);
    take_number(object, "nominal_wall_mm", &asked->nominal_wall_mm);
    take_number(object, "height_mm", &asked->height_mm);
}

static const char *user_by_birth(sf_DocNode person, const char *today)
{
    const char *text = NULL;
    char day[SF_DATE_TEXT] = "";
    sf_Date birth, now;
    take_text(person, "birth_date", &text);
    memcpy(day, today, SF_DATE_TEXT - 1);
    if (!text || sf_date_parse(&birth, text, NULL, NULL) != SF_OK || sf_date_parse(&now, day, NULL, NULL) != SF_OK)
        return NULL;
    return sf_date_years_between(birth, now) < ADULT_YEARS ? "child" : "adult";
}

void sf_ring_asked_complete(sf_RingAsked *asked, sf_DocNode document, const char *today)
{
    sf_DocNode person = sf_doc_member(document, "person"), pylon = sf_doc_member(document, "pylon");
    sf_DocNode adapter = sf_doc_member(document, "adapter");
    take_text(person, "side", &asked->side);
    take_number(person, "body_mass_kg", &asked->body_mass_kg);
    take_number(adapter, "shank_mm", &asked->shank_mm);
    take_number(adapter, "rim_mm", &asked->rim_mm);
    if (!asked->user)
        asked->user = user_by_birth(person, today);
    if (isnan(asked->nominal_wall_mm))
        take_number(pylon, "expected_wall_mm", &asked->nominal_wall_mm);
    if (isnan(asked->height_mm))
        take_number(pylon, "cut_height_mm", &asked->height_mm);
}

static void put_number(sf_Json *json, const char *key, double number)
{
    if (!isnan(number))
        sf_json_set_number(json, key, number);
}

static void put_text(sf_Json *json, const char *key, const char *text)
{
    if (text)
        sf_json_set_text(json, key, text);
}

static sf_Json *options_json(const sf_RingAsked *asked)
{
    sf_Json *json = sf_json_object();
    put_text(json, "user", asked->user);
    put_text(json, "face", asked->face);
    put_text(json, "side", asked->side);
    put_number(json, "posterior_deg", asked->posterior_deg);
    put_number(json, "dpi", asked->dpi);
    put_number(json, "seam_deg", asked->seam_deg);
    put_number(json, "nominal_wall_mm", asked->nominal_wall_mm);
    put_number(json, "body_mass_kg", asked->body_mass_kg);
    put_number(json, "shank_mm", asked->shank_mm);
    put_number(json, "rim_mm", asked->rim_mm);
    return json;
}

// A document that is at hand as text; one that does not read is left out.
static sf_Status put_object(sf_Json *json, const char *key, const char *text, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status = text ? sf_doc_parse(&doc, key, text, strlen(text), err) : SF_OK;
    if (doc)
        sf_json_set(json, key, sf_json_from_node(sf_doc_root(doc)));
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status request_text(sf_Server *server, const sf_RingAsked *asked, char **text, sf_Error *err)
{
    unsigned char *table = NULL;
    size_t size = 0;
    sf_Json *json = sf_json_object();
    sf_Status status = SF_OK;
    *text = NULL;
    if (asked->caliper_csv)
        sf_json_set_text(json, "caliper_csv", asked->caliper_csv);
    else if (asked->picture)
        sf_json_set_text(json, "picture", asked->picture);
    else if (asked->caliper) {
        SF_TRY_DONE(sf_shelf_get(server->store, asked->caliper, &table, &size, err));
        sf_json_set_text(json, "caliper_csv", (const char *)table);
    }
    SF_TRY_DONE(put_object(json, "document", asked->limb, err));
    SF_TRY_DONE(put_object(json, "squeeze", asked->squeeze, err));
    sf_json_set(json, "options", options_json(asked));
    SF_TRY_DONE(sf_json_text(json, DIGITS, text, err));
done:
    sf_free(table);
    sf_json_destroy(&json);
    return status;
}

static sf_Status run(sf_ComputeAnswer *answer, sf_Server *server, const sf_RingAsked *asked, const char *name,
                     bool draw, sf_Error *err)
{
    sf_ComputeSource source = sf_compute_source(server->store);
    char *text = NULL;
    sf_Doc *doc = NULL;
    sf_Status status;
    *answer = (sf_ComputeAnswer){ 0 };
    SF_TRY_DONE(request_text(server, asked, &text, err));
    SF_TRY_DONE(sf_doc_parse(&doc, "the ring", text, strlen(text), err));
    SF_TRY_DONE(sf_gate_enter(server, err));
    status = sf_computation_run(answer, sf_computation_find(name), sf_doc_root(doc), draw, &source, NULL, err);
    sf_gate_leave(server);
done:
    sf_doc_destroy(&doc);
    sf_free(text);
    return status;
}

sf_Status sf_ring_asked_run(sf_ComputeAnswer *answer, sf_Server *server, const sf_RingAsked *asked, const char *name,
                            bool draw, sf_Error *err)
{
    sf_RingAsked alone = *asked;
    sf_Status status = run(answer, server, asked, name, draw, err);
    if (status == SF_OK || status == SF_E_MEMORY || status == SF_E_LIMIT || !asked->limb)
        return status;
    alone.limb = NULL; // strength cannot be computed of this document: the ring is judged without it
    return run(answer, server, &alone, name, draw, err);
}
