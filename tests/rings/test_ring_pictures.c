// SPDX-License-Identifier: GPL-3.0-or-later
// The generator of ring pictures is what the measuring is judged against, so it is held against closed forms, against
// its own picture by a second route (light summed over pixels), and against the libraries that read its files.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "ring_curve.h"
#include "ring_dice.h"
#include "ring_encode.h"
#include "ring_paint.h"
#include "ring_sets.h"
#include "ring_spoil.h"
#include "ring_truth.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <jpeglib.h>
#include <png.h>
#include <tiffio.h>

#define QUADRATURE TAP_TOLERANCE("settled quadrature", 1e-9, 1e-9)
#define LIGHT      TAP_TOLERANCE("floats summed over the pixels", 1e-5, 0.0)
#define PLACE      TAP_TOLERANCE("floats summed over the pixels, place in mm", 0.0, 2e-4)
#define PRINTED    TAP_TOLERANCE("five printed decimals and a fitted groove width", 0.0, 5e-4)
#define PRINTED_I  TAP_TOLERANCE("fitted groove width, second moments", 2e-6, 0.1)

static sf_Truth truth_of(const sf_Scene *s)
{
    sf_Truth t = { 0 };
    TAP_OK(sf_truth_find(s, &t, NULL));
    return t;
}

// ---- truth -----------------------------------------------------------------------------------------------------

TAP_CASE(plain_ring_equals_closed_forms)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 50;
    s.wall_mm = 6;
    const double i = SF_PI / 64 * (pow(50, 4) - pow(38, 4));
    const sf_Truth t = truth_of(&s);
    TAP_NEAR(t.area_mm2, SF_PI / 4 * (50.0 * 50 - 38.0 * 38), QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.ix_mm4, i, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.iy_mm4, i, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.ixy_mm4, 0.0, TAP_TOLERANCE("rounding of moments", 0.0, 1e-6), TAP_CLOSED_FORM);
    TAP_NEAR(t.torsion_constant_mm4, 2 * i, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.wall_min_mm, 6, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.wall_max_mm, 6, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.inscribed_diameter_mm, 38, TAP_TOLERANCE("2048 points on the circle", 1e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(t.circumscribed_diameter_mm, 50, TAP_TOLERANCE("2048 points on the circle", 1e-6, 0), TAP_CLOSED_FORM);
    TAP_TRUE(isnan(t.principal_deg) && isnan(t.seam_direction_deg) && isnan(t.wall_at_seam_mm));
    TAP_NEAR(t.groove_depth_mm, 0, TAP_EXACT, TAP_CLOSED_FORM);
}

TAP_CASE(eccentric_bore_equals_parallel_axes)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 46;
    s.wall_mm = 5;
    s.eccentricity_mm = 1.5;
    s.eccentricity_deg = 30;
    const double ao = SF_PI * 23 * 23, ai = SF_PI * 18 * 18, a = ao - ai, ex = 1.5 * cos(30 * SF_DEG), ey = 0.75;
    const double cx = -ai * ex / a, cy = -ai * ey / a;
    const double ix = SF_PI / 4 * (pow(23, 4) - pow(18, 4)) - ai * ey * ey - a * cy * cy;
    const double ixy = -ai * ex * ey - a * cx * cy;
    const sf_Truth t = truth_of(&s);
    TAP_NEAR(t.centroid_mm[0], s.centre_x_mm + cx, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.centroid_mm[1], s.centre_y_mm + cy, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.ix_mm4, ix, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.ixy_mm4, ixy, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.principal_deg, 30, TAP_TOLERANCE("angle of an axis", 0, 1e-6), TAP_CLOSED_FORM);
    TAP_NEAR(t.wall_min_mm, 3.5, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.wall_max_mm, 6.5, QUADRATURE, TAP_CLOSED_FORM);
}

