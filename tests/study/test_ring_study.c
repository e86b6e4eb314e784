// SPDX-License-Identifier: GPL-3.0-or-later
// The ring's use case beside its parts: limb angles for every side and face, standard deviations round the circle, the
// torsion constant's doubt against closed forms, a scanner's calibration as a file, and what a result leaves out.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "study/calibration.h"
#include "study/ring_repeat.h"
#include "study/ring_study.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define DEGREES TAP_TOLERANCE("rounding of radians", 0, 1e-9)

// ---- limb angles -----------------------------------------------------------------------------------------------

static double limb_deg(double picture_deg, double posterior_deg, sf_Side side, sf_Face face)
{
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    ask.posterior_angle = posterior_deg * SF_DEG;
    ask.side = side;
    ask.face = face;
    return sf_limb_angle(picture_deg * SF_DEG, &ask) / SF_DEG;
}

TAP_CASE(limb_angles_of_every_side_and_face)
{
    const tap_Origin rule = TAP_SOURCE("the frame: outward 0, anterior 90, inward 180, posterior 270, from above");
    // Limb-side on the glass: the picture shows the ring as from above. Posterior lies at 250 degrees of the picture.
    TAP_NEAR(limb_deg(250, 250, SF_SIDE_RIGHT, SF_FACE_LIMB_SIDE), 270, DEGREES, rule);
    TAP_NEAR(limb_deg(340, 250, SF_SIDE_RIGHT, SF_FACE_LIMB_SIDE), 0, DEGREES, rule);
    TAP_NEAR(limb_deg(240, 250, SF_SIDE_RIGHT, SF_FACE_LIMB_SIDE), 260, DEGREES, rule);
    // Either mirrors the difference from posterior ...
    TAP_NEAR(limb_deg(240, 250, SF_SIDE_LEFT, SF_FACE_LIMB_SIDE), 280, DEGREES, rule);
    TAP_NEAR(limb_deg(240, 250, SF_SIDE_RIGHT, SF_FACE_FOOT_SIDE), 280, DEGREES, rule);
    TAP_NEAR(limb_deg(160, 250, SF_SIDE_LEFT, SF_FACE_LIMB_SIDE), 0, DEGREES, rule);
    // ... and both together cancel.
    for (int a = 0; a < 360; a += 15) {
        double right = limb_deg(a, 250, SF_SIDE_RIGHT, SF_FACE_LIMB_SIDE);
        double both = limb_deg(a, 250, SF_SIDE_LEFT, SF_FACE_FOOT_SIDE);
        double left = limb_deg(a, 250, SF_SIDE_LEFT, SF_FACE_LIMB_SIDE);
        if (!TAP_NEAR(both, right, DEGREES, rule) ||
            !TAP_NEAR(remainder(left + right - 540, 360), 0, DEGREES, TAP_CLOSED_FORM) ||
            !TAP_TRUE(right >= 0 && right < 360))
            return;
    }
}

TAP_CASE(no_limb_angle_without_posterior_or_side)
{
    TAP_TRUE(isnan(limb_deg(240, NAN, SF_SIDE_LEFT, SF_FACE_LIMB_SIDE)));
    TAP_TRUE(isnan(limb_deg(240, 250, SF_SIDE_UNKNOWN, SF_FACE_LIMB_SIDE)));
    TAP_TRUE(isnan(limb_deg(NAN, 250, SF_SIDE_LEFT, SF_FACE_LIMB_SIDE)), "(no seam)");
}

// ---- repeat scans ----------------------------------------------------------------------------------------------

enum { SCANS = 3 };

static double sd_of(const char *key, double a, double b, double c)
{
    sf_RingFinding *f = sf_alloc(SCANS, sizeof *f);
    const double values[SCANS] = { a, b, c };
    for (size_t i = 0; i < SCANS; i++) {
        f[i].figures.count = 1;
        f[i].figures.items[0] = (sf_Figure){ .key = key, .part = -1, .value = values[i] };
    }
    double sd = sf_ring_repeat_sd(f, SCANS, 0);
    sf_free(f);
    return sd;
}

