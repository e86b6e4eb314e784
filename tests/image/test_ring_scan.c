// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of rings whose geometry is known: errors against the targets by resolution, the truth against the stated
// doubt, the doubt against the errors really made. All rings are invented and drawn by tools/make_rings, which shares
// no code with what measures them.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/units.h"
#include "ring_maker.h"
#include "ring_sets.h"
#include "study/ring_study.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TARGETS TAP_PRACTICE

// ---- figures against the truth ---------------------------------------------------------------------------------

typedef enum Aim { AIM_AREA, AIM_SECOND, AIM_WALL, AIM_GROOVE, AIM_LINE, AIM_NONE } Aim;
typedef enum Error { RELATIVE, OF_MEAN_I, ABSOLUTE } Error;

/// Targets by class of resolution: 400 dpi and finer, 300, 150 and 200. Shares, then mm.
static const double TARGET[3][5] = { { 0.001, 0.0015, 0.02, 0.04, 0.2 },
                                     { 0.002, 0.003, 0.03, 0.06, 0.2 },
                                     { 0.004, 0.006, 0.08, 0.10, 0.2 } };

/// Grooves sharper than the blur and the mouth of a line in a groove are rounded: one in six such walls may miss its
/// target (measured; a limit that the theory page states). Of all other figures one in 200 may.
static const double MISSED_AT_SEAM = 1 / 6.0, MISSED_ELSEWHERE = 1 / 200.0;

#define AT(member) offsetof(sf_Truth, member)
static const struct {
    const char *key;
    size_t at;
    Error kind;
    Aim aim;
    bool seam; ///< read at the seam, where a groove sharper than the blur, or a line's mouth, is rounded
} KEYS[] = {
    { "area_mm2", AT(area_mm2), RELATIVE, AIM_AREA, false },
    { "ix_mm4", AT(ix_mm4), RELATIVE, AIM_SECOND, false },
    { "iy_mm4", AT(iy_mm4), RELATIVE, AIM_SECOND, false },
    { "ixy_mm4", AT(ixy_mm4), OF_MEAN_I, AIM_SECOND, false },
    { "i_max_mm4", AT(i_max_mm4), RELATIVE, AIM_SECOND, false },
    { "i_min_mm4", AT(i_min_mm4), RELATIVE, AIM_SECOND, false },
    { "wall_median_mm", AT(wall_median_mm), ABSOLUTE, AIM_WALL, false },
    { "wall_max_mm", AT(wall_max_mm), ABSOLUTE, AIM_WALL, false },
    { "wall_min_off_seam_mm", AT(wall_min_off_seam_mm), ABSOLUTE, AIM_WALL, false },
    { "wall_min_mm", AT(wall_min_mm), ABSOLUTE, AIM_WALL, true },
    { "wall_at_seam_mm", AT(wall_at_seam_mm), ABSOLUTE, AIM_WALL, true },
    { "groove_depth_mm", AT(groove_depth_mm), ABSOLUTE, AIM_GROOVE, true },
    { "seam_unjoined_depth_mm", AT(seam_unjoined_depth_mm), ABSOLUTE, AIM_LINE, true },
    { "outer_diameter_mean_mm", AT(outer_diameter_mean_mm), ABSOLUTE, AIM_NONE, false },
    { "inner_diameter_mean_mm", AT(inner_diameter_mean_mm), ABSOLUTE, AIM_NONE, false },
    { "ovality_percent", AT(ovality_percent), ABSOLUTE, AIM_NONE, false },
    { "inscribed_diameter_mm", AT(inscribed_diameter_mm), ABSOLUTE, AIM_NONE, false },
    { "circumscribed_diameter_mm", AT(circumscribed_diameter_mm), ABSOLUTE, AIM_NONE, false },
    { "void_area_mm2", AT(void_area_mm2), ABSOLUTE, AIM_NONE, false },
};
enum { KEY_COUNT = sizeof KEYS / sizeof *KEYS };

/// What was gathered over many pictures, by key.
typedef struct Tally {
    size_t read, aimed, missed, said, inside;
    double squares, in_doubts; // errors, and errors in their own half widths, squared
} Tally;

static int class_of(double dpi)
{
    return dpi >= 390 ? 0 : dpi >= 250 ? 1 : 2;
}