TAP_CASE(wavy_curve_equals_its_fourier_sums)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 44;
    s.wall_mm = 5;
    s.oval_mm = 0.8;
    s.oval_deg = 17;
    s.wave3_mm = 0.3;
    // r = R + a cos 2p (+ b cos 3p inside): int r^2/2 dp and int r^4/4 dp over the circle, term by term.
    const double R = 22, r = 17, a = 0.8, b = 0.3;
    const double area = SF_PI * (R * R + a * a / 2) - SF_PI * (r * r + (a * a + b * b) / 2);
    const double outer = SF_PI / 2 * (pow(R, 4) + 3 * R * R * a * a + 3 * pow(a, 4) / 8);
    const double inner =
        SF_PI / 2 * (pow(r, 4) + 3 * r * r * (a * a + b * b) + 3.0 / 8 * (pow(a, 4) + pow(b, 4)) + 1.5 * a * a * b * b);
    const sf_Truth t = truth_of(&s);
    TAP_NEAR(t.area_mm2, area, QUADRATURE, TAP_CLOSED_FORM);
    const double shift = hypot(t.centroid_mm[0] - s.centre_x_mm, t.centroid_mm[1] - s.centre_y_mm);
    TAP_NEAR(t.ix_mm4 + t.iy_mm4 + area * shift * shift, outer - inner, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.ovality_percent, 100 * 4 * 0.8 / 44, TAP_TOLERANCE("caliper over a wave, second order", 1e-3, 0),
             TAP_CLOSED_FORM);
}

TAP_CASE(voids_are_taken_off)
{
    sf_Scene s, whole;
    sf_scene_defaults(&s);
    whole = s;
    s.void_count = 1;
    s.voids[0] = (sf_SceneVoid){ .angle_deg = 90, .share = 0.5, .long_mm = 2, .short_mm = 1 };
    const sf_Truth t = truth_of(&s), w = truth_of(&whole);
    const double hole = SF_PI / 4 * 2 * 1, y = 22 - 5.5 / 2, a = w.area_mm2 - hole, cy = -hole * y / a;
    TAP_NEAR(t.area_mm2, a, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.void_area_mm2, hole, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.centroid_mm[1], s.centre_y_mm + cy, QUADRATURE, TAP_CLOSED_FORM);
    // The long axis lies along the tangent, here along x.
    TAP_NEAR(t.ix_mm4, w.ix_mm4 - SF_PI / 64 * 2 - hole * y * y - a * cy * cy, QUADRATURE, TAP_CLOSED_FORM);
    TAP_NEAR(t.outer_diameter_mean_mm, 44, QUADRATURE, TAP_CLOSED_FORM);
}

/// An off-centre ring that another, unrelated generator drew: its printed figures pin down what the wall, seam and
/// groove figures mean (least wall within 12 degrees, median of both sides together).
TAP_CASE(agrees_with_a_second_generator)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 46;
    s.wall_mm = 5.2;
    s.eccentricity_mm = hypot(1.3, 0.9);
    s.eccentricity_deg = atan2(0.9, 1.3) / SF_DEG;
    s.groove_mm = 0.5;
    s.groove_width_mm = 1.4141;
    s.seam_deg = 275;
    s.centre_x_mm = 35;
    s.centre_y_mm = 34.97700;
    const sf_Truth t = truth_of(&s);
    const tap_Origin second = TAP_SOURCE("printed figures of a second, unrelated ring generator (invented ring)");
    TAP_NEAR(t.area_mm2, 664.73022, TAP_TOLERANCE("fitted groove width, area", 0, 5e-3), second);
    TAP_NEAR(t.ix_mm4, 138494.63302, PRINTED_I, second);
    TAP_NEAR(t.iy_mm4, 136703.0223, PRINTED_I, second);
    TAP_NEAR(t.ixy_mm4, -2769.53718, TAP_TOLERANCE("fitted groove width, product", 0, 0.3), second);
    TAP_NEAR(t.principal_deg, 36.03811, TAP_TOLERANCE("fitted groove width, angle", 0, 5e-3), second);
    TAP_NEAR(t.centroid_mm[0], 33.0456, PRINTED, second);
    TAP_NEAR(t.centroid_mm[1], 33.675, PRINTED, second);
    TAP_NEAR(t.wall_min_mm, 3.61887, PRINTED, second);
    TAP_NEAR(t.wall_median_mm, 5.13132, PRINTED, second);
    TAP_NEAR(t.wall_max_mm, 6.78114, PRINTED, second);
    TAP_NEAR(t.wall_min_off_seam_mm, 3.61887, PRINTED, second);
    TAP_NEAR(t.wall_at_seam_mm, 5.41632, PRINTED, second);
    TAP_NEAR(t.groove_depth_mm, 0.48567, PRINTED, second);
    TAP_NEAR(t.inner_diameter_mean_mm, 35.632, PRINTED, second);
    TAP_NEAR(t.seam_direction_deg, 275, TAP_TOLERANCE("seen from the bore's centroid", 0, 0.2), second);
}