TAP_CASE(standard_deviations)
{
    TAP_NEAR(sd_of("area_mm2", 600, 602, 604), 2, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(sd_of("seam_direction_deg", 359, 1, 0), 1, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sd_of("principal_deg", 179, 1, 0), 1, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sd_of("area_mm2", 359, 1, 0), sqrt((239.0 * 239 + 119 * 119 + 120 * 120) / 2), TAP_TIGHT,
             TAP_CLOSED_FORM); // no angle: nothing is turned
    TAP_NEAR(sd_of("seam_direction_deg", NAN, 10, 12), sqrt(2), TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_TRUE(isnan(sd_of("seam_direction_deg", NAN, NAN, 12)), "(one value has no spread)");
}

TAP_CASE(the_hardest_decision_of_several_counts)
{
    sf_RingFinding *f = sf_alloc(SCANS, sizeof *f);
    f[0].decision.verdict = SF_VERDICT_LIMIT;
    f[1].decision.verdict = SF_VERDICT_AGAIN;
    f[2].decision.verdict = SF_VERDICT_AGAIN;
    TAP_TRUE(sf_ring_repeat_hardest(f, SCANS) == 1);
    f[2].decision.verdict = SF_VERDICT_REJECT;
    TAP_TRUE(sf_ring_repeat_hardest(f, SCANS) == 2);
    TAP_TRUE(sf_ring_repeat_hardest(f, 1) == 0);
    sf_free(f);
}

// ---- torsion's doubt -------------------------------------------------------------------------------------------

static const double OUTER = 22e-3, INNER = 16.5e-3;

static void fill_tube(sf_Outline *o, double outer, double inner, double line)
{
    enum { POINTS = 720 };
    *o = (sf_Outline){ .line_searched = true };
    TAP_OK(sf_polygon_create(&o->outer, POINTS, NULL));
    TAP_OK(sf_polygon_create(&o->inner, POINTS, NULL));
    for (size_t k = 0; k < POINTS; k++) {
        double a = 2 * SF_PI * (double)k / POINTS;
        o->outer.points[k] = (sf_Point){ outer * cos(a), outer * sin(a) };
        o->inner.points[k] = (sf_Point){ inner * cos(a), inner * sin(a) };
    }
    if (line > 0)
        o->line = (sf_UnjoinedLine){ .present = true, .start = { inner, 0 }, .end = { inner + line, 0 } };
}

static sf_Torsion torsion_of(double outer, double inner, double line)
{
    sf_Outline o;
    sf_Torsion t = { 0 };
    fill_tube(&o, outer, inner, line);
    TAP_OK(sf_torsion_compute(&t, &o, NULL, NULL));
    sf_outline_free(&o);
    return t;
}

static double edge_half(const sf_Torsion *t, sf_EdgeDoubt doubt)
{
    return sf_torsion_doubt(t, &doubt).edge;
}

TAP_CASE(torsion_doubt_of_a_round_tube)
{
    // K = pi/2 (R^4 - r^4): shifts of the edges by their derivatives, single points by int (local derivative)^2 ds.
    const sf_Torsion t = torsion_of(OUTER, INNER, 0);
    const double b = 1e-6, factor = 1.959964;
    const double out = 2 * SF_PI * pow(OUTER, 3) * b, in = 2 * SF_PI * pow(INNER, 3) * b;
    const double mesh = t.discretisation * t.torsion_constant;
    const tap_Tolerance rates = TAP_TOLERANCE("rates of the finite elements on a polygon of 720 corners", 5e-3, 0);
    TAP_NEAR(edge_half(&t, (sf_EdgeDoubt){ .bias_outer = b }), hypot(factor * out, mesh), rates, TAP_CLOSED_FORM);
    TAP_NEAR(edge_half(&t, (sf_EdgeDoubt){ .bias_inner = b }), hypot(factor * in, mesh), rates, TAP_CLOSED_FORM);
    TAP_NEAR(edge_half(&t, (sf_EdgeDoubt){ .bias_both = b }), hypot(factor * (out - in), mesh), rates, TAP_CLOSED_FORM);
    TAP_NEAR(edge_half(&t, (sf_EdgeDoubt){ .place = b }), mesh, TAP_TIGHT, TAP_CLOSED_FORM);
    const double c = 0.5e-3, s = 1e-5, random = s * sqrt(c * 2 * SF_PI * (pow(OUTER, 5) + pow(INNER, 5)));
    TAP_NEAR(edge_half(&t, (sf_EdgeDoubt){ .random = s, .correlation = c }), hypot(factor * random, mesh), rates,
             TAP_CLOSED_FORM);
    const sf_EdgeDoubt scale = { .scale = 0.001 };
    TAP_NEAR(sf_torsion_doubt(&t, &scale).scale, factor * 4 * 0.001 * t.torsion_constant,
             TAP_TOLERANCE("printed factor", 1e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(sf_torsion_doubt(&t, &scale).edge, mesh, TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_CASE(torsion_doubt_of_the_lines_end)
{
    const double step = 0.1e-3, line = 2.5e-3;
    const sf_Torsion t = torsion_of(OUTER, INNER, line);
    const double longer = torsion_of(OUTER, INNER, line + step).torsion_constant;
    const double shorter = torsion_of(OUTER, INNER, line - step).torsion_constant;
    const double mesh = t.discretisation * t.torsion_constant;
    TAP_TRUE(longer < t.torsion_constant && t.torsion_constant < shorter, "(a longer line is never stiffer)");
    TAP_NEAR(edge_half(&t, (sf_EdgeDoubt){ .line_end = step }), hypot(1.959964 * 0.5 * (shorter - longer), mesh),
             TAP_TOLERANCE("rate by two further solutions", 0.05, 0), TAP_CLOSED_FORM);
}

// ---- what is missing is said -----------------------------------------------------------------------------------

static const char CALIPER[] = "angle_deg,outer_mm,wall_mm\n0,22,5\n45,22,5\n90,22,5\n135,22,5\n180,22,5\n225,22,5\n"
                              "270,22,5\n315,22,5\n";

TAP_CASE(every_figure_has_a_value_or_a_reason)
{
    for (int torsion = 0; torsion < 2; torsion++) {
        sf_RingFinding *f = sf_alloc(1, sizeof *f);
        sf_RingAsk ask = SF_RING_ASK_EMPTY;
        ask.torsion = torsion;
        TAP_OK(
            sf_ring_study(f, SF_RING_CALIPER, "c.csv", (const uint8_t *)CALIPER, sizeof CALIPER - 1, &ask, NULL, NULL));
        size_t missing = 0, mute = 0;
        for (size_t i = 0; i < f->figures.count; i++) {
            const sf_Figure *figure = &f->figures.items[i];
            bool there = !isnan(figure->value);
            missing += !there;
            mute += there ? figure->missing[0] != 0 : figure->missing[0] == 0;
            mute += there != !isnan(figure->edge) || there != !isnan(figure->scale);
        }
        TAP_TRUE(mute == 0, "(%zu figures without value, %zu of all without a reason or a doubt)", missing, mute);
        TAP_TRUE(isnan(sf_ring_figure(&f->figures, "seam_unjoined_depth_mm", -1)->value));
        TAP_TRUE(isnan(sf_ring_figure(&f->figures, "torsion_constant_mm4", -1)->value) == !torsion);
        TAP_TRUE(sf_ring_figure(&f->figures, "no_such_key", -1) == NULL);
        sf_ring_finding_free(f);
        sf_ring_finding_free(f);
        sf_free(f);
    }
}

TAP_CASE(a_failure_leaves_nothing)
{
    sf_RingFinding *f = sf_alloc(1, sizeof *f);
    const sf_RingAsk ask = SF_RING_ASK_EMPTY;
    sf_Error err = { 0 };
    size_t live = sf_alloc_live();
    TAP_STATUS(
        sf_ring_study(f, SF_RING_PICTURE, "x.png", (const uint8_t *)CALIPER, sizeof CALIPER - 1, &ask, NULL, &err),
        SF_E_INPUT);
    TAP_TRUE(!f->scan.outline.outer.points && sf_alloc_live() == live);
    sf_free(f);
}

// ---- calibration file ------------------------------------------------------------------------------------------

static const char *fresh(void)
{
    static char path[256];
    const char *folder = getenv("TMPDIR");
    snprintf(path, sizeof path, "%s/standfast_scanner_%ld.json", folder ? folder : "/tmp", (long)getpid());
    return path;
}

TAP_CASE(calibration_is_read_back)
{
    const sf_Calibration made = { .factor_x = 0.996789012345,
                                  .factor_y = 1.00123456789,
                                  .scale_sd = 1.7e-4,
                                  .gauge = { .dpi_x = 600, .diameter_x = 50.1e-3, .diameter_y = 49.9e-3 },
                                  .gauge_diameter = 50e-3 };
    sf_Calibration read;
    const char *path = fresh();
    TAP_OK(sf_calibration_save(&made, path, NULL));
    TAP_OK(sf_calibration_load(&read, path, NULL));
    const tap_Tolerance digits = TAP_TOLERANCE("twelve digits in the file", 1e-11, 0);
    TAP_NEAR(read.factor_x, made.factor_x, digits, TAP_INVENTED);
    TAP_NEAR(read.factor_y, made.factor_y, digits, TAP_INVENTED);
    TAP_NEAR(read.scale_sd, made.scale_sd, digits, TAP_INVENTED);
    remove(path);
}

TAP_CASE(wrong_calibrations_are_refused)
{
    static const char *const texts[][2] = {
        { "{\"format\":\"standfast-scanner/1\",\"factor_x\":1,\"factor_y\":1}", "scale_sd" },
        { "{\"format\":\"standfast-scanner/1\",\"factor_x\":2,\"factor_y\":1,\"scale_sd\":0}", "factor_x" },
        { "{\"format\":\"standfast-scanner/1\",\"factor_x\":1,\"factor_y\":\"1\",\"scale_sd\":0}", "factor_y" },
        { "{\"format\":\"standfast-limb/1\",\"factor_x\":1,\"factor_y\":1,\"scale_sd\":0}", "format" },
        { "{\"factor_x\":1,\"factor_y\":1,\"scale_sd\":0}", "format" },
        { "{\"format\":\"standfast-scanner/1\",\"factor_x\":1,\"factor_y\":1,\"scale_sd\":0,\"factr\":1}", "factr" },
        { "[]", "" },
        { "{\"format\"", "" },
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const char *path = fresh();
        sf_Calibration c;
        sf_Error err = { 0 };
        TAP_OK(sf_file_write(path, texts[i][0], strlen(texts[i][0]), NULL));
        TAP_TRUE(sf_status_exit_code(sf_calibration_load(&c, path, &err)) == 3, "(%s)", texts[i][0]);
        TAP_HOLDS(err.text, texts[i][1]);
        remove(path);
    }
    sf_Calibration c;
    TAP_STATUS(sf_calibration_load(&c, "/nowhere/cal.json", NULL), SF_E_MISSING);
}

TAP_MAIN(TAP_RUN(limb_angles_of_every_side_and_face), TAP_RUN(no_limb_angle_without_posterior_or_side),
         TAP_RUN(standard_deviations), TAP_RUN(the_hardest_decision_of_several_counts),
         TAP_RUN(torsion_doubt_of_a_round_tube), TAP_RUN(torsion_doubt_of_the_lines_end),
         TAP_RUN(every_figure_has_a_value_or_a_reason), TAP_RUN(a_failure_leaves_nothing),
         TAP_RUN(calibration_is_read_back), TAP_RUN(wrong_calibrations_are_refused))
