// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/ring_scan.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "image/edge.h"
#include "image/hollow.h"
#include "image/resolution.h"
#include "image/seam_line.h"

#include <math.h>

// How far the edges may be off, 1 SD, as shares of a pixel: what reference pictures of known rings showed
// (docs/theory/ring.md).
static const double BIAS_ONE_PIXELS = 0.022, BIAS_BOTH_PIXELS = 0.075, PLACE_PIXELS = 0.075;
static const double LEAK_DOUBT = 0.5; // of the correction for light that leaks at the edge
// Edge errors that stay alike along the edge (saw marks, dust, the pixel grid) beside the scatter of single rays.
static const double RANDOM_PIXELS = 0.02, CORRELATION = 0.5 * SF_MM;
enum { VIEW_PIXELS = 1400 };

void sf_ring_scan_free(sf_RingScan *scan)
{
    sf_outline_free(&scan->outline);
    sf_free(scan->view.grey);
    *scan = (sf_RingScan){ 0 };
}

static sf_Status copy_edges(sf_Outline *outline, const sf_ScanEdges *edges, sf_Error *err)
{
    SF_TRY(sf_polygon_create(&outline->outer, edges->rays, err));
    SF_TRY(sf_polygon_create(&outline->inner, edges->rays, err));
    for (size_t k = 0; k < edges->rays; k++) {
        outline->outer.points[k] = sf_edges_place(edges, k, edges->outer[k]);
        outline->inner.points[k] = sf_edges_place(edges, k, edges->inner[k]);
    }
    return SF_OK;
}

static sf_Status check_size(const sf_ScanEdges *edges, const char *name, sf_Error *err)
{
    double across = 0, least = INFINITY, thin = INFINITY, thick = 0;
    for (size_t k = 0; k < edges->rays; k++) {
        double d = edges->outer[k] + edges->outer[(k + edges->rays / 2) % edges->rays];
        double wall = edges->outer[k] - edges->inner[k];
        across = fmax(across, d);
        least = fmin(least, d);
        thin = fmin(thin, wall);
        thick = fmax(thick, wall);
    }
    if (least < SF_RING_LEAST_ACROSS || across > SF_RING_MOST_ACROSS)
        return SF_FAIL(err, SF_E_INPUT, name,
                       "the ring in %s would be %.1f mm across; rings from 20 to 90 mm are measured. Check the "
                       "resolution",
                       name, (least < SF_RING_LEAST_ACROSS ? least : across) / SF_MM);
    if (thick < SF_RING_LEAST_WALL || thin > SF_RING_MOST_WALL)
        return SF_FAIL(
            err, SF_E_INPUT, name,
            "the ring in %s would have a wall of %.1f to %.1f mm; walls from 1.5 to 15 mm are measured. Check "
            "the resolution",
            name, thin / SF_MM, thick / SF_MM);
    return SF_OK;
}

static sf_EdgeDoubt doubt_of(const sf_ScanEdges *e, const sf_Raster *raster, const sf_RingScanOptions *options,
                             double dpi_rounding, double line_end_sd)
{
    double pitch = sf_raster_pitch(raster);
    double scatter = fmax(e->scatter_inner, e->scatter_outer);
    return (sf_EdgeDoubt){
        .bias_outer = hypot(BIAS_ONE_PIXELS * pitch, LEAK_DOUBT * e->leak_outer),
        .bias_inner = hypot(BIAS_ONE_PIXELS * pitch, LEAK_DOUBT * e->leak_inner),
        .bias_both = BIAS_BOTH_PIXELS * pitch,
        .place = PLACE_PIXELS * pitch,
        .random = hypot(RANDOM_PIXELS * pitch, 0.5 * scatter),
        .correlation = CORRELATION,
        .line_end = line_end_sd,
        .scale = hypot(options->scale_sd, dpi_rounding / sqrt(3)), // rounding is uniform
    };
}

