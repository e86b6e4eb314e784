// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/mass_study.h"

#include "base/units.h"
#include "geom/polygon.h"
#include "growth/limb_mass.h"
#include "material/card.h"
#include "study/growth_readings.h"
#include "study/limb_ring.h"

#include <math.h>

static const double GRAM = 1e-3;
static const double JOINT_ABOVE_KNEE_LINE = 0.034; ///< m: joint centre over the tibial plateau (33.5 to 35 mm)
static const double PLATEAU_OF_STATURE = 0.267;    ///< ANSUR II 2012, men
static const double ANKLE_OF_STATURE = 0.042;      ///< ANSUR II 2012
static const double FOOT_OF_STATURE = 0.152;       ///< segment tables
static const double HEEL_BEHIND_ANKLE = 0.25;      ///< of the foot's length, judgement
static const double SPACER_ACROSS = 0.050;         ///< m, where no rim is given; judgement
static const double SPACER_DENSITY = 1130;         ///< kg/m^3, polyamide; from memory
static const double WEIGHED_SHARE = 0.05, WEIGHED_LEAST = 0.030; ///< judgement
static const double ADULT_FROM = 12;                             ///< years: below, adult shares are rough

typedef enum Origin { GIVEN, COMPUTED, ASSUMED, MISSING } Origin;

typedef struct Parts {
    sf_Body body[SF_MASS_MAX_BODIES];
    Origin origin[SF_MASS_MAX_BODIES];
    size_t count;
    bool complete;
    double joint; ///< height u of the knee's centre
} Parts;

/// Adds a part that reaches from `low` to `high` (u) and lies `forward` of the pylon's axis.
static void add(Parts *parts, const char *name, double mass, Origin origin, double low, double high, double forward,
                double level)
{
    if (parts->count == SF_MASS_MAX_BODIES)
        return;
    if (!isfinite(mass) || !isfinite(low) || !isfinite(high)) {
        origin = MISSING;
        parts->complete = false;
    }
    parts->origin[parts->count] = origin;
    parts->body[parts->count++] = (sf_Body){
        name,       isfinite(mass) ? mass : 0,  parts->joint - (low + high) / 2, isfinite(forward) ? forward : 0,
        high - low, isfinite(level) ? level : 0
    };
}

/// Mean section area over the rings; NaN without any.
static sf_Status pylon_area(const sf_Limb *limb, double *area, sf_Error *err)
{
    const sf_LimbPylon *pylon = &limb->data.pylon;
    *area = pylon->ring_count ? 0 : NAN;
    for (size_t i = 0; i < pylon->ring_count; i++) {
        sf_Outline outline = { 0 };
        sf_LimbRingNews news = { 0 };
        SF_TRY(sf_limb_ring_outline(&outline, &news, limb, i, err));
        *area += (sf_polygon_area(&outline.outer) - sf_polygon_area(&outline.inner)) / (double)pylon->ring_count;
        sf_outline_free(&outline);
    }
    return SF_OK;
}

static sf_Status add_pylon(Parts *parts, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    const sf_LimbPylon *p = &limb->data.pylon;
    double area;
    SF_TRY(pylon_area(limb, &area, err));
    const char *name = p->material ? p->material : "pp-copolymer";
    if (!p->material)
        sf_result_assume(result, "the pylon is of polypropylene copolymer (pylon.material)");
    sf_Card *card = NULL;
    SF_TRY(sf_card_find(&card, name, err));
    double density = card->density.value;
    sf_card_destroy(&card);
    add(parts, "pylon", sf_mass_tube(density, area, p->top_height - p->cut_height), COMPUTED, p->cut_height,
        p->top_height, 0, 0);
    return SF_OK;
}

