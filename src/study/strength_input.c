// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_input.h"

#include "align/chain.h"
#include "base/alloc.h"
#include "base/units.h"
#include "study/limb_ring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Fractions of stature and the knee centre above the knee level: docs/theory/load-line.md names the sources.
static const double ankle_fraction = 0.042, knee_fraction = 0.285, knee_centre_above_level = 34 * SF_MM;
// What is taken when the document does not say; judgement, each named in the result.
static const double stature_assumed = 1.70, shoe_heel_assumed = 20 * SF_MM, grip_assumed = 30 * SF_MM;
static const double cut_assumed = 110 * SF_MM, free_length_assumed = 180 * SF_MM, tilt_assumed = 5 * SF_DEG;
static const double top_wall_share = 0.85; // of the ring's wall at the pylon's top; judgement until the shop calibrates

static double assumed(sf_Result *result, bool *provisional, double value, double fallback, const char *field,
                      const char *shown)
{
    if (!isnan(value))
        return value;
    sf_result_assume(result, "%s is not given: %s is taken; give the field to replace it", field, shown);
    *provisional = true;
    return fallback;
}

static sf_Status find_card(sf_StrengthInput *input, const sf_StrengthAsk *ask, sf_Result *result, sf_Error *err)
{
    const sf_LimbPylon *pylon = &input->limb->data.pylon;
    const char *name = ask->material ? ask->material : pylon->material;
    if (!name) {
        name = "pp-copolymer";
        sf_result_assume(result,
                         "pylon.material is not given: the card 'pp-copolymer' is taken; give the field to replace "
                         "it");
        input->provisional = true;
    }
    SF_TRY(sf_card_find(&input->card, name, err));
    const sf_LimbShopReadings *own = &pylon->measured;
    if (ask->material)
        return SF_OK;
    if (!isnan(own->modulus))
        sf_card_figure_replace(&input->card->modulus, own->modulus, own->by);
    if (!isnan(own->yield)) {
        double share = own->yield / input->card->yield.value;
        sf_card_figure_replace(&input->card->compressive_yield, share * input->card->compressive_yield.value, own->by);
        sf_card_figure_replace(&input->card->yield, own->yield, own->by);
    }
    if (!isnan(own->seam_factor))
        sf_card_figure_replace(&input->card->seam_factor, own->seam_factor, own->by);
    return SF_OK;
}

static int by_height(const void *a, const void *b)
{
    double x = ((const sf_LaidRing *)a)->height, y = ((const sf_LaidRing *)b)->height;
    return (x > y) - (x < y);
}

static void note_ring(sf_StrengthInput *input, const sf_LimbRingNews *news, size_t i, sf_Result *result)
{
    if (news->posterior_assumed) {
        sf_result_assume(result,
                         "pylon.rings[%zu].posterior_deg is not given: posterior is taken at the bottom of the "
                         "picture (270 degrees); give the field to replace it",
                         i);
        input->provisional = true;
    }
    if (news->face_assumed)
        sf_result_assume(result,
                         "pylon.rings[%zu].face is not given: the face that sat against the pylon (limb-side) is "
                         "taken; give the field to replace it",
                         i);
}

static sf_Status copy_outline(sf_Outline *out, const sf_Outline *ring, sf_Error *err)
{
    *out = (sf_Outline){ .line = ring->line, .line_searched = ring->line_searched, .doubt = ring->doubt };
    SF_TRY(sf_polygon_copy(&out->outer, &ring->outer, err));
    SF_TRY(sf_polygon_copy(&out->inner, &ring->inner, err));
    for (size_t i = 0; i < ring->void_count; i++) {
        SF_TRY(sf_polygon_copy(&out->voids[i], &ring->voids[i], err));
        out->void_count = i + 1;
    }
    return SF_OK;
}

static void learn_seam(sf_StrengthInput *input, const sf_Outline *outline, double said, bool picture)
{
    if (outline->line.present && isnan(input->seam))
        input->seam = atan2(outline->line.start.y, outline->line.start.x);
    if (!isnan(said) && !(picture && outline->line.present))
        input->seam = said;
}

// All rings as outlines in the limb frame, rising.
static sf_Status lay_rings(sf_StrengthInput *input, const sf_StrengthAsk *ask, double cut, sf_Result *result,
                           sf_Error *err)
{
    const sf_LimbPylon *pylon = &input->limb->data.pylon;
    size_t count = ask->ring ? 1 : pylon->ring_count;
    input->rings = sf_alloc(count, sizeof *input->rings);
    if (!input->rings)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
    if (ask->ring) {
        input->ring_count = 1;
        input->rings[0].height = cut;
        learn_seam(input, ask->ring, NAN, true);
        return copy_outline(&input->rings[0].outline, ask->ring, err);
    }
    for (size_t i = 0; i < count; i++) {
        sf_LimbRingNews news;
        input->rings[i].height = pylon->rings[i].height;
        SF_TRY(sf_limb_ring_outline(&input->rings[i].outline, &news, input->limb, i, err));
        input->ring_count = i + 1;
        note_ring(input, &news, i, result);
        learn_seam(input, &input->rings[i].outline, pylon->rings[i].seam, news.picture);
    }
    qsort(input->rings, count, sizeof *input->rings, by_height);
    return SF_OK;
}

