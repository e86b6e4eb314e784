// SPDX-License-Identifier: GPL-3.0-or-later
// The result document of a ring.
#include "base/units.h"
#include "study/ring_study.h"

#include <math.h>

// Values under their keys, doubts under the same keys of "uncertainty", reasons of missing ones as notes.
static void set_figures(sf_Result *result, const sf_RingFigures *figures)
{
    sf_Json *uncertainty = sf_json_object();
    for (size_t i = 0; i < figures->count; i++) {
        const sf_Figure *f = &figures->items[i];
        sf_Json *doubt = sf_json_object();
        if (f->part < 0) {
            sf_json_set_number(result->json, f->key, f->value);
            sf_json_set_number(doubt, "edge", f->edge);
            sf_json_set_number(doubt, "scale", f->scale);
        } else {
            const sf_Figure *second = &figures->items[++i];
            if (isnan(f->value))
                sf_json_set_null(result->json, f->key);
            else
                sf_json_set(result->json, f->key, sf_json_pair(f->value, second->value));
            sf_json_set(doubt, "edge", sf_json_pair(f->edge, second->edge));
            sf_json_set(doubt, "scale", sf_json_pair(f->scale, second->scale));
        }
        sf_json_set(uncertainty, f->key, doubt);
        if (isnan(f->value))
            sf_result_note(result, "%s: %s.", f->key, f->missing);
    }
    sf_json_set(result->json, "uncertainty", uncertainty);
}

static void set_voids(sf_Result *result, const sf_Outline *outline)
{
    sf_Json *voids = sf_json_array();
    for (size_t i = 0; i < outline->void_count; i++) {
        sf_Point centre = sf_polygon_centroid(&outline->voids[i]);
        sf_Json *item = sf_json_object();
        sf_json_set_number(item, "x_mm", centre.x / SF_MM);
        sf_json_set_number(item, "y_mm", centre.y / SF_MM);
        sf_json_set_number(item, "area_mm2", sf_polygon_area(&outline->voids[i]) / SF_MM2);
        sf_json_add(voids, item);
    }
    sf_json_set(result->json, "voids", voids);
}

static void note_torsion(sf_Result *result, const sf_RingFinding *f)
{
    if (!f->torsion_there)
        return;
    sf_Json *torsion = sf_json_object();
    sf_json_set_number(torsion, "residual", f->torsion.residual);
    sf_json_set_number(torsion, "discretisation", f->torsion.discretisation);
    sf_json_set_whole(torsion, "elements", (int64_t)f->torsion.elements);
    sf_json_set_flag(torsion, "bound_only", f->torsion.bound_only);
    sf_json_set(result->json, "torsion", torsion);
    if (f->torsion.bound_only)
        sf_result_note(result, "torsion_constant_mm4: the line goes through the wall; the figure is a lower bound, as "
                               "the restraint of warping at the ends of the pylon is left out.");
}

void sf_ring_result_figures(sf_Result *result, const sf_RingFinding *f)
{
    set_figures(result, &f->figures);
    set_voids(result, &f->scan.outline);
    note_torsion(result, f);
    if (f->measure.wall.line_searched && f->measure.wall.unjoined_through)
        sf_result_note(result,
                       "seam_unjoined_depth_mm: what is left of the wall at the line is too little to count; the "
                       "line is taken as reaching through.");
    if (f->scan.voids_left_out > 0)
        sf_result_note(
            result,
            "voids: %zu more were seen than are listed (at most %d, and none that breaks through an edge); they are "
            "not taken off the area.",
            f->scan.voids_left_out, SF_OUTLINE_MAX_VOIDS);
    if (f->source == SF_RING_OUTLINE)
        sf_result_note(result, "uncertainty: an outline says nothing of how well its edges are known.");
}

static void set_picture(sf_Result *result, const sf_RingFinding *f, const sf_RingAsk *ask)
{
    if (f->source != SF_RING_PICTURE) {
        sf_result_null(result, "dpi", "there is no picture, only readings.");
        sf_result_null(result, "polarity", "there is no picture, only readings.");
        return;
    }
    sf_json_set_number(result->json, "dpi", f->scan.dpi_x);
    sf_json_set_text(result->json, "polarity", f->scan.light_ring ? "light-on-dark" : "dark-on-light");
    if (f->scan.dpi_x != f->scan.dpi_y)
        sf_result_note(result, "dpi: the picture has %g dpi across and %g dpi along; each axis is scaled by its own.",
                       f->scan.dpi_x, f->scan.dpi_y);
    if (f->scan.dpi_rounding > 1e-3)
        sf_result_note(result,
                       "dpi: the picture's tag (%s) is rounded to +-%.2f %%, which is carried in the scale. Give "
                       "the resolution it was scanned at with --dpi.",
                       f->scan.dpi_origin, 100 * f->scan.dpi_rounding);
    if (!f->scan.tone_stated)
        sf_result_assume(result, "The picture does not say how its values relate to light; they are taken as "
                                 "proportional to it.");
    if (ask->scan.scale_sd == SF_RING_SCAN_SCALE_SD)
        sf_result_assume(result, "The scanner is not calibrated: its scale is taken as known to 0.5 %% (95 %%). "
                                 "--calibration replaces it.");
}