static sf_RingFinding *measure(const ring_Made *made, const sf_RingAsk *ask, const char *name, sf_Error *err)
{
    sf_RingFinding *finding = sf_alloc(1, sizeof *finding);
    if (sf_ring_study(finding, SF_RING_PICTURE, name, made->bytes, made->size, ask, NULL, err) == SF_OK)
        return finding;
    sf_free(finding);
    return NULL;
}

static void release(sf_RingFinding **finding)
{
    if (*finding)
        sf_ring_finding_free(*finding);
    sf_free(*finding);
    *finding = NULL;
}

static void gather(Tally tally[KEY_COUNT], const sf_Scene *s, const sf_Truth *truth, const sf_RingFinding *f)
{
    for (size_t i = 0; i < KEY_COUNT; i++) {
        const sf_Figure *figure = sf_ring_figure(&f->figures, KEYS[i].key, -1);
        double true_value = *(const double *)((const char *)truth + KEYS[i].at);
        if (isnan(true_value) || isnan(figure->value))
            continue;
        double unit = KEYS[i].kind == RELATIVE    ? true_value
                      : KEYS[i].kind == OF_MEAN_I ? 0.5 * (truth->ix_mm4 + truth->iy_mm4)
                                                  : 1;
        double error = (figure->value - true_value) / unit, half = figure->edge / unit;
        Tally *t = &tally[i];
        t->read++;
        t->squares += error * error;
        if (KEYS[i].aim != AIM_NONE) {
            double target = TARGET[class_of(s->dpi)][KEYS[i].aim];
            t->aimed++;
            t->missed += fabs(error) > target;
            if (fabs(error) > target)
                tap_note("%s: %s off by %.5f, target %.4f, doubt %.4f", s->name, KEYS[i].key, error, target, half);
        }
        t->said += half >= 0;
        t->inside += fabs(error) <= half;
        t->in_doubts += half > 0 ? error * error / (half * half) : 0;
    }
}

/// Rings of all kinds, kept small: 600 dpi at most, 46 mm at most.
static sf_Scene varied(int64_t seed, int64_t index)
{
    sf_Scene s;
    for (int64_t k = index;; k += 1000) {
        TAP_OK(sf_set_scene("acceptance", seed, k, &s, NULL));
        if (s.outer_diameter_mm <= 46)
            break;
    }
    s.dpi = fmin(s.dpi, 600);
    s.density = s.density == SF_DENSITY_NONE ? SF_DENSITY_INCH : s.density;
    return s;
}

TAP_CASE(rings_of_all_kinds)
{
    const int64_t count = getenv("TAP_LONG") ? 240 : 36;
    Tally tally[KEY_COUNT] = { 0 };
    size_t seam_lost = 0, polarity = 0, missing_doubt = 0, inside = 0, said = 0;
    double seam_worst = 0;
    for (int64_t i = 0; i < count; i++) {
        sf_Scene s = varied(31, i);
        ring_Made made;
        sf_Error err = { 0 };
        ring_make(&s, &made);
        sf_RingAsk ask = SF_RING_ASK_EMPTY;
        ask.torsion = false;
        sf_RingFinding *f = measure(&made, &ask, s.name, &err);
        if (TAP_TRUE(f != NULL, "(%s: %s)", s.name, err.text)) {
            gather(tally, &s, &made.truth, f);
            polarity += f->scan.light_ring != (s.face > s.ground);
            for (size_t k = 0; k < f->figures.count; k++) {
                const sf_Figure *figure = &f->figures.items[k];
                bool there = !isnan(figure->value);
                missing_doubt += there && !(figure->edge >= 0 && figure->scale >= 0);
                missing_doubt += !there && figure->missing[0] == 0;
            }
            double seam = sf_ring_figure(&f->figures, "seam_direction_deg", -1)->value;
            bool lost = isnan(seam) != isnan(made.truth.seam_direction_deg);
            seam_lost += lost;
            if (lost)
                tap_note("%s: seam %g, truly %g", s.name, seam, made.truth.seam_direction_deg);
            else if (made.truth.groove_depth_mm > 0.3)
                seam_worst = fmax(seam_worst, fabs(remainder(seam - made.truth.seam_direction_deg, 360)));
        }
        release(&f);
        sf_free(made.bytes);
    }
    for (size_t k = 0; k < KEY_COUNT; k++) {
        const Tally *t = &tally[k];
        double ratio = sqrt((double)t->said / t->in_doubts);
        tap_note("%-26s rms %.5f, missed %zu of %zu, inside %zu of %zu, half width / rms %.2f", KEYS[k].key,
                 sqrt(t->squares / (double)t->read), t->missed, t->aimed, t->inside, t->said, ratio);
        said += t->said;
        inside += t->inside;
        TAP_TRUE(t->said == t->read);
        TAP_TRUE((double)t->missed <= (KEYS[k].seam ? MISSED_AT_SEAM : MISSED_ELSEWHERE) * (double)t->aimed,
                 "(%s: %zu missed)", KEYS[k].key, t->missed);
        TAP_TRUE((double)t->inside >= 0.8 * (double)t->said, "(%s: inside in %zu of %zu)", KEYS[k].key, t->inside,
                 t->said);
    }
    TAP_TRUE((double)inside >= 0.9 * (double)said, "(truth inside the stated doubt: %zu of %zu)", inside, said);
    TAP_TRUE(seam_worst < 1, "(seam direction off by %.2f degrees at most)", seam_worst);
    TAP_TRUE((double)seam_lost <= 0.03 * (double)count, "(%zu seams lost or invented)", seam_lost);
    TAP_TRUE(polarity == 0 && missing_doubt == 0, "(%zu polarities wrong, %zu doubts or reasons missing)", polarity,
             missing_doubt);
    // The wall is free of the shift common to both edges, which exact pictures do not have: there the half width must
    // fit the errors. (Where it counts, reference pictures that have that shift show the same: test_known_rings.)
    const Tally *wall = &tally[6];
    double ratio = sqrt((double)wall->said / wall->in_doubts);
    TAP_TRUE(ratio > 1.0 && ratio < 3.2, "(median wall: half width is %.2f of the rms error)", ratio);
}