// One ring becomes two: itself, and one at the top with the wall of the forming profile.
static sf_Status add_top_section(sf_BeamSection *section, const sf_Outline *ring, sf_Result *result, sf_Error *err)
{
    sf_Outline thin = { 0 };
    sf_TorsionRoute route;
    sf_Status status = sf_limb_ring_thinned(&thin, ring, top_wall_share, err);
    if (status == SF_OK)
        status = sf_beam_section_compute(section, &thin, &route, err);
    sf_outline_free(&thin);
    if (status == SF_OK)
        sf_result_assume(result,
                         "one ring only: the wall is taken 15 %% thinner at the pylon's top (judgement, forming not "
                         "calibrated); a second entry of pylon.rings replaces it, --prismatic keeps the ring's wall");
    return status;
}

// Sections of all rings by rising height.
static sf_Status measure_rings(sf_StrengthInput *input, const sf_StrengthAsk *ask, double top, double *heights,
                               sf_BeamSection *sections, size_t *count, sf_Result *result, sf_Error *err)
{
    for (size_t i = 0; i < input->ring_count; i++) {
        sf_TorsionRoute route;
        heights[i] = input->rings[i].height;
        SF_TRY(sf_beam_section_compute(&sections[i], &input->rings[i].outline, &route, err));
    }
    *count = input->ring_count;
    if (*count == 1 && !ask->prismatic && top > heights[0] + 1 * SF_MM) {
        SF_TRY(add_top_section(&sections[1], &input->rings[0].outline, result, err));
        heights[1] = top;
        *count = 2;
        input->top_wall_share = top_wall_share;
    }
    return SF_OK;
}

static sf_Status lay_pylon(sf_StrengthInput *input, const sf_StrengthAsk *ask, sf_Result *result, sf_Error *err)
{
    const sf_LimbData *d = &input->limb->data;
    sf_BeamSection sections[SF_RING_MAX];
    sf_BeamHole holes[SF_HOLE_MAX];
    double heights[SF_RING_MAX], lowest = INFINITY;
    size_t count = 0;
    for (size_t i = 0; i < d->pylon.ring_count; i++)
        lowest = fmin(lowest, d->pylon.rings[i].height);
    lowest = isfinite(lowest) ? lowest : cut_assumed;
    double cut = assumed(result, &input->provisional, d->pylon.cut_height, lowest, "pylon.cut_height_mm",
                         d->pylon.ring_count ? "the lowest ring's height" : "110 mm");
    double base = d->socket.distal_end_height;
    double top =
        assumed(result, &input->provisional, d->pylon.top_height, isnan(base) ? cut + free_length_assumed : base,
                "pylon.top_height_mm", isnan(base) ? "180 mm above the cut" : "socket.distal_end_height_mm");
    double grip = d->adapter.depth;
    if (isnan(grip) && ask->iso_axis)
        grip = 0;
    grip = assumed(result, &input->provisional, grip, grip_assumed, "adapter.depth_mm", "a grip of 30 mm");
    SF_TRY(lay_rings(input, ask, cut, result, err));
    SF_TRY(measure_rings(input, ask, top, heights, sections, &count, result, err));
    for (size_t i = 0; i < d->pylon.hole_count; i++) {
        holes[i] = (sf_BeamHole){ d->pylon.holes[i].height, d->pylon.holes[i].angle, d->pylon.holes[i].diameter };
        input->hole_of_limb[i] = i;
    }
    return sf_pylon_create(&input->pylon, cut, cut + grip, top, heights, sections, count, holes, d->pylon.hole_count,
                           err);
}

static double mean_wall(const sf_BeamSection *section)
{
    return 0.5 * (section->outer_diameter - section->inner_diameter);
}

sf_Status sf_strength_outline_at(sf_Outline *outline, const sf_StrengthInput *input, double height, sf_Error *err)
{
    const sf_LaidRing *nearest = &input->rings[0];
    for (size_t i = 1; i < input->ring_count; i++)
        if (fabs(input->rings[i].height - height) < fabs(nearest->height - height))
            nearest = &input->rings[i];
    const sf_PylonStation *at = &input->pylon.stations[0];
    for (size_t i = 1; i < input->pylon.station_count; i++)
        if (fabs(input->pylon.stations[i].height - height) < fabs(at->height - height))
            at = &input->pylon.stations[i];
    sf_BeamSection ring;
    sf_Section section;
    SF_TRY(sf_section_compute(&section, &nearest->outline, err));
    ring.outer_diameter = section.outer_diameter_mean;
    ring.inner_diameter = section.inner_diameter_mean;
    return sf_limb_ring_thinned(outline, &nearest->outline, mean_wall(&at->section) / mean_wall(&ring), err);
}

static double setting(double value)
{
    return isnan(value) ? 0 : value;
}