static void add_bought(Parts *parts, sf_Result *result, const sf_Limb *limb, bool without_shoe)
{
    const sf_LimbData *d = &limb->data;
    double cut = d->pylon.cut_height, foot_top = d->shoe.heel + d->foot.build_height - d->foot.compression;
    double ahead = (0.5 - HEEL_BEHIND_ANKLE) * d->foot.length;
    add(parts, "adapter", d->adapter.mass, GIVEN, cut - d->adapter.build_height, cut + d->adapter.depth, 0, 0);
    double below = cut - d->adapter.build_height, spacers = 0, thickness = 0;
    double across = isfinite(d->adapter.rim) ? d->adapter.rim : SPACER_ACROSS;
    size_t unweighed = 0;
    for (size_t i = 0; i < d->spacer_count; i++) {
        double disc = SF_PI / 4 * across * across * d->spacers[i].thickness * SPACER_DENSITY;
        bool given = isfinite(d->spacers[i].mass);
        thickness += d->spacers[i].thickness;
        spacers += given ? d->spacers[i].mass : disc;
        unweighed += !given;
    }
    if (unweighed)
        sf_result_assume(result, "%zu %s of polyamide, %.0f mm across (spacers[].mass_g)", unweighed,
                         unweighed == 1 ? "spacer is a disc" : "spacers are discs", across / SF_MM);
    if (d->spacer_count)
        add(parts, "spacers", spacers, unweighed ? ASSUMED : GIVEN, below - thickness, below, 0, 0);
    if (!isfinite(foot_top))
        foot_top = below - thickness;
    add(parts, "foot", d->foot.mass, GIVEN, isfinite(d->shoe.heel) ? d->shoe.heel : 0, foot_top, ahead, d->foot.length);
    if (!without_shoe && d->shoe.there)
        // most of a shoe is its sole: its middle lies about as high as its heel is thick
        add(parts, "shoe", d->shoe.mass, GIVEN, 0, 2 * d->shoe.heel, ahead, d->foot.length);
    if (d->cover.there)
        add(parts, "cover", d->cover.mass, GIVEN, cut, d->socket.distal_end_height, 0, 0);
    if (isfinite(d->foot.length))
        sf_result_assume(result,
                         "the foot's heel lies a quarter of its length behind the ankle, its mass spread evenly");
}

static void set_parts(sf_Result *result, const Parts *parts)
{
    static const char *const origins[] = { "given", "computed", "assumed", "missing" };
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < parts->count; i++) {
        const sf_Body *b = &parts->body[i];
        bool missing = parts->origin[i] == MISSING;
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "part", b->name);
        sf_json_set_number(one, "mass_g", missing ? NAN : b->mass / GRAM);
        sf_json_set_number(one, "depth_mm", b->depth / SF_MM);
        sf_json_set_number(one, "forward_mm", b->forward / SF_MM);
        sf_json_set_text(one, "origin", origins[parts->origin[i]]);
        sf_json_add(list, one);
        if (missing)
            sf_result_note(result,
                           "parts: mass or place of the %s is not known; it is left out and the sums are too low",
                           b->name);
    }
    sf_json_set(result->json, "parts", list);
    sf_json_set_flag(result->json, "complete", parts->complete);
}

static void set_sum(sf_Json *json, const char *key, const sf_MassSum *sum)
{
    sf_Json *one = sf_json_object();
    sf_json_set_number(one, "mass_kg", sum->mass);
    sf_json_set_number(one, "centre_below_knee_mm", (sum->depth - JOINT_ABOVE_KNEE_LINE) / SF_MM);
    sf_json_set_number(one, "centre_forward_mm", sum->forward / SF_MM);
    sf_json_set_number(one, "inertia_about_knee_kgm2", sum->inertia_knee);
    sf_json_set(json, key, one);
}

static void set_intact(sf_Result *result, const sf_Limb *limb, double knee_line, const sf_MassSum *prosthesis)
{
    const sf_LimbPerson *p = &limb->data.person;
    double stature = p->stature, heel = isfinite(limb->data.shoe.heel) ? limb->data.shoe.heel : 0;
    if (p->sex == SF_LIMB_SEX_NONE) {
        sf_result_null(result, "intact", "segment shares differ by sex (person.sex)");
        sf_result_null(result, "ratio", "there is no intact side to compare with");
        return;
    }
    if (!isfinite(stature)) {
        stature = (knee_line - heel) / PLATEAU_OF_STATURE;
        sf_result_assume(result, "a stature of %.0f mm, from the knee height (person.stature_mm)", stature / SF_MM);
    }
    double ankle = ANKLE_OF_STATURE * stature;
    double foot = isfinite(p->foot_length) ? p->foot_length : FOOT_OF_STATURE * stature;
    double shank = knee_line - heel + JOINT_ABOVE_KNEE_LINE - ankle;
    sf_MassSum intact =
        sf_mass_intact(p->body_mass, p->sex == SF_LIMB_SEX_MALE ? SF_SEX_MALE : SF_SEX_FEMALE, shank, ankle, foot);
    set_sum(result->json, "intact", &intact);
    sf_Json *ratio = sf_json_object();
    sf_json_set_number(ratio, "mass", prosthesis->mass / intact.mass);
    sf_json_set_number(ratio, "inertia", prosthesis->inertia_knee / intact.inertia_knee);
    sf_json_set(result->json, "ratio", ratio);
    sf_result_note(result,
                   "intact: shares of an adult's body mass (de Leva 1996); body mass is that without the missing "
                   "limb; rough below %.0f years. No mass or inertia is aimed at",
                   ADULT_FROM);
}

