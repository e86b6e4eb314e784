// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_ring.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "image/ring_scan.h"
#include "section/outline_table.h"
#include "section/properties.h"
#include "study/calibration.h"

#include <math.h>
#include <string.h>

enum { FORM_POINTS = 720, MAX_FILE = 128 * 1024 * 1024 };

static const double through_ligament = 0.3 * SF_MM; // less than this left outside a line holds next to nothing

static double or_zero(double value)
{
    return isnan(value) ? 0 : value;
}

static sf_Point polar(double r, double angle)
{
    return (sf_Point){ r * cos(angle), r * sin(angle) };
}

static double bore_radius(const sf_LimbRing *ring, double angle)
{
    double r = 0.5 * ring->inner_diameter, depth = or_zero(ring->groove_depth), width = or_zero(ring->groove_width);
    if (depth > 0) {
        double s = r * remainder(angle - ring->seam, 2 * SF_PI);
        if (fabs(s) < 0.5 * width)
            r += 0.5 * depth * (1 + cos(2 * SF_PI * s / width));
    }
    return r;
}

static void set_line(sf_Outline *outline, sf_Point start, double angle, double length)
{
    double left = sf_polygon_ray_last(&outline->outer, start, angle);
    outline->line.present = length > 0;
    outline->line.through = left - length < through_ligament;
    outline->line.start = start;
    outline->line.end = sf_point_add(start, polar(outline->line.through ? left : length, angle));
}

sf_Status sf_limb_ring_form(sf_Outline *outline, const sf_LimbRing *ring, sf_Error *err)
{
    sf_Status status;
    sf_Point centre = { or_zero(ring->offset[0]), or_zero(ring->offset[1]) };
    *outline = (sf_Outline){ .line_searched = true, .doubt = { .bias_outer = ring->outer_doubt } };
    SF_TRY_DONE(sf_polygon_create(&outline->outer, FORM_POINTS, err));
    SF_TRY_DONE(sf_polygon_create(&outline->inner, FORM_POINTS, err));
    for (size_t i = 0; i < FORM_POINTS; i++) {
        double a = 2 * SF_PI * (double)i / FORM_POINTS;
        outline->outer.points[i] = polar(0.5 * ring->outer_diameter, a);
        outline->inner.points[i] = sf_point_add(centre, polar(bore_radius(ring, a), a));
    }
    if (or_zero(ring->unjoined_depth) > 0)
        set_line(outline, sf_point_add(centre, polar(bore_radius(ring, ring->seam), ring->seam)), ring->seam,
                 ring->unjoined_depth);
    SF_TRY_DONE(sf_outline_check(outline, err));
done:
    if (status != SF_OK)
        sf_outline_free(outline);
    return status;
}

sf_Status sf_limb_ring_thinned(sf_Outline *outline, const sf_Outline *ring, double share, sf_Error *err)
{
    sf_Status status;
    sf_Point centre = sf_polygon_centroid(&ring->inner);
    *outline = (sf_Outline){ .line_searched = ring->line_searched, .doubt = ring->doubt };
    SF_TRY_DONE(sf_polygon_copy(&outline->outer, &ring->outer, err));
    SF_TRY_DONE(sf_polygon_copy(&outline->inner, &ring->inner, err));
    for (size_t i = 0; i < outline->inner.count; i++) {
        sf_Point from = sf_point_sub(ring->inner.points[i], centre);
        double r = sf_point_length(from), angle = atan2(from.y, from.x);
        double rim = sf_polygon_ray_last(&ring->outer, centre, angle);
        outline->inner.points[i] = sf_point_add(centre, polar(rim - share * (rim - r), angle));
    }
    if (ring->line.present) {
        sf_Point from = sf_point_sub(ring->line.start, centre);
        double angle = atan2(from.y, from.x), rim = sf_polygon_ray_last(&ring->outer, centre, angle);
        double start = rim - share * (rim - sf_point_length(from));
        double length = share * sf_point_distance(ring->line.start, ring->line.end);
        set_line(outline, sf_point_add(centre, polar(start, angle)), angle, length);
    }
    SF_TRY_DONE(sf_outline_check(outline, err));
done:
    if (status != SF_OK)
        sf_outline_free(outline);
    return status;
}

// The whole ring turned by `turn` after mirroring x when asked, its outer curve's centre put on the axis.
static void place(sf_Outline *outline, bool mirror, double turn)
{
    sf_Polygon *all[2 + SF_OUTLINE_MAX_VOIDS] = { &outline->outer, &outline->inner };
    size_t count = 2;
    for (size_t i = 0; i < outline->void_count; i++)
        all[count++] = &outline->voids[i];
    sf_Point centre = sf_polygon_centroid(&outline->outer), *ends[] = { &outline->line.start, &outline->line.end };
    double c = cos(turn), s = sin(turn);
    for (size_t k = 0; k < count + 2; k++) {
        sf_Point *points = k < count ? all[k]->points : ends[k - count];
        size_t n = k < count ? all[k]->count : 1;
        for (size_t i = 0; i < n; i++) {
            sf_Point p = sf_point_sub(points[i], centre);
            p.x = mirror ? -p.x : p.x;
            points[i] = (sf_Point){ c * p.x - s * p.y, s * p.x + c * p.y };
        }
        if (k < count && mirror)
            sf_polygon_reverse(all[k]);
    }
}