// The ankle centre in the pylon's frame, from the chain of the foot's settings.
static sf_Vector ankle_in_pylon(const sf_StrengthInput *input, double ankle_height, double base_height)
{
    const sf_LimbAlignment *a = &input->limb->data.alignment;
    sf_ChainSide side = input->limb->data.person.side == SF_LIMB_SIDE_LEFT ? SF_CHAIN_LEFT : SF_CHAIN_RIGHT;
    sf_Chain chain = {
        .side = side, .socket_height = base_height, .cut_height = input->pylon.cut, .ankle_height = ankle_height
    };
    sf_Settings settings = { { setting(a->toe_out), setting(a->foot_forward), setting(a->foot_outset),
                               setting(a->dorsiflexion), setting(a->eversion) } };
    sf_Stand stand = sf_chain_stand(&chain, &settings);
    sf_Vector ankle = sf_vector_sub((sf_Vector){ 0, 0, ankle_height }, stand.base);
    ankle = sf_rotation_apply(sf_rotation_inverse(stand.pylon), ankle);
    return (sf_Vector){ side * ankle.y, ankle.x, ankle.z + base_height };
}

static void lay_centres(sf_StrengthInput *input, sf_Result *result)
{
    const sf_LimbData *d = &input->limb->data;
    bool *p = &input->provisional;
    double heel = assumed(result, p, d->shoe.heel, shoe_heel_assumed, "shoe.heel_mm", "20 mm under the heel");
    double stature = assumed(result, p, d->person.stature, stature_assumed, "person.stature_mm", "1700 mm");
    double base = assumed(result, p, d->socket.distal_end_height, input->pylon.top, "socket.distal_end_height_mm",
                          "the pylon's top");
    double flexion = assumed(result, p, d->socket.flexion, tilt_assumed, "socket.flexion_deg", "5 degrees");
    double adduction = assumed(result, p, d->socket.adduction, tilt_assumed, "socket.adduction_deg", "5 degrees");
    sf_result_assume(result, "ankle centre at 0.042 of stature above the underside of the heel (ANSUR II)");
    double difference = d->person.target_difference, level = d->person.sound_knee_height, centre;
    if (!isnan(level)) {
        centre = level + heel + (isnan(difference) ? 0 : difference) + knee_centre_above_level;
    } else if (!isnan(d->person.prosthesis_knee_height)) {
        centre = d->person.prosthesis_knee_height + heel + knee_centre_above_level;
        sf_result_assume(result,
                         "person.sound_knee_height_mm is not given: person.prosthesis_knee_height_mm is taken for "
                         "the knee level; give the field to replace it");
    } else {
        centre = knee_fraction * stature + heel;
        sf_result_assume(result,
                         "no knee height is given: knee centre at 0.285 of stature above the underside of the heel; "
                         "give person.sound_knee_height_mm to replace it");
        *p = true;
    }
    if (!d->alignment.there)
        sf_result_assume(result,
                         "alignment is not given: all settings zero are taken; give the fields to replace them");
    double o = isnan(d->socket.base_offset[0]) ? 0 : d->socket.base_offset[0];
    double f = isnan(d->socket.base_offset[1]) ? 0 : d->socket.base_offset[1];
    input->centres.ankle = ankle_in_pylon(input, heel + ankle_fraction * stature, base);
    input->centres.knee =
        (sf_Vector){ o + (centre - base) * tan(adduction), f + (centre - base) * tan(flexion), centre };
}

sf_Status sf_strength_input_make(sf_StrengthInput *input, const sf_Limb *limb, const sf_StrengthAsk *ask,
                                 sf_Result *result, sf_Error *err)
{
    static const char *const needed[] = { "person.side", "person.body_mass_kg", "pylon.rings" };
    static const char *const needed_iso[] = { "pylon.cut_height_mm", "pylon.top_height_mm" };
    const sf_LimbPerson *person = &limb->data.person;
    sf_Status status;
    *input = (sf_StrengthInput){ .limb = limb, .seam = NAN, .top_wall_share = NAN };
    SF_TRY(sf_limb_need(limb, needed, ask->ring ? 2 : 3, "strength", err));
    if (ask->iso_axis)
        SF_TRY(sf_limb_need(limb, needed_iso, 2, "strength --iso-axis", err));
    input->mass = person->body_mass + (isnan(person->habitual_load) ? 0 : person->habitual_load);
    SF_TRY_DONE(sf_load_levels_create(&input->levels, err));
    SF_TRY_DONE(find_card(input, ask, result, err));
    SF_TRY_DONE(lay_pylon(input, ask, result, err));
    SF_TRY_DONE(sf_collapse_model_create(&input->model, &input->pylon, err));
    if (ask->iso_axis)
        input->centres = sf_line_centres_standard(&input->levels->height);
    else
        lay_centres(input, result);
done:
    if (status != SF_OK)
        sf_strength_input_free(input);
    return status;
}

void sf_strength_input_free(sf_StrengthInput *input)
{
    sf_load_levels_destroy(&input->levels);
    sf_card_destroy(&input->card);
    sf_collapse_model_free(&input->model);
    sf_pylon_free(&input->pylon);
    for (size_t i = 0; i < input->ring_count; i++)
        sf_outline_free(&input->rings[i].outline);
    sf_free(input->rings);
    input->rings = NULL;
    input->ring_count = 0;
}