static void add_reason(sf_Json *list, const char *code, const char *text)
{
    sf_Json *one = sf_json_object();
    sf_json_set_text(one, "code", code);
    sf_json_set_text(one, "text", text);
    sf_json_add(list, one);
}

static void set_weighed(sf_Result *result, double weighed, const sf_MassSum *sum, bool complete)
{
    sf_Json *reasons = sf_json_array(), *json = result->json;
    double off = weighed - sum->mass, limit = fmax(WEIGHED_SHARE * sum->mass, WEIGHED_LEAST);
    sf_json_set_number(json, "weighed_g", weighed / GRAM);
    sf_json_set_number(json, "difference_g", off / GRAM);
    sf_json_set_number(json, "difference_limit_g", limit / GRAM);
    if (!isfinite(weighed))
        sf_result_note(result, "weighed_g, difference_g: not weighed (--weighed-g)");
    if (off > limit) {
        if (!complete)
            add_reason(reasons, "part-missing", "a part's mass is not entered");
        add_reason(reasons, "thicker", "likely: walls thicker than the rings say higher up, or an uncut flange");
        add_reason(reasons, "extra", "likely: liner, socks, glue, straps or water still in it");
    } else if (off < -limit) {
        add_reason(reasons, "thinner", "likely: walls thinner than the rings say: look at another ring higher up");
        add_reason(reasons, "porous", "possible: pores in the wall that no picture of one face shows: weigh the ring");
        add_reason(reasons, "part-off", "a part was off the scale that the document holds");
    }
    sf_json_set(json, "reasons", reasons);
}

sf_Status sf_mass_study(sf_Result *result, const sf_Limb *limb, const sf_MassAsk *ask, sf_Error *err)
{
    static const char *const needed[] = { "person.sound_knee_height_mm" };
    const sf_LimbData *d = &limb->data;
    sf_Json *warnings = sf_json_array();
    sf_Status status;
    Parts parts = { .complete = true };
    double knee = sf_limb_sound_knee(limb, warnings);
    if (!isfinite(knee) && isfinite(d->person.stature)) {
        knee = PLATEAU_OF_STATURE * d->person.stature;
        sf_result_assume(result, "a knee height of 0.267 of stature, %.0f mm (person.sound_knee_height_mm)",
                         knee / SF_MM);
    }
    if (!isfinite(knee))
        SF_TRY_DONE(sf_limb_need(limb, needed, 1, "mass", err));
    double line = knee + (isfinite(d->shoe.heel) ? d->shoe.heel : 0) +
                  (isfinite(d->person.target_difference) ? d->person.target_difference : 0);
    parts.joint = line + JOINT_ABOVE_KNEE_LINE;
    add(&parts, "socket", d->socket.mass, GIVEN, d->socket.distal_end_height, line, 0, 0);
    SF_TRY_DONE(add_pylon(&parts, result, limb, err));
    add_bought(&parts, result, limb, ask->without_shoe);
    for (size_t i = 0; i < parts.count; i++)
        if (parts.origin[i] == MISSING)
            parts.body[i].mass = 0;
    for (size_t i = 0; i < parts.count; i++)
        if (!isfinite(parts.body[i].depth) || !isfinite(parts.body[i].upright))
            parts.body[i].depth = parts.body[i].upright = 0;
    sf_MassSum sum = sf_mass_sum(parts.body, parts.count);
    set_sum(result->json, "limb", &sum);
    set_parts(result, &parts);
    set_intact(result, limb, line, &sum);
    set_weighed(result, ask->weighed, &sum, parts.complete);
    sf_json_set(result->json, "warnings", warnings);
    return SF_OK;
done:
    sf_json_destroy(&warnings);
    return status;
}
