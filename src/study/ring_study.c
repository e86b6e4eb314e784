// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_study.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "section/outline_table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double READING = 0.6;         // share of the work that finding the edges takes
static const double same_ring_share = 0.1; // a squeezed ring whose diameter is further off is another ring

void sf_ring_finding_free(sf_RingFinding *finding)
{
    sf_ring_scan_free(&finding->scan);
    if (finding->squeeze)
        sf_squeeze_free(finding->squeeze);
    sf_free(finding->squeeze);
    *finding = (sf_RingFinding){ 0 };
}

static sf_Status read_source(sf_RingFinding *f, const char *name, const uint8_t *bytes, size_t size,
                             const sf_RingAsk *ask, sf_Error *err)
{
    switch (f->source) {
    case SF_RING_PICTURE: return sf_ring_scan_read(&f->scan, name, bytes, size, &ask->scan, err);
    case SF_RING_CALIPER: return sf_outline_read_caliper(&f->scan.outline, name, (const char *)bytes, size, NULL, err);
    case SF_RING_OUTLINE: return sf_outline_read_csv(&f->scan.outline, name, (const char *)bytes, size, err);
    }
    return SF_FAIL(err, SF_E_INTERNAL, NULL, "unknown kind of ring");
}

// Torsion may be missing without spoiling the rest: the reason is kept.
static sf_Status study_torsion(sf_RingFinding *f, const sf_RingAsk *ask, sf_Error *err)
{
    sf_Error why = { 0 };
    if (!ask->torsion) {
        snprintf(f->torsion_missing, sizeof f->torsion_missing, "not asked for");
        return SF_OK;
    }
    sf_Status status = sf_torsion_compute(&f->torsion, &f->scan.outline, NULL, &why);
    f->torsion_there = status == SF_OK;
    if (status == SF_E_MEMORY)
        return SF_FAIL(err, status, NULL, "%s", why.text);
    if (status != SF_OK)
        snprintf(f->torsion_missing, sizeof f->torsion_missing, "%.180s", why.text);
    return SF_OK;
}

// Strength with this section and this person; its assumptions are dropped where nobody takes them.
static sf_Status study_strength(sf_RingFinding *f, const sf_RingAsk *ask, sf_Error *err)
{
    if (!ask->limb)
        return SF_OK;
    sf_Result scratch = { 0 };
    sf_Status status;
    if (!ask->result)
        SF_TRY(sf_result_begin(&scratch, err));
    status = sf_ring_strength_solve(&f->strength, ask->limb, &f->scan.outline, ask->posterior_angle,
                                    ask->face == SF_FACE_FOOT_SIDE, ask->result ? ask->result : &scratch, err);
    sf_result_drop(&scratch);
    if (status == SF_OK || status == SF_E_MEMORY || !ask->limb_may_lack)
        return status;
    if (ask->result)
        sf_result_note(ask->result, "strength: not computed: %s", err->text);
    f->strength = (sf_RingStrength){ 0 };
    return SF_OK;
}

// What the squeeze is worth for this ring.
static void study_squeeze(sf_RingFinding *f, const sf_RingAsk *ask, sf_RingContext *context)
{
    const sf_Squeeze *squeeze = f->squeeze ? f->squeeze : ask->squeeze;
    bool failed_before = context->proof == SF_PROOF_FAILED; // a seam that gave once is not mended by a press that held
    if (!squeeze || (failed_before && squeeze->proof != SF_PROOF_FAILED))
        return;
    double own = f->measure.section.outer_diameter_mean;
    double squeezed = squeeze->file.measure.section.outer_diameter_mean;
    f->squeeze_of_another = fabs(squeezed - own) > same_ring_share * own;
    if (f->squeeze_of_another) {
        snprintf(
            f->proof_words, sizeof f->proof_words,
            "The squeezed ring is %.1f mm across and this one %.1f mm: it is another ring and proves nothing here.",
            squeezed / SF_MM, own / SF_MM);
    } else {
        context->proof = squeeze->proof;
        sf_squeeze_words(f->proof_words, sizeof f->proof_words, squeeze);
    }
    context->proof_words = f->proof_words;
}

// How this ring was pressed, on the outline that was measured of it.
static sf_Status study_pressed(sf_RingFinding *f, const sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err)
{
    if (!ask->pressed || !limits)
        return SF_OK;
    f->squeeze = sf_alloc(1, sizeof *f->squeeze);
    if (!f->squeeze)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    return sf_squeeze_study_of(f->squeeze, &f->scan.outline, "squeeze", ask->pressed, strlen(ask->pressed), limits,
                               err);
}