// ---- shapes, one by one ----------------------------------------------------------------------------------------

static sf_RingFinding *measure_scene(const sf_Scene *s, ring_Made *made, const char *name)
{
    sf_Error err = { 0 };
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    ask.torsion = false;
    ring_make(s, made);
    sf_RingFinding *f = measure(made, &ask, name, &err);
    TAP_TRUE(f != NULL, "(%s: %s)", name, err.text);
    sf_free(made->bytes);
    return f;
}

static double figure(const sf_RingFinding *f, const char *key)
{
    return f ? sf_ring_figure(&f->figures, key, -1)->value : NAN;
}

TAP_CASE(no_groove_and_no_line)
{
    ring_Made made;
    sf_Scene s = ring_small();
    sf_RingFinding *f = measure_scene(&s, &made, "plain");
    TAP_TRUE(isnan(figure(f, "seam_direction_deg")) && isnan(figure(f, "wall_at_seam_mm")));
    TAP_NEAR(figure(f, "groove_depth_mm"), 0, TAP_EXACT, TAP_INVENTED);
    TAP_NEAR(figure(f, "seam_unjoined_depth_mm"), 0, TAP_EXACT, TAP_INVENTED);
    TAP_NEAR(figure(f, "wall_min_off_seam_mm"), figure(f, "wall_min_mm"), TAP_EXACT, TAP_CLOSED_FORM);
    if (f)
        TAP_TRUE(f->scan.outline.void_count == 0 && f->scan.light_ring && !f->scan.outline.line.present);
    release(&f);
}

/// The lowest reach of an inked ring lies where a dark ring on light ground is told from a light one.
TAP_CASE(inked_and_light_rings_are_the_same_ring)
{
    ring_Made made;
    sf_Scene s = ring_small();
    s.groove_mm = 0.6;
    s.dpi = 300;
    sf_RingFinding *light = measure_scene(&s, &made, "light");
    s.face = 0.1;
    s.ground = 0.9;
    sf_RingFinding *dark = measure_scene(&s, &made, "inked");
    if (light && dark)
        TAP_TRUE(light->scan.light_ring && !dark->scan.light_ring);
    TAP_NEAR(figure(dark, "area_mm2"), figure(light, "area_mm2"), TAP_TOLERANCE("300 dpi target", 0.002, 0), TARGETS);
    TAP_NEAR(figure(dark, "groove_depth_mm"), figure(light, "groove_depth_mm"),
             TAP_TOLERANCE("300 dpi target, mm", 0, 0.06), TARGETS);
    release(&light);
    release(&dark);
}