/// The largest circle in an oval bore is its short axis across, the least round an oval its long one; with a third
/// harmonic alone three lobes touch both.
TAP_CASE(touching_circles)
{
    const tap_Tolerance points = TAP_TOLERANCE("2048 points on the curve, search to 1e-6 mm", 2e-6, 0);
    sf_Scene s;
    sf_scene_defaults(&s);
    s.oval_mm = 0.4;
    s.oval_deg = 33;
    sf_Truth t = truth_of(&s);
    TAP_NEAR(t.inscribed_diameter_mm, 33 - 0.8, points, TAP_CLOSED_FORM);
    TAP_NEAR(t.circumscribed_diameter_mm, 44 + 0.8, points, TAP_CLOSED_FORM);
    sf_scene_defaults(&s);
    s.outer_wave_mm = s.wave3_mm = 0.25;
    s.outer_wave_deg = 10;
    s.eccentricity_mm = 0.7;
    s.eccentricity_deg = 100;
    t = truth_of(&s);
    TAP_NEAR(t.inscribed_diameter_mm, 33 - 0.5, points, TAP_CLOSED_FORM);
    TAP_NEAR(t.circumscribed_diameter_mm, 44 + 0.5, points, TAP_CLOSED_FORM);
}

TAP_CASE(line_lengths)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.seam_deg = 30;
    s.line_mm = 2.5;
    TAP_NEAR(truth_of(&s).seam_unjoined_depth_mm, 2.5, TAP_TIGHT, TAP_CLOSED_FORM);
    s.line_mm = -1;
    TAP_NEAR(truth_of(&s).seam_unjoined_depth_mm, 5.5, TAP_TIGHT, TAP_CLOSED_FORM);
    s.line_slant_deg = 20; // from (16.5, 0) along 20 degrees to the circle of 22
    const double c = 16.5 * cos(20 * SF_DEG);
    TAP_NEAR(truth_of(&s).seam_unjoined_depth_mm, -c + sqrt(c * c - 16.5 * 16.5 + 22 * 22.0), TAP_TIGHT,
             TAP_CLOSED_FORM);
}

TAP_CASE(impossible_rings_are_refused)
{
    sf_Scene s;
    sf_Truth t;
    sf_scene_defaults(&s);
    s.eccentricity_mm = 5.5;
    TAP_STATUS(sf_truth_find(&s, &t, NULL), SF_E_GEOMETRY);
    sf_scene_defaults(&s);
    s.void_count = 1;
    s.voids[0] = (sf_SceneVoid){ .angle_deg = 10, .share = 0.2, .long_mm = 3, .short_mm = 3 };
    TAP_STATUS(sf_truth_find(&s, &t, NULL), SF_E_GEOMETRY);
}

// ---- picture ---------------------------------------------------------------------------------------------------

typedef struct Sum {
    double light, x, y;
} Sum;

