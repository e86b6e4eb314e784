// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "harness/tap.h"
#include "section/outline_table.h"
#include "section/properties.h"
#include "section/shapes.h"

#include <stdio.h>
#include <string.h>

static sf_Status read_text(sf_Outline *outline, const char *text, sf_Error *err)
{
    return sf_outline_read_csv(outline, "ring.csv", text, strlen(text), err);
}

static sf_Status read_caliper(sf_Outline *outline, const char *text, sf_Error *err)
{
    return sf_outline_read_caliper(outline, "caliper.csv", text, strlen(text), NULL, err);
}

#define SQUARES                                                                                                        \
    "curve,x_mm,y_mm\nouter,0,0\nouter,40,0\nouter,40,40\nouter,0,40\n"                                                \
    "inner,10,10\ninner,10,30\ninner,30,30\ninner,30,10\n"

TAP_CASE(curves_come_in_with_voids_and_line_and_go_out_again)
{
    sf_Outline outline, again;
    sf_Error err = { 0 };
    const char *text = SQUARES "void2,3,3\nvoid2,5,3\nvoid2,4,5\nvoid1,34,34\nvoid1,36,34\nvoid1,35,36\n"
                               "line,20,10\nline,20,4\n";
    TAP_OK(read_text(&outline, text, &err));
    TAP_TRUE(outline.void_count == 2 && outline.line.present && outline.line_searched);
    TAP_NEAR(sf_polygon_area(&outline.inner), 4e-4, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(outline.voids[0].points[0].x, 0.034, TAP_TIGHT, TAP_INVENTED);
    TAP_NEAR(outline.line.end.y, 0.004, TAP_TIGHT, TAP_INVENTED);
    char *out = NULL;
    size_t size = 0;
    TAP_OK(sf_outline_write_csv(&outline, &out, &size, &err));
    TAP_OK(sf_outline_read_csv(&again, "again.csv", out, size, &err));
    TAP_TRUE(again.outer.count == 4 && again.inner.count == 4 && again.void_count == 2);
    TAP_NEAR(sf_polygon_area(&again.voids[1]), 2e-6, TAP_TOLERANCE("six decimals", 1e-6, 0), TAP_CLOSED_FORM);
    sf_free(out);
    sf_outline_free(&outline);
    sf_outline_free(&again);
}

TAP_CASE(bad_tables_are_refused_with_the_line)
{
    static const struct {
        const char *text;
        sf_Status status;
        const char *says;
    } cases[] = {
        { "curve,x_mm,y_mm\nouter,0,0\n", SF_E_MISSING, "inner" },
        { "curve,x_mm\nouter,0\n", SF_E_MISSING, "y_mm" },
        { SQUARES "rim,1,2\n", SF_E_PARSE, "line 10: the curve is called \"rim\"" },
        { SQUARES "void0,1,2\n", SF_E_PARSE, "void0" },
        { SQUARES "line,20,10\n", SF_E_PARSE, "two points" },
        { SQUARES "line,20,20\nline,20,4\n", SF_E_GEOMETRY, "start on the inner outline" },
        { SQUARES "outer,x,4\n", SF_E_PARSE, "line 10" },
        { SQUARES "outer,1e9,4\n", SF_E_RANGE, "in mm" },
        { "curve,x_mm,y_mm\nouter,0,0\nouter,40,40\nouter,40,0\nouter,0,40\ninner,19,1\ninner,21,1\ninner,20,2\n",
          SF_E_GEOMETRY, "the outer outline crosses itself" },
        { "curve,x_mm,y_mm\nouter,0,0\nouter,40,0\nouter,40,40\ninner,30,20\ninner,60,20\ninner,50,10\n", SF_E_GEOMETRY,
          "touch" },
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        sf_Outline outline;
        sf_Error err = { 0 };
        size_t live = sf_alloc_live();
        TAP_STATUS(read_text(&outline, cases[i].text, &err), cases[i].status);
        TAP_HOLDS(err.text, cases[i].says);
        TAP_TRUE(sf_alloc_live() == live, "case %zu leaves nothing behind", i);
    }
}

// Readings of a shape, laid out as text in a shuffled order; noise is a fixed pattern of `sd`.
static void write_readings(char *text, size_t room, const ShapeRing *ring, size_t n, double jitter, double sd)
{
    size_t at = (size_t)snprintf(text, room, "angle_deg,outer_mm,wall_mm\n");
    for (size_t i = 0; i < n; i++) {
        size_t k = i * 5 % n; // n and 5 share no factor in these tests
        double t = 2 * SF_PI * ((double)k + jitter * sin(3.0 * (double)k)) / (double)n;
        double wall = ring->outer - shape_bore_radius(ring, t);
        double noise_o = sd * sqrt(2) * sin(12.9898 * (double)k + 1),
               noise_w = sd * sqrt(2) * sin(78.233 * (double)k + 2);
        at += (size_t)snprintf(text + at, room - at, "%.6f,%.6f,%.6f\n", t / SF_DEG - (k % 3 == 0 ? 360 : 0),
                               (ring->outer + noise_o) / SF_MM, (wall + noise_w) / SF_MM);
    }
}

TAP_CASE(readings_of_a_waved_ring_give_its_section)
{
    char text[16384];
    const ShapeRing ring = {
        .outer = 0.0222, .wall = 0.0052, .wave = { 0, 0.0006, 0.0004 }, .phase = 0.7, .points = 4000
    };
    sf_Outline outline, truth;
    sf_Section got, want;
    sf_Error err = { 0 };
    shape_ring(&truth, &ring);
    TAP_OK(sf_section_compute(&want, &truth, &err));
    const struct {
        size_t n;
        tap_Tolerance tolerance;
    } runs[] = { { 12, TAP_TOLERANCE("12 readings through a second harmonic", 1e-3, 0) },
                 { 24, TAP_TOLERANCE("24 readings through a second harmonic", 2e-5, 0) },
                 { 72, TAP_TOLERANCE("72 readings through a second harmonic, 1440-gon", 8e-6, 0) } };
    for (size_t i = 0; i < 3; i++) {
        write_readings(text, sizeof text, &ring, runs[i].n, 0, 0);
        TAP_OK(read_caliper(&outline, text, &err));
        TAP_OK(sf_section_compute(&got, &outline, &err));
        TAP_NEAR(got.area, want.area, runs[i].tolerance, TAP_CLOSED_FORM);
        TAP_NEAR(got.i_max, want.i_max, runs[i].tolerance, TAP_CLOSED_FORM);
        TAP_NEAR(got.i_min, want.i_min, runs[i].tolerance, TAP_CLOSED_FORM);
        TAP_TRUE(!outline.line_searched);
        sf_outline_free(&outline);
    }
    write_readings(text, sizeof text, &ring, 24, 0.3, 0); // unevenly spaced
    TAP_OK(read_caliper(&outline, text, &err));
    TAP_OK(sf_section_compute(&got, &outline, &err));
    TAP_NEAR(got.area, want.area, TAP_TOLERANCE("24 uneven readings", 1e-4, 0), TAP_CLOSED_FORM);
    sf_outline_free(&outline);
    sf_outline_free(&truth);
}

TAP_CASE(doubt_follows_the_reading_and_the_roughness)
{
    char text[16384];
    sf_Outline plain, noisy, rough;
    sf_Error err = { 0 };
    const ShapeRing ring = { .outer = 0.0222, .wall = 0.0052, .wave = { 0, 0.0006 } };
    write_readings(text, sizeof text, &ring, 36, 0, 0);
    TAP_OK(read_caliper(&plain, text, &err));
    TAP_NEAR(plain.doubt.random, SF_CALIPER_READING_SD, TAP_TOLERANCE("smooth ring", 1e-3, 0), TAP_CLOSED_FORM);
    write_readings(text, sizeof text, &ring, 36, 0, 0.0001);
    TAP_OK(read_caliper(&noisy, text, &err));
    TAP_TRUE(noisy.doubt.random > 1.2 * plain.doubt.random, "readings that do not fit together widen the doubt");
    const ShapeRing waved = { .outer = 0.0222, .wall = 0.0052, .wave = { 0, 0, 0, 0.0008 } };
    write_readings(text, sizeof text, &waved, 8, 0, 0);
    TAP_OK(read_caliper(&rough, text, &err));
    TAP_TRUE(rough.doubt.random > 5 * plain.doubt.random, "too few readings for the shape widen the doubt");
    TAP_NEAR(rough.doubt.correlation, SF_PI / 4 * 0.017, TAP_TOLERANCE("mean bore radius", 0.03, 0), TAP_CLOSED_FORM);
    sf_outline_free(&plain);
    sf_outline_free(&noisy);
    sf_outline_free(&rough);
}

TAP_CASE(bad_readings_are_refused_with_the_line)
{
#define SEVEN "angle_deg,outer_mm,wall_mm\n0,22,5\n45,22,5\n90,22,5\n135,22,5\n180,22,5\n225,22,5\n270,22,5\n"
    static const struct {
        const char *text;
        sf_Status status;
        const char *says;
    } cases[] = {
        { SEVEN, SF_E_INPUT, "7 readings" },
        { SEVEN "405,22,5\n", SF_E_INPUT, "line 9: the angle 45.00 degrees was already read in line 3" },
        { SEVEN "315,22,0\n", SF_E_RANGE, "line 9" },
        { SEVEN "315,4,5\n", SF_E_RANGE, "half the diameter" },
        { SEVEN "315,2200,5\n", SF_E_RANGE, "line 9" },
        { SEVEN "315,22\n", SF_E_PARSE, "line 9" },
        { SEVEN "250,22,5\n", SF_OK, "" },
        { "angle_deg,outer_mm,wall_mm\n0,22,5\n10,22,5\n20,22,5\n30,22,5\n40,22,5\n50,22,5\n60,22,5\n70,22,5\n",
          SF_E_INPUT, "without a reading after 70.0 degrees" },
        { "angle,outer_mm,wall_mm\n0,22,5\n", SF_E_MISSING, "angle_deg" },
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        sf_Outline outline;
        sf_Error err = { 0 };
        size_t live = sf_alloc_live();
        TAP_STATUS(read_caliper(&outline, cases[i].text, &err), cases[i].status);
        TAP_HOLDS(err.text, cases[i].says);
        sf_outline_free(&outline);
        TAP_TRUE(sf_alloc_live() == live, "case %zu leaves nothing behind", i);
    }
}

static sf_Status body(void *context)
{
    sf_Outline outline;
    sf_Error err;
    sf_Status status = read_caliper(&outline, SEVEN "315,22,5\n", &err);
    if (status == SF_OK) {
        char *text = NULL;
        size_t size;
        status = sf_outline_write_csv(&outline, &text, &size, &err);
        sf_free(text);
    }
    sf_outline_free(&outline);
    (void)context;
    return status;
}

TAP_CASE(running_out_of_memory_is_said)
{
    tap_every_allocation(body, NULL, 80, "caliper table and outline text");
}

TAP_MAIN(TAP_RUN(curves_come_in_with_voids_and_line_and_go_out_again), TAP_RUN(bad_tables_are_refused_with_the_line),
         TAP_RUN(readings_of_a_waved_ring_give_its_section), TAP_RUN(doubt_follows_the_reading_and_the_roughness),
         TAP_RUN(bad_readings_are_refused_with_the_line), TAP_RUN(running_out_of_memory_is_said))