TAP_CASE(line_through_the_wall)
{
    ring_Made made;
    sf_Scene s = ring_small();
    s.dpi = 400;
    s.groove_mm = 0.4;
    s.line_mm = -1;
    s.seam_deg = 200;
    sf_RingFinding *f = measure_scene(&s, &made, "through");
    if (f)
        TAP_TRUE(f->scan.outline.line.present && f->scan.outline.line.through && f->measure.wall.unjoined_through);
    TAP_NEAR(figure(f, "seam_unjoined_depth_mm"), made.truth.seam_unjoined_depth_mm, TAP_TOLERANCE("line, mm", 0, 0.2),
             TARGETS);
    TAP_NEAR(figure(f, "area_mm2"), made.truth.area_mm2, TAP_TOLERANCE("400 dpi target", 0.001, 0), TARGETS);
    TAP_NEAR(figure(f, "seam_direction_deg"), 200, TAP_TOLERANCE("seam, degrees", 0, 1), TARGETS);
    release(&f);
}

/// Voids from 0.4 mm clear of an edge on: counted, and without effect on the edges beside them.
TAP_CASE(voids_near_an_edge)
{
    ring_Made made;
    sf_Scene s = ring_small();
    s.outer_diameter_mm = 34;
    s.wall_mm = 5;
    s.width_mm = s.height_mm = 42;
    s.centre_x_mm = s.centre_y_mm = 21;
    s.dpi = 300;
    s.edge_loss = s.edge_glow = 0.03;
    s.void_count = 3;
    s.voids[0] = (sf_SceneVoid){ .angle_deg = 20, .share = 0.3, .long_mm = 3, .short_mm = 2 };
    s.voids[1] = (sf_SceneVoid){ .angle_deg = 140, .share = 0.7, .long_mm = 3, .short_mm = 2 };
    s.voids[2] = (sf_SceneVoid){ .angle_deg = 260, .share = 0.5, .long_mm = 0.5, .short_mm = 0.5 };
    sf_RingFinding *f = measure_scene(&s, &made, "voids");
    if (f) {
        TAP_TRUE(f->scan.outline.void_count == 3, "(%zu voids)", f->scan.outline.void_count);
        TAP_TRUE(isnan(figure(f, "seam_direction_deg")), "(a void is no seam)");
    }
    TAP_NEAR(figure(f, "void_area_mm2"), made.truth.void_area_mm2, TAP_TOLERANCE("area of voids", 0.03, 0), TARGETS);
    TAP_NEAR(figure(f, "area_mm2"), made.truth.area_mm2, TAP_TOLERANCE("300 dpi target", 0.002, 0), TARGETS);
    TAP_NEAR(figure(f, "wall_max_mm"), made.truth.wall_max_mm, TAP_TOLERANCE("300 dpi target, mm", 0, 0.03), TARGETS);
    release(&f);
}

/// A void that all but breaks through the edge cannot be drawn as one, but the ring is not refused for it.
TAP_CASE(void_through_an_edge)
{
    ring_Made made;
    sf_Scene s = ring_small();
    s.outer_diameter_mm = 34;
    s.wall_mm = 5;
    s.width_mm = s.height_mm = 42;
    s.centre_x_mm = s.centre_y_mm = 21;
    for (int i = 0; i < 6; i++) {
        s.dpi = i % 2 ? 600 : 300;
        s.void_count = 1;
        s.voids[0] = (sf_SceneVoid){ .angle_deg = 37.0 * i, .share = i < 3 ? 0.22 : 0.78, .long_mm = 3, .short_mm = 2 };
        sf_RingFinding *f = measure_scene(&s, &made, "void at the edge");
        TAP_NEAR(figure(f, "wall_median_mm"), made.truth.wall_median_mm, TAP_TOLERANCE("300 dpi target, mm", 0, 0.03),
                 TARGETS);
        release(&f);
    }
}

/// A tag with a large round number, a pencil across the border: no second ring.
TAP_CASE(things_beside_the_ring)
{
    for (int64_t i = 0; i < 10; i++) {
        sf_Scene s;
        ring_Made made;
        TAP_OK(sf_set_scene("clutter", 13, i * 7 + 21, &s, NULL));
        s.tag = s.pencil = true;
        s.dpi = 200;
        s.density = SF_DENSITY_INCH;
        sf_RingFinding *f = measure_scene(&s, &made, s.name);
        TAP_NEAR(figure(f, "area_mm2"), made.truth.area_mm2, TAP_TOLERANCE("200 dpi target", 0.004, 0), TARGETS);
        release(&f);
    }
}