sf_Status sf_ring_study(sf_RingFinding *f, sf_RingSource source, const char *name, const uint8_t *bytes, size_t size,
                        const sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err)
{
    *f = (sf_RingFinding){ .source = source };
    sf_Status status;
    sf_ProgressPart outer = sf_progress_part(0, READING);
    status = read_source(f, name, bytes, size, ask, err);
    sf_progress_end(outer);
    if (status != SF_OK)
        goto done;
    SF_TRY_DONE(sf_progress_tell(READING, "edges found", err));
    SF_TRY_DONE(sf_ring_measure(&f->measure, &f->scan.outline, ask->seam_angle, err));
    SF_TRY_DONE(sf_progress_tell(0.7, "measured", err));
    SF_TRY_DONE(study_torsion(f, ask, err));
    SF_TRY_DONE(sf_progress_tell(0.85, "torsion", err));
    sf_ring_figures_fill(&f->figures, &f->measure, &f->scan.outline.doubt, f->torsion_there ? &f->torsion : NULL,
                         f->torsion_missing, source != SF_RING_OUTLINE);
    outer = sf_progress_part(0.85, 0.95);
    status = study_strength(f, ask, err);
    sf_progress_end(outer);
    if (status != SF_OK)
        goto done;
    SF_TRY_DONE(sf_progress_tell(0.95, "strength", err));
    sf_RingContext context = ask->context;
    context.source = source;
    context.load = f->strength.there ? &f->strength.load : NULL;
    SF_TRY_DONE(study_pressed(f, ask, limits, err));
    study_squeeze(f, ask, &context);
    if (limits)
        sf_ring_decide(&f->decision, &f->measure, &context, limits);
done:
    if (status != SF_OK)
        sf_ring_finding_free(f);
    return status;
}

static double fill(double value, double known)
{
    return isnan(value) ? known : value;
}

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

// The document's entry of this very picture.
static const sf_LimbRing *entry_of(const sf_LimbPylon *pylon, const char *picture)
{
    for (size_t i = 0; picture && i < pylon->ring_count; i++)
        if (pylon->rings[i].image && strcmp(base_name(pylon->rings[i].image), base_name(picture)) == 0)
            return &pylon->rings[i];
    return NULL;
}

static sf_Model model_of(sf_LimbDryness dryness)
{
    switch (dryness) {
    case SF_LIMB_DRYNESS_DRY: return SF_MODEL_DRY;
    case SF_LIMB_DRYNESS_DAMP: return SF_MODEL_DAMP;
    case SF_LIMB_DRYNESS_WET: return SF_MODEL_WET;
    case SF_LIMB_DRYNESS_NONE: break;
    }
    return SF_MODEL_UNKNOWN;
}

sf_Status sf_ring_ask_limb(sf_RingAsk *ask, const sf_Limb *limb, const char *picture, bool face_said, sf_Error *err)
{
    const sf_LimbData *d = &limb->data;
    sf_Side side = d->person.side == SF_LIMB_SIDE_LEFT    ? SF_SIDE_LEFT
                   : d->person.side == SF_LIMB_SIDE_RIGHT ? SF_SIDE_RIGHT
                                                          : SF_SIDE_UNKNOWN;
    if (ask->side != SF_SIDE_UNKNOWN && side != SF_SIDE_UNKNOWN && ask->side != side)
        return SF_FAIL(err, SF_E_USAGE, NULL,
                       "--side says %s and the limb file %s: leave --side out, or name the other limb",
                       ask->side == SF_SIDE_LEFT ? "left" : "right", side == SF_SIDE_LEFT ? "left" : "right");
    ask->limb = limb;
    ask->side = side == SF_SIDE_UNKNOWN ? ask->side : side;
    sf_RingContext *c = &ask->context;
    c->body_mass = fill(c->body_mass, d->person.body_mass);
    c->nominal_wall = fill(c->nominal_wall, d->pylon.expected_wall);
    c->shank = fill(c->shank, d->adapter.shank);
    c->rim = fill(c->rim, d->adapter.rim);
    c->oven_c = fill(c->oven_c, d->pylon.forming.oven_c);
    c->vacuum_s = fill(c->vacuum_s, d->pylon.forming.vacuum_time);
    c->model = c->model == SF_MODEL_UNKNOWN ? model_of(d->pylon.forming.model) : c->model;
    const sf_LimbRing *entry = entry_of(&d->pylon, picture);
    if (entry) {
        ask->posterior_angle = fill(ask->posterior_angle, entry->posterior);
        if (!face_said && entry->face != SF_LIMB_FACE_NONE)
            ask->face = entry->face == SF_LIMB_FACE_FOOT_SIDE ? SF_FACE_FOOT_SIDE : SF_FACE_LIMB_SIDE;
        if (!(ask->scan.dpi > 0) && !isnan(entry->dpi))
            ask->scan.dpi = entry->dpi;
    }
    return SF_OK;
}

double sf_limb_angle(double picture_angle, const sf_RingAsk *ask)
{
    if (isnan(ask->posterior_angle) || ask->side == SF_SIDE_UNKNOWN || isnan(picture_angle))
        return NAN;
    bool mirrored = (ask->side == SF_SIDE_LEFT) != (ask->face == SF_FACE_FOOT_SIDE);
    double difference = picture_angle - ask->posterior_angle;
    double angle = (mirrored ? -difference : difference) + 270 * SF_DEG;
    angle = fmod(angle, 2 * SF_PI);
    angle = angle < 0 ? angle + 2 * SF_PI : angle;
    return angle > 2 * SF_PI - 1e-9 ? 0 : angle; // else it would be printed as 360
}