/// Light above the ground, in mm^2 of full contrast, and its centre in mm from the lower left corner.
static Sum sum_light(const sf_Scene *s)
{
    sf_Field f = { 0 };
    Sum sum = { 0, 0, 0 };
    TAP_OK(sf_paint_scene(s, &f, NULL));
    const double pixel = 25.4 / s->dpi;
    for (size_t r = 0; r < f.rows; r++)
        for (size_t c = 0; c < f.columns; c++) {
            const double v = ((double)f.value[r * f.columns + c] - s->ground) / (s->face - s->ground);
            sum.light += v;
            sum.x += v * ((double)c + 0.5);
            sum.y += v * ((double)(f.rows - r) - 0.5);
        }
    sf_field_destroy(&f);
    sum.x *= pixel / sum.light;
    sum.y *= pixel / sum.light;
    sum.light *= pixel * pixel;
    return sum;
}

static void check_light(const sf_Scene *s)
{
    const sf_Truth t = truth_of(s);
    const Sum sum = sum_light(s);
    TAP_NEAR(sum.light, t.area_mm2, LIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sum.x, t.centroid_mm[0], PLACE, TAP_CLOSED_FORM);
    TAP_NEAR(sum.y, t.centroid_mm[1], PLACE, TAP_CLOSED_FORM);
}

static sf_Scene lumpy(void)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 39.7;
    s.wall_mm = 5.1;
    s.groove_mm = 1.2;
    s.seam_deg = 251;
    s.eccentricity_mm = 0.6;
    s.eccentricity_deg = 77;
    s.square_mm = 0.25;
    s.bump_mm = 0.3;
    s.void_count = 2;
    s.voids[0] = (sf_SceneVoid){ .angle_deg = 40, .share = 0.5, .long_mm = 1.6, .short_mm = 0.8, .tilt_deg = 12 };
    s.voids[1] = (sf_SceneVoid){ .angle_deg = 160, .share = 0.4, .long_mm = 0.5, .short_mm = 0.5 };
    s.dpi = 300;
    s.width_mm = 57.3;
    s.height_mm = 52.9;
    s.centre_x_mm = 29.137;
    s.centre_y_mm = 26.71;
    return s;
}

TAP_CASE(light_summed_over_pixels_is_the_area)
{
    sf_Scene s = lumpy();
    check_light(&s);
    s.dpi = 150;
    check_light(&s);
    s.blur_px = 1.3; // a blur moves light and loses none
    check_light(&s);
    s.face = 0.1; // inked
    s.ground = 0.9;
    check_light(&s);
}

/// A jagged picture (each pixel full or empty) would also sum to nearly the right area; its edge pixels would not be
/// grey by the right share. Against 64 x 64 samples per pixel of the formulas.
TAP_CASE(edge_pixels_hold_the_covered_share)
{
    sf_Scene s = lumpy();
    s.void_count = 0;
    s.dpi = 150;
    sf_Field f = { 0 };
    TAP_OK(sf_paint_scene(&s, &f, NULL));
    const double pixel = 25.4 / s.dpi;
    double worst = 0.0;
    int grey = 0;
    for (size_t r = 0; r < f.rows; r += 3)
        for (size_t c = 0; c < f.columns; c++) {
            const double v = ((double)f.value[r * f.columns + c] - s.ground) / (s.face - s.ground);
            if (v < 0.01 || v > 0.99)
                continue;
            int inside = 0;
            for (int k = 0; k < 64 * 64; k++) {
                const double x = ((double)c + (k % 64 + 0.5) / 64) * pixel;
                const double y = ((double)(f.rows - r) - (k / 64 + 0.5) / 64.0) * pixel;
                inside += sf_curve_holds(&s, (sf_Spot){ x, y });
            }
            worst = fmax(worst, fabs(v - inside / 4096.0));
            grey++;
        }
    sf_field_destroy(&f);
    TAP_TRUE(grey > 200, "(%d edge pixels)", grey);
    TAP_TRUE(worst < 0.016, "(worst share off by %.4f; 64 x 64 samples resolve one in 64)", worst);
}