TAP_CASE(two_axes_scaled_apart)
{
    ring_Made made;
    sf_Scene s = ring_small();
    s.stretch_x = 1.006;
    s.dpi = 400;
    ring_make(&s, &made);
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    ask.torsion = false;
    ask.scan.factor_x = 1 / 1.006;
    ask.scan.scale_sd = 1e-4;
    sf_Error err = { 0 };
    sf_RingFinding *f = measure(&made, &ask, "stretched", &err);
    TAP_NEAR(figure(f, "area_mm2"), made.truth.area_mm2, TAP_TOLERANCE("400 dpi target", 0.001, 0), TARGETS);
    TAP_NEAR(figure(f, "ovality_percent"), 0, TAP_TOLERANCE("round again, %", 0, 0.1), TAP_INVENTED);
    // The tag's own rounding (half a dot per metre, spread evenly) is carried beside the calibration's doubt.
    double sd = hypot(1e-4, 0.5 / 15748 / sqrt(3));
    if (f)
        TAP_NEAR(sf_ring_figure(&f->figures, "area_mm2", -1)->scale / figure(f, "area_mm2"), 2 * sd * 1.959964,
                 TAP_TOLERANCE("doubt of the scale", 1e-4, 0), TAP_CLOSED_FORM);
    release(&f);
    sf_free(made.bytes);
}

// ---- what is refused, and in which words -----------------------------------------------------------------------

TAP_CASE(every_refusal_has_its_own_sentence)
{
    static const struct {
        const char *name, *words;
    } wanted[] = {
        { "r00", "blank" },        { "r01", "blank" },        { "r02", "noise" },
        { "r03", "noise" },        { "r04", "disc" },         { "r05", "disc" },
        { "r06", "two rings" },    { "r07", "two rings" },    { "r08", "cut by" },
        { "r09", "cut by" },       { "r10", "cut by" },       { "r11", "cut by" },
        { "r12", "no ring" },      { "r13", "20 to 90 mm" },  { "r14", "20 to 90 mm" },
        { "r15", "1.5 to 15 mm" }, { "r16", "1.5 to 15 mm" }, { "r17", "does not state its resolution" },
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        sf_Scene s;
        TAP_OK(sf_set_scene("refuse", 1, (int64_t)i, &s, NULL));
        TAP_HOLDS(s.name, wanted[i].name);
        s.dpi = 200;
        ring_Made made;
        ring_make(&s, &made);
        sf_Error err = { 0 };
        sf_RingScan scan;
        const sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
        TAP_STATUS(sf_ring_scan_read(&scan, "it.png", made.bytes, made.size, &options, &err), SF_E_INPUT);
        TAP_HOLDS(err.text, wanted[i].words);
        TAP_HOLDS(err.text, "it.png");
        TAP_TRUE(!scan.outline.outer.points && !scan.view.grey, "(%s leaves nothing behind)", s.name);
        sf_free(made.bytes);
    }
}

// ---- memory ----------------------------------------------------------------------------------------------------

static sf_Status read_ring(void *context)
{
    const ring_Made *made = context;
    sf_RingScan scan;
    sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
    options.keep_view = true;
    sf_Status status = sf_ring_scan_read(&scan, "small", made->bytes, made->size, &options, NULL);
    sf_ring_scan_free(&scan);
    sf_ring_scan_free(&scan);
    return status;
}

TAP_CASE(out_of_memory)
{
    ring_Made made;
    sf_Scene s = ring_small();
    s.dpi = 150;
    s.groove_mm = 0.6;
    s.line_mm = 1.5;
    s.void_count = 1;
    s.voids[0] = (sf_SceneVoid){ .angle_deg = 30, .share = 0.5, .long_mm = 1, .short_mm = 1 };
    ring_make(&s, &made);
    tap_every_allocation(read_ring, &made, 400, "small ring");
    sf_free(made.bytes);
}

TAP_MAIN(TAP_RUN(rings_of_all_kinds), TAP_RUN(no_groove_and_no_line), TAP_RUN(inked_and_light_rings_are_the_same_ring),
         TAP_RUN(line_through_the_wall), TAP_RUN(voids_near_an_edge), TAP_RUN(void_through_an_edge),
         TAP_RUN(things_beside_the_ring), TAP_RUN(two_axes_scaled_apart), TAP_RUN(every_refusal_has_its_own_sentence),
         TAP_RUN(out_of_memory))
