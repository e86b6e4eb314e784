// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_study.h"

#include "base/units.h"
#include "section/outline_table.h"

#include <math.h>
#include <stdio.h>

void sf_ring_finding_free(sf_RingFinding *finding)
{
    sf_ring_scan_free(&finding->scan);
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

sf_Status sf_ring_study(sf_RingFinding *f, sf_RingSource source, const char *name, const uint8_t *bytes, size_t size,
                        const sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err)
{
    *f = (sf_RingFinding){ .source = source };
    sf_Status status;
    SF_TRY_DONE(read_source(f, name, bytes, size, ask, err));
    SF_TRY_DONE(sf_ring_measure(&f->measure, &f->scan.outline, ask->seam_angle, err));
    SF_TRY_DONE(study_torsion(f, ask, err));
    sf_ring_figures_fill(&f->figures, &f->measure, &f->scan.outline.doubt, f->torsion_there ? &f->torsion : NULL,
                         f->torsion_missing, source != SF_RING_OUTLINE);
    sf_RingContext context = ask->context;
    context.source = source;
    if (limits)
        sf_ring_decide(&f->decision, &f->measure, &context, limits);
done:
    if (status != SF_OK)
        sf_ring_finding_free(f);
    return status;
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
