// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_picture.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "draw/ring_sheet.h"
#include "study/result.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

sf_Status sf_ring_picture_check(const char *path, sf_Error *err)
{
    sf_SheetKind kind;
    return sf_sheet_kind(&kind, path, err);
}

// Picture angle of the limb's outward direction, a quarter turn from posterior (sf_limb_angle turned round).
static double outward_angle(const sf_RingAsk *ask)
{
    if (isnan(ask->posterior_angle) || ask->side == SF_SIDE_UNKNOWN)
        return NAN;
    bool mirrored = (ask->side == SF_SIDE_LEFT) != (ask->face == SF_FACE_FOOT_SIDE);
    return ask->posterior_angle + (mirrored ? -90 : 90) * SF_DEG;
}

sf_Status sf_ring_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const char *name,
                               const sf_RingFinding *finding, size_t scans, const sf_RingAsk *ask,
                               const sf_RingLimits *limits, sf_Error *err)
{
    const char *slash = strrchr(name, '/');
    char program[64];
    snprintf(program, sizeof program, "standfast %s", sf_version());
    sf_RingContext context = ask->context;
    context.source = finding->source;
    const sf_RingSheet ring = {
        .name = slash ? slash + 1 : name,
        .program = program,
        .safety = sf_safety_sentence(),
        .view = &finding->scan.view,
        .dpi = finding->source == SF_RING_PICTURE ? finding->scan.dpi_x : NAN,
        .scans = scans,
        .outline = &finding->scan.outline,
        .measure = &finding->measure,
        .decision = &finding->decision,
        .limits = limits,
        .context = &context,
        .posterior_angle = ask->posterior_angle,
        .outward_angle = outward_angle(ask),
        .foot_side = ask->face == SF_FACE_FOOT_SIDE,
    };
    sf_Sheet *sheet = NULL;
    sf_Status status;
    *bytes = NULL;
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_ring_sheet_paint(sheet, &ring, err));
    SF_TRY_DONE(sf_sheet_finish(&sheet, bytes, size, err));
done:
    sf_sheet_destroy(&sheet);
    return status;
}

sf_Status sf_ring_picture_write(const char *path, const char *name, const sf_RingFinding *finding, size_t scans,
                                const sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err)
{
    sf_SheetKind kind;
    unsigned char *bytes = NULL;
    size_t size = 0;
    SF_TRY(sf_sheet_kind(&kind, path, err));
    SF_TRY(sf_ring_picture_draw(&bytes, &size, kind, name, finding, scans, ask, limits, err));
    sf_Status status = sf_file_write(path, bytes, size, err);
    sf_free(bytes);
    return status;
}