// Right limb, limb-side face: limb angle = picture angle - posterior + 270 degrees; a left limb or the foot-side face
// mirrors the difference, both together cancel.
void sf_limb_ring_place(sf_Outline *outline, double posterior, bool foot_side, sf_LimbSide side)
{
    bool mirror = (side == SF_LIMB_SIDE_LEFT) != foot_side;
    double behind = 270 * SF_DEG;
    // Mirrored x turns a picture angle p into 180 degrees - p.
    place(outline, mirror, mirror ? behind + posterior - SF_PI : behind - posterior);
}

static sf_Status read_picture(sf_Outline *outline, const sf_Limb *limb, const sf_LimbRing *ring, const char *path,
                              const unsigned char *bytes, size_t size, sf_Error *err)
{
    sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
    sf_RingScan scan;
    options.dpi = or_zero(ring->dpi);
    if (ring->calibration) {
        sf_Calibration calibration;
        const char *file = sf_limb_path(limb, ring->calibration);
        if (!file)
            return SF_FAIL(err, SF_E_MEMORY, path, "out of memory while reading %s", path);
        SF_TRY(sf_calibration_load(&calibration, file, err));
        options.factor_x = calibration.factor_x;
        options.factor_y = calibration.factor_y;
        options.scale_sd = calibration.scale_sd;
    }
    SF_TRY(sf_ring_scan_read(&scan, path, bytes, size, &options, err));
    *outline = scan.outline;
    scan.outline = (sf_Outline){ 0 };
    sf_ring_scan_free(&scan);
    return SF_OK;
}

static sf_Status read_file(sf_Outline *outline, const sf_Limb *limb, const sf_LimbRing *ring, sf_Error *err)
{
    const char *name = ring->image ? ring->image : ring->outline ? ring->outline : ring->caliper;
    const char *path = sf_limb_path(limb, name);
    if (!path)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    unsigned char *bytes = NULL;
    size_t size = 0;
    SF_TRY(sf_file_read(path, MAX_FILE, &bytes, &size, err));
    sf_Status status;
    if (ring->image)
        status = read_picture(outline, limb, ring, path, bytes, size, err);
    else if (ring->outline)
        status = sf_outline_read_csv(outline, path, (const char *)bytes, size, err);
    else
        status = sf_outline_read_caliper(outline, path, (const char *)bytes, size, NULL, err);
    sf_free(bytes);
    return status;
}

sf_Status sf_limb_ring_outline(sf_Outline *outline, sf_LimbRingNews *news, const sf_Limb *limb, size_t index,
                               sf_Error *err)
{
    const sf_LimbRing *ring = &limb->data.pylon.rings[index];
    *news = (sf_LimbRingNews){ .picture = ring->image,
                               .outline = ring->outline || ring->outline_csv,
                               .caliper = ring->caliper };
    *outline = (sf_Outline){ 0 };
    if (!ring->image && !ring->outline && !ring->outline_csv && !ring->caliper) {
        news->form = true;
        return sf_limb_ring_form(outline, ring, err);
    }
    SF_TRY(ring->outline_csv
               ? sf_outline_read_csv(outline, "outline_csv", ring->outline_csv, strlen(ring->outline_csv), err)
               : read_file(outline, limb, ring, err));
    bool marked = !isnan(ring->posterior);
    news->posterior_assumed = ring->image && !marked;
    news->face_assumed = (ring->image || marked) && ring->face == SF_LIMB_FACE_NONE;
    if (ring->image || marked)
        sf_limb_ring_place(outline, marked ? ring->posterior : 270 * SF_DEG, ring->face == SF_LIMB_FACE_FOOT_SIDE,
                           limb->data.person.side);
    else
        place(outline, false, 0);
    return SF_OK;
}

void sf_limb_ring_diameters(const sf_LimbRing *ring, double *outer, double *inner)
{
    sf_Section section;
    *outer = ring->outer_diameter;
    *inner = ring->inner_diameter;
    sf_Outline *outline = ring->outline_csv ? sf_alloc(1, sizeof *outline) : NULL;
    if (!outline)
        return;
    if (sf_outline_read_csv(outline, "outline_csv", ring->outline_csv, strlen(ring->outline_csv), NULL) == SF_OK &&
        sf_section_compute(&section, outline, NULL) == SF_OK) {
        *outer = section.outer_diameter_mean;
        *inner = section.inner_diameter_mean;
    }
    sf_outline_free(outline);
    sf_free(outline);
}