// A grey copy of the ring's surroundings, brightened as the eye sees it (square root of light).
static sf_Status keep_view(sf_RingScan *scan, const sf_Raster *raster, const sf_ScanEdges *edges, sf_Error *err)
{
    double reach = 0;
    for (size_t k = 0; k < edges->rays; k++)
        reach = fmax(reach, edges->outer[k]);
    reach *= 1.12;
    sf_RingView *view = &scan->view;
    double pitch = fmax(sf_raster_pitch(raster), 2 * reach / VIEW_PIXELS);
    view->width = view->height = (size_t)(2 * reach / pitch);
    view->pitch_x = view->pitch_y = pitch;
    view->x0 = edges->centre.x - reach;
    view->y0 = edges->centre.y - reach;
    view->grey = sf_alloc(view->width * view->height, 1);
    if (!view->grey)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the picture of the ring");
    bool linear = scan->tone_stated;
    for (size_t row = 0; row < view->height; row++)
        for (size_t column = 0; column < view->width; column++) {
            sf_Point place = { view->x0 + ((double)column + 0.5) * pitch,
                               view->y0 + ((double)(view->height - row) - 0.5) * pitch };
            double light = sf_raster_light(raster, place) / 65535;
            view->grey[row * view->width + column] = (uint8_t)lround(255 * (linear ? sqrt(light) : light));
        }
    return SF_OK;
}

static sf_Status measure(sf_RingScan *scan, const sf_Raster *raster, const char *name,
                         const sf_RingScanOptions *options, sf_Error *err)
{
    sf_RingPlace *place = sf_alloc(1, sizeof *place);
    sf_ScanEdges edges = { 0 };
    double line_end_sd = 0;
    sf_Status status;
    if (!place) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while measuring the ring");
        goto done;
    }
    SF_TRY_DONE(sf_progress_tell(0.55, "read", err));
    SF_TRY_DONE(sf_ring_locate(place, raster, false, name, err));
    SF_TRY_DONE(sf_progress_tell(0.65, "ring located", err));
    SF_TRY_DONE(sf_scan_edges_measure(&edges, raster, place, name, err));
    SF_TRY_DONE(sf_progress_tell(0.8, "edges found", err));
    SF_TRY_DONE(check_size(&edges, name, err));
    SF_TRY_DONE(copy_edges(&scan->outline, &edges, err));
    SF_TRY_DONE(sf_seam_line_find(&scan->outline.line, &line_end_sd, &edges, raster, err));
    SF_TRY_DONE(sf_progress_tell(0.9, "seam searched", err));
    SF_TRY_DONE(sf_hollows_find(&scan->outline, &scan->voids_left_out, &edges, raster, &scan->outline.line, err));
    scan->outline.line_searched = true;
    scan->outline.doubt = doubt_of(&edges, raster, options, scan->dpi_rounding, line_end_sd);
    scan->light_ring = edges.light_ring;
    scan->blur = 0.5 * (edges.blur_inner + edges.blur_outer);
    scan->contrast = edges.contrast;
    size_t bridged = 0;
    for (size_t k = 0; k < edges.rays; k++)
        bridged += edges.doubtful_inner[k] + edges.doubtful_outer[k];
    scan->bridged = (double)bridged / (2.0 * (double)edges.rays);
    SF_TRY_DONE(sf_progress_tell(0.97, "voids searched", err));
    SF_TRY_DONE(sf_outline_check(&scan->outline, err));
    if (options->keep_view)
        SF_TRY_DONE(keep_view(scan, raster, &edges, err));
done:
    sf_scan_edges_free(&edges);
    sf_free(place);
    return status;
}

sf_Status sf_ring_scan_read(sf_RingScan *scan, const char *name, const uint8_t *bytes, size_t size,
                            const sf_RingScanOptions *options, sf_Error *err)
{
    *scan = (sf_RingScan){ 0 };
    sf_Picture picture = { 0 };
    sf_Status status;
    sf_ProgressPart outer = sf_progress_part(0, 0.55);
    status = sf_picture_read(&picture, name, bytes, size, err);
    sf_progress_end(outer);
    if (status != SF_OK)
        goto done;
    sf_Resolution resolution;
    SF_TRY_DONE(sf_resolution_settle(&resolution, &picture, name, options->dpi, err));
    scan->dpi_x = resolution.dpi_x;
    scan->dpi_y = resolution.dpi_y;
    scan->dpi_origin = resolution.origin;
    scan->dpi_rounding = resolution.rounding;
    scan->tone_stated = picture.tone_stated;
    scan->width = picture.width;
    scan->height = picture.height;
    scan->bits = picture.bits;
    sf_Raster raster = { picture.light, picture.width, picture.height, options->factor_x * SF_INCH / scan->dpi_x,
                         options->factor_y * SF_INCH / scan->dpi_y };
    status = measure(scan, &raster, name, options, err);
done:
    sf_picture_free(&picture);
    if (status != SF_OK)
        sf_ring_scan_free(scan);
    return status;
}