TAP_CASE(clutter_keeps_off_the_ring)
{
    for (int64_t i = 0; i < 6; i++) {
        sf_Scene s, bare;
        sf_Field a = { 0 }, b = { 0 };
        TAP_OK(sf_set_scene("clutter", 11, i, &s, NULL));
        s.dpi = 150;
        s.dust = 0;
        s.smudge = false;
        bare = s;
        bare.tag = bare.ruler = bare.pencil = bare.hair = false;
        TAP_OK(sf_paint_scene(&s, &a, NULL));
        TAP_OK(sf_paint_scene(&bare, &b, NULL));
        const double pixel = 25.4 / s.dpi;
        int touched = 0, changed = 0;
        for (size_t k = 0; k < a.columns * a.rows; k++) {
            if (fabsf(a.value[k] - b.value[k]) < 1e-4f)
                continue;
            changed++;
            const double x = ((double)(k % a.columns) + 0.5) * pixel - s.centre_x_mm;
            const double y = ((double)(a.rows - k / a.columns) - 0.5) * pixel - s.centre_y_mm;
            touched += hypot(x, y) < s.outer_diameter_mm / 2;
        }
        sf_field_destroy(&a);
        sf_field_destroy(&b);
        TAP_TRUE(touched == 0, "(scene %d: %d pixels of %d)", (int)i, touched, changed);
    }
}

// ---- files -----------------------------------------------------------------------------------------------------

static void make(const sf_Scene *s, const char *path)
{
    sf_Field f = { 0 };
    TAP_OK(sf_paint_scene(s, &f, NULL));
    TAP_OK(sf_encode_scene(s, &f, path, NULL));
    TAP_OK(sf_spoil_file(s, path, NULL));
    sf_field_destroy(&f);
}

static char *fresh(const char *ending)
{
    static char path[64];
    snprintf(path, sizeof path, "/tmp/ring_pictures_%ld%s", (long)getpid(), ending);
    return path;
}

static sf_Scene small(size_t format)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 24;
    s.wall_mm = 3;
    s.dpi = 150;
    s.width_mm = 30;
    s.height_mm = 28;
    s.centre_x_mm = s.centre_y_mm = 14.5;
    s.noise = 0.01;
    s.dust = 10;
    s.format = format;
    return s;
}

TAP_CASE(same_seed_same_bytes)
{
    static const char *const ending[] = { "_a.png", "_a.jpg", "_a.tif" };
    for (size_t format = 0; format < 3; format++) {
        sf_Scene s = small(format);
        unsigned char *a = NULL, *b = NULL, *c = NULL;
        size_t na = 0, nb = 0, nc = 0;
        const char *path = fresh(ending[format]);
        make(&s, path);
        TAP_OK(sf_file_read(path, 1 << 24, &a, &na, NULL));
        make(&s, path);
        TAP_OK(sf_file_read(path, 1 << 24, &b, &nb, NULL));
        s.seed++;
        make(&s, path);
        TAP_OK(sf_file_read(path, 1 << 24, &c, &nc, NULL));
        TAP_TRUE(na == nb && memcmp(a, b, na) == 0, "(format %zu)", format);
        TAP_TRUE(na != nc || memcmp(a, c, na) != 0, "(format %zu)", format);
        sf_free(a);
        sf_free(b);
        sf_free(c);
        unlink(path);
    }
}

TAP_CASE(png_says_what_it_holds)
{
    sf_Scene s = small(SF_FORMAT_PNG);
    s.depth = 16;
    s.gamma = SF_GAMMA_CHUNK;
    const char *path = fresh(".png");
    make(&s, path);
    FILE *file = fopen(path, "rb");
    TAP_TRUE(file != NULL);
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_uint_32 x = 0, y = 0;
    double gamma = 0;
    int unit = 0;
    png_init_io(png, file);
    png_read_info(png, info);
    png_get_pHYs(png, info, &x, &y, &unit);
    png_get_gAMA(png, info, &gamma);
    TAP_NEAR(png_get_image_width(png, info), 177, TAP_EXACT, TAP_CLOSED_FORM); // 30 mm at 150 dpi
    TAP_NEAR(png_get_image_height(png, info), 165, TAP_EXACT, TAP_CLOSED_FORM);
    TAP_NEAR(png_get_bit_depth(png, info), 16, TAP_EXACT, TAP_INVENTED);
    TAP_TRUE(unit == PNG_RESOLUTION_METER && x == 5906 && y == 5906); // 150 / 0.0254
    TAP_NEAR(gamma, 1 / 2.2, TAP_TABLE_4, TAP_INVENTED);
    png_destroy_read_struct(&png, &info, NULL);
    fclose(file);
    unlink(path);
}

