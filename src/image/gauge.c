// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/gauge.h"

#include "base/alloc.h"
#include "base/units.h"
#include "image/edge.h"
#include "image/resolution.h"
#include "num/lsq.h"

#include <math.h>

static const double MOST_OFF = 0.05;
static const double EDGE_SD_PIXELS = 0.08; // common to the whole edge, as for rings (docs/theory/ring.md)

// Axis-parallel ellipse through the outer edge: A x^2 + B y^2 + C x + D y = 1 about the centre, by least squares.
static sf_Status fit_ellipse(sf_Gauge *gauge, const sf_ScanEdges *e, sf_Error *err)
{
    sf_Status status;
    double scale = e->outer[0];
    double *a = sf_alloc(4 * e->rays, sizeof *a), *b = sf_alloc(e->rays, sizeof *b);
    if (!a || !b) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while measuring the gauge");
        goto done;
    }
    for (size_t k = 0; k < e->rays; k++) {
        double angle = sf_edges_angle(e, k), x = e->outer[k] * cos(angle) / scale, y = e->outer[k] * sin(angle) / scale;
        double *row = a + 4 * k;
        row[0] = x * x;
        row[1] = y * y;
        row[2] = x;
        row[3] = y;
        b[k] = 1;
    }
    SF_TRY_DONE(sf_lsq_solve(a, b, e->rays, 4, NULL, err));
    double cx = -b[2] / (2 * b[0]), cy = -b[3] / (2 * b[1]);
    double level = 1 + b[0] * cx * cx + b[1] * cy * cy;
    double rx = sqrt(level / b[0]), ry = sqrt(level / b[1]), sum = 0;
    for (size_t k = 0; k < e->rays; k++) {
        double angle = sf_edges_angle(e, k), x = e->outer[k] * cos(angle) / scale - cx;
        double y = e->outer[k] * sin(angle) / scale - cy;
        double off = (hypot(x / rx, y / ry) - 1) * 0.5 * (rx + ry) * scale;
        sum += off * off;
    }
    gauge->diameter_x = 2 * rx * scale;
    gauge->diameter_y = 2 * ry * scale;
    gauge->misfit = sqrt(sum / (double)e->rays);
done:
    sf_free(a);
    sf_free(b);
    return status;
}

static sf_Status judge(sf_Gauge *gauge, const char *name, double true_diameter, double pitch, sf_Error *err)
{
    gauge->factor_x = true_diameter / gauge->diameter_x;
    gauge->factor_y = true_diameter / gauge->diameter_y;
    gauge->scale_sd = hypot(2 * EDGE_SD_PIXELS * pitch, SF_GAUGE_SD) / true_diameter;
    if (!(gauge->misfit <= SF_GAUGE_MOST_MISFIT))
        return SF_FAIL(
            err, SF_E_INPUT, name,
            "the thing in %s is not round: its edge lies %.3f mm (rms) off an ellipse. Scan a clean round gauge", name,
            gauge->misfit / SF_MM);
    if (fabs(gauge->factor_x - 1) > MOST_OFF || fabs(gauge->factor_y - 1) > MOST_OFF)
        return SF_FAIL(
            err, SF_E_INPUT, name,
            "the gauge in %s scans as %.2f x %.2f mm, more than 5 %% off the %.2f mm it is said to be: check "
            "the gauge and the resolution",
            name, gauge->diameter_x / SF_MM, gauge->diameter_y / SF_MM, true_diameter / SF_MM);
    return SF_OK;
}

sf_Status sf_gauge_measure(sf_Gauge *gauge, const char *name, const uint8_t *bytes, size_t size, double dpi,
                           double true_diameter, sf_Error *err)
{
    *gauge = (sf_Gauge){ 0 };
    sf_Picture picture = { 0 };
    sf_ScanEdges edges = { 0 };
    sf_RingPlace *place = sf_alloc(1, sizeof *place);
    sf_Resolution resolution;
    sf_Status status;
    if (!place) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while measuring the gauge");
        goto done;
    }
    SF_TRY_DONE(sf_picture_read(&picture, name, bytes, size, err));
    SF_TRY_DONE(sf_resolution_settle(&resolution, &picture, name, dpi, err));
    gauge->dpi_x = resolution.dpi_x;
    gauge->dpi_y = resolution.dpi_y;
    sf_Raster raster = { picture.light, picture.width, picture.height, SF_INCH / resolution.dpi_x,
                         SF_INCH / resolution.dpi_y };
    SF_TRY_DONE(sf_ring_locate(place, &raster, true, name, err));
    SF_TRY_DONE(sf_scan_edges_measure(&edges, &raster, place, name, err));
    SF_TRY_DONE(fit_ellipse(gauge, &edges, err));
    status = judge(gauge, name, true_diameter, sf_raster_pitch(&raster), err);
done:
    sf_scan_edges_free(&edges);
    sf_picture_free(&picture);
    sf_free(place);
    return status;
}