static void set_limb_angles(sf_Result *result, const sf_RingFinding *f, const sf_RingAsk *ask)
{
    const sf_WallMap *w = &f->measure.wall;
    const double least = 2 * SF_PI * (double)w->min_station / SF_WALL_STATIONS;
    sf_Json *limb = sf_json_object();
    sf_json_set_number(limb, "seam_deg", sf_limb_angle(w->seam_angle, ask) / SF_DEG);
    sf_json_set_number(limb, "least_wall_deg", sf_limb_angle(least, ask) / SF_DEG);
    sf_json_set(result->json, "limb_angles", limb);
    if (isnan(ask->posterior_angle) || ask->side == SF_SIDE_UNKNOWN)
        sf_result_note(result, "limb_angles: null without the posterior line's picture angle (--posterior-deg) and the "
                               "side of the limb (--side).");
}

static void set_decision(sf_Result *result, const sf_RingFinding *f)
{
    const sf_RingDecision *d = &f->decision;
    sf_json_set_text(result->json, "decision", sf_verdict_word(d->verdict));
    sf_json_set_text(result->json, "decision_words", d->words);
    sf_json_set_text(result->json, "decision_basis", d->basis);
    sf_json_set_text(result->json, "evidence", d->evidence);
    sf_json_set_flag(result->json, "body_weight", d->body_weight);
    sf_Json *reasons = sf_json_array(), *causes = sf_json_array(), *sharpen = sf_json_array();
    for (size_t i = 0; i < d->reason_count; i++) {
        sf_Json *item = sf_json_object();
        sf_json_set_text(item, "code", d->reasons[i].code);
        sf_json_set_number(item, "value", d->reasons[i].value);
        sf_json_set_number(item, "limit", d->reasons[i].limit);
        sf_json_set_text(item, "unit", d->reasons[i].unit);
        sf_json_set_text(item, "text", d->reasons[i].text);
        sf_json_set_text(item, "decision", sf_verdict_word(d->reasons[i].verdict));
        sf_json_add(reasons, item);
    }
    for (size_t i = 0; i < d->cause_count; i++) {
        sf_Json *item = sf_json_object();
        sf_json_set_text(item, "code", d->causes[i].code);
        sf_json_set_text(item, "likelihood", d->causes[i].likelihood);
        sf_json_set_text(item, "text", d->causes[i].text);
        sf_json_add(causes, item);
    }
    for (size_t i = 0; i < d->sharpen_count; i++)
        sf_json_add_text(sharpen, d->sharpen[i]);
    sf_json_set(result->json, "reasons", reasons);
    sf_json_set(result->json, "causes", causes);
    sf_json_set(result->json, "sharpen", sharpen);
    sf_ring_strength_result(result, &f->strength, d);
}

static void set_squeeze(sf_Result *result, const sf_RingFinding *f, const sf_RingAsk *ask)
{
    const sf_Squeeze *s = ask->squeeze;
    if (!s) {
        sf_result_null(result, "squeeze", "no squeeze was given (--squeeze).");
        return;
    }
    const sf_SqueezeFinding *first = &s->findings[0];
    sf_Json *json = sf_json_object();
    sf_json_set_flag(json, "proves_inner_edge", s->proof == SF_PROOF_PASSED && !f->squeeze_of_another);
    sf_json_set_flag(json, "proves_whole_wall", s->whole_wall && !f->squeeze_of_another);
    sf_json_set_flag(json, "same_ring", !f->squeeze_of_another);
    sf_json_set_number(json, "seam_stress_mpa", first->seam_stress / SF_MPA);
    sf_json_set_number(json, "wanted_seam_stress_mpa", s->wanted_stress / SF_MPA);
    sf_json_set_number(json, "proof_load_n", first->proof_load);
    sf_json_set_number(json, "modulus_mpa", first->modulus / SF_MPA);
    sf_json_set_text(json, "words", f->proof_words);
    sf_json_set(result->json, "squeeze", json);
}

void sf_ring_result_ring(sf_Result *result, const sf_RingFinding *f, const sf_RingFinding *decided,
                         const sf_RingAsk *ask)
{
    set_picture(result, f, ask);
    set_limb_angles(result, f, ask);
    set_decision(result, decided);
    set_squeeze(result, decided, ask);
}