TAP_CASE(tiff_says_what_it_holds)
{
    sf_Scene s = small(SF_FORMAT_TIFF);
    s.density = SF_DENSITY_CM;
    s.packing = SF_PACKING_LZW;
    s.tiles = true;
    s.white_is_zero = true;
    const char *path = fresh(".tif");
    make(&s, path);
    TIFF *tiff = TIFFOpen(path, "r");
    TAP_TRUE(tiff != NULL);
    uint16_t unit = 0, photometric = 0;
    float x = 0;
    TIFFGetField(tiff, TIFFTAG_RESOLUTIONUNIT, &unit);
    TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x);
    TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &photometric);
    TAP_TRUE(unit == RESUNIT_CENTIMETER && photometric == PHOTOMETRIC_MINISWHITE && TIFFIsTiled(tiff));
    TAP_NEAR(x, 150 / 2.54, TAP_TOLERANCE("a float", 1e-6, 0), TAP_CLOSED_FORM);
    TIFFClose(tiff);
    unlink(path);
}

TAP_CASE(jpeg_says_what_it_holds)
{
    sf_Scene s = small(SF_FORMAT_JPEG);
    s.density = SF_DENSITY_CM;
    const char *path = fresh(".jpg");
    make(&s, path);
    FILE *file = fopen(path, "rb");
    struct jpeg_decompress_struct jpeg = { 0 };
    struct jpeg_error_mgr manager;
    jpeg.err = jpeg_std_error(&manager);
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    TAP_TRUE(jpeg.density_unit == 2 && jpeg.X_density == 59 && jpeg.image_width == 177);
    TAP_NEAR(sf_scene_stated_dpi(&s), 59 * 2.54, TAP_TIGHT, TAP_CLOSED_FORM);
    jpeg_destroy_decompress(&jpeg);
    fclose(file);
    unlink(path);
}

TAP_CASE(spoilt_files_are_spoilt)
{
    sf_Scene s = small(SF_FORMAT_PNG);
    unsigned char *data = NULL;
    size_t size = 0;
    s.spoil = SF_SPOIL_HUGE;
    const char *path = fresh(".png");
    make(&s, path);
    TAP_OK(sf_file_read(path, 1 << 24, &data, &size, NULL));
    TAP_TRUE(memcmp(data + 16, "\0\1\x86\xa0\0\1\x86\xa0", 8) == 0, "(100000 by 100000)");
    sf_free(data);
    s.spoil = SF_SPOIL_NOT_AN_IMAGE;
    make(&s, path);
    TAP_OK(sf_file_read(path, 1 << 24, &data, &size, NULL));
    TAP_TRUE(memcmp(data, "This is", 7) == 0);
    sf_free(data);
    unlink(path);
}

// ---- scenes and sets -------------------------------------------------------------------------------------------

TAP_CASE(every_scene_of_the_sets_has_a_truth)
{
    static const char *const sets[] = { "acceptance", "clutter", "plain", "scanner", "tags", "bench", "a4" };
    for (size_t k = 0; k < sizeof sets / sizeof *sets; k++)
        for (int64_t i = 0; i < 12; i++) {
            sf_Scene s;
            sf_Truth t;
            sf_Error err = { 0 };
            TAP_OK(sf_set_scene(sets[k], 5, i, &s, &err));
            TAP_TRUE(sf_truth_find(&s, &t, &err) == SF_OK, "(%s %d: %s)", sets[k], (int)i, err.text);
            TAP_TRUE(t.wall_min_mm > 0.5 && t.wall_min_mm <= t.wall_median_mm && t.wall_median_mm <= t.wall_max_mm);
        }
    sf_Scene s;
    sf_Error err = { 0 };
    TAP_STATUS(sf_set_scene("nonsense", 1, 0, &s, &err), SF_E_USAGE);
    TAP_HOLDS(err.text, "acceptance");
}

TAP_CASE(scenes_are_read_with_every_problem_named)
{
    static const char good[] = "{\"outer_diameter_mm\": 31.5, \"format\": \"tiff\", \"tag\": true, \"voids\": "
                               "[{\"angle_deg\": 10, \"long_mm\": 0.6}], \"depth\": 16}";
    static const char bad[] = "{\"outer_diameter_mm\": -2, \"colour\": \"blue\", \"walls_mm\": 3}";
    sf_Doc *doc = NULL;
    sf_Scene s;
    sf_Error err = { 0 };
    TAP_OK(sf_doc_parse(&doc, "scene", good, strlen(good), &err));
    sf_scene_read(sf_doc_root(doc), &s);
    TAP_OK(sf_doc_verdict(doc, &err));
    TAP_TRUE(s.format == SF_FORMAT_TIFF && s.tag && s.depth == 16 && s.void_count == 1 && !s.ruler);
    TAP_NEAR(s.outer_diameter_mm, 31.5, TAP_EXACT, TAP_INVENTED);
    sf_doc_destroy(&doc);
    TAP_OK(sf_doc_parse(&doc, "scene", bad, strlen(bad), &err));
    sf_scene_read(sf_doc_root(doc), &s);
    TAP_STATUS(sf_doc_verdict(doc, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "outer_diameter_mm");
    TAP_HOLDS(err.text, "colour");
    TAP_HOLDS(err.text, "walls_mm");
    sf_doc_destroy(&doc);
}

/// Mean, spread and tails of the generator's normal numbers.
TAP_CASE(dice_are_fair)
{
    enum { N = 200000 };
    sf_Dice dice;
    double sum = 0, square = 0, uniform = 0;
    int beyond = 0;
    sf_dice_seed(&dice, 99);
    for (int i = 0; i < N; i++) {
        const double x = sf_dice_normal(&dice);
        sum += x;
        square += x * x;
        beyond += fabs(x) > 1.959964;
        uniform += sf_dice_between(&dice, 0, 1);
    }
    TAP_NEAR(sum / N, 0, TAP_TOLERANCE("four standard errors", 0, 4 / sqrt(N)), TAP_CLOSED_FORM);
    TAP_NEAR(square / N, 1, TAP_TOLERANCE("four standard errors", 0, 4 * sqrt(2.0 / N)), TAP_CLOSED_FORM);
    TAP_NEAR(beyond / (double)N, 0.05, TAP_TOLERANCE("four standard errors", 0, 4 * sqrt(0.0475 / N)), TAP_CLOSED_FORM);
    TAP_NEAR(uniform / N, 0.5, TAP_TOLERANCE("four standard errors", 0, 4 * sqrt(1.0 / 12 / N)), TAP_CLOSED_FORM);
}

TAP_MAIN(TAP_RUN(plain_ring_equals_closed_forms), TAP_RUN(eccentric_bore_equals_parallel_axes),
         TAP_RUN(wavy_curve_equals_its_fourier_sums), TAP_RUN(voids_are_taken_off),
         TAP_RUN(agrees_with_a_second_generator), TAP_RUN(touching_circles), TAP_RUN(line_lengths),
         TAP_RUN(impossible_rings_are_refused), TAP_RUN(light_summed_over_pixels_is_the_area),
         TAP_RUN(edge_pixels_hold_the_covered_share), TAP_RUN(clutter_keeps_off_the_ring),
         TAP_RUN(same_seed_same_bytes), TAP_RUN(png_says_what_it_holds), TAP_RUN(tiff_says_what_it_holds),
         TAP_RUN(jpeg_says_what_it_holds), TAP_RUN(spoilt_files_are_spoilt),
         TAP_RUN(every_scene_of_the_sets_has_a_truth), TAP_RUN(scenes_are_read_with_every_problem_named),
         TAP_RUN(dice_are_fair))
