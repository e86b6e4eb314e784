// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of a ring: no lettering covers other lettering or runs out of its place, whatever the ring, and an SVG
// says in words what it shows. Rings are invented.
#define _POSIX_C_SOURCE 200809L
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/ring_sheet.h"
#include "ring_encode.h"
#include "ring_paint.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { POINTS = 720, VIEW_SIDE = 64 };

// One ring with all that is known of it.
typedef struct Bench {
    sf_Outline outline;
    sf_RingMeasure measure;
    sf_RingDecision decision;
    sf_RingLimits limits;
    sf_RingContext context;
    sf_RingScan scan;
    uint8_t grey[VIEW_SIDE * VIEW_SIDE];
    sf_RingView view;
    sf_RingSheet sheet;
} Bench;

// What kind of ring; angles in degrees, lengths in mm.
typedef struct Shape {
    double outer, wall, off_centre, groove, seam, line; // line: share of the wall; 1 goes through
    size_t voids;
    bool searched;
} Shape;

static void lay_void(sf_Outline *o, double angle, double at)
{
    enum { CORNERS = 12 };
    sf_Polygon *v = &o->voids[o->void_count];
    if (sf_polygon_create(v, CORNERS, NULL) != SF_OK)
        return;
    for (size_t i = 0; i < CORNERS; i++) {
        double t = 2 * SF_PI * (double)i / CORNERS;
        v->points[i] =
            (sf_Point){ (30 + at * cos(angle) + 0.5 * cos(t)) * SF_MM, (32 + at * sin(angle) + 0.5 * sin(t)) * SF_MM };
    }
    o->void_count++;
}

static void make_outline(sf_Outline *o, const Shape *s)
{
    *o = (sf_Outline){ .line_searched = s->searched };
    o->doubt = (sf_EdgeDoubt){
        .bias_outer = 1e-5, .bias_inner = 1e-5, .random = 1e-5, .correlation = 1e-4, .line_end = 1e-5, .scale = 0.0025
    };
    if (sf_polygon_create(&o->outer, POINTS, NULL) != SF_OK || sf_polygon_create(&o->inner, POINTS, NULL) != SF_OK)
        return;
    double at_seam = 0;
    for (size_t i = 0; i < POINTS; i++) {
        double t = 2 * SF_PI * (double)i / POINTS, u = remainder(t - s->seam * SF_DEG, 2 * SF_PI) / (4 * SF_DEG);
        double wall = s->wall + s->off_centre * cos(t - 2) - s->groove * exp(-u * u);
        if (fabs(u) < 0.1)
            at_seam = wall;
        o->outer.points[i] = (sf_Point){ (30 + s->outer / 2 * cos(t)) * SF_MM, (32 + s->outer / 2 * sin(t)) * SF_MM };
        o->inner.points[i] =
            (sf_Point){ (30 + (s->outer / 2 - wall) * cos(t)) * SF_MM, (32 + (s->outer / 2 - wall) * sin(t)) * SF_MM };
    }
    double c = cos(s->seam * SF_DEG), n = sin(s->seam * SF_DEG), inner = s->outer / 2 - at_seam;
    double tip = inner + s->line * at_seam;
    if (s->line > 0)
        o->line = (sf_UnjoinedLine){ true,
                                     s->line >= 1,
                                     { (30 + inner * c) * SF_MM, (32 + inner * n) * SF_MM },
                                     { (30 + tip * c) * SF_MM, (32 + tip * n) * SF_MM } };
    for (size_t i = 0; i < s->voids; i++)
        lay_void(o, s->seam * SF_DEG + 1.9 + 0.35 * (double)i, s->outer / 2 - s->wall / 2);
}

static Bench *bench_open(void)
{
    Bench *b = sf_alloc(1, sizeof *b);
    char path[1024];
    snprintf(path, sizeof path, "%s/data/ring_limits.json", getenv("TAP_ROOT"));
    TAP_OK(sf_ring_limits_load(&b->limits, path, NULL));
    b->context = SF_RING_CONTEXT_EMPTY;
    return b;
}

static void bench_close(Bench *b)
{
    sf_outline_free(&b->outline);
    sf_ring_scan_free(&b->scan);
    sf_free(b);
}

// A coarse picture under the outline.
static void lay_view(Bench *b)
{
    for (size_t i = 0; i < sizeof b->grey; i++)
        b->grey[i] = (uint8_t)(i * 7);
    b->view =
        (sf_RingView){ .grey = b->grey, .width = VIEW_SIDE, .height = VIEW_SIDE, .pitch_x = 1e-3, .pitch_y = 1e-3 };
}

static void judge(Bench *b, const sf_Outline *outline, bool scanned)
{
    sf_Error err = { 0 };
    if (!TAP_TRUE(sf_ring_measure(&b->measure, outline, NAN, &err) == SF_OK, "%s", err.text))
        return;
    sf_ring_decide(&b->decision, &b->measure, &b->context, &b->limits);
    b->sheet = (sf_RingSheet){ .name = "an invented ring.png",
                               .program = "standfast",
                               .scans = 1,
                               .safety = "An aid to the judgement of a licensed prosthetist, not a certificate: a limb "
                                         "that breaks can injure or kill, and this replaces neither the physical tests "
                                         "of ISO 10328 and ISO 22675 nor the component makers' limits; local law and "
                                         "licensed practice come first.",
                               .view = scanned ? &b->view : NULL,
                               .dpi = scanned ? 600 : NAN,
                               .outline = outline,
                               .measure = &b->measure,
                               .decision = &b->decision,
                               .limits = &b->limits,
                               .context = &b->context,
                               .posterior_angle = NAN,
                               .outward_angle = NAN };
}

static bool no_faults(Bench *b, const char *what)
{
    sf_Sheet *sheet = NULL;
    const char *first = "";
    TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, SF_A5_LONG, SF_A5_SHORT, NULL));
    TAP_OK(sf_ring_sheet_paint(sheet, &b->sheet, NULL));
    size_t faults = sf_sheet_faults(sheet, &first);
    if (faults > 0)
        tap_note("%s: %zu faults: %s", what, faults, first);
    TAP_TRUE(sf_sheet_text_count(sheet) > 40);
    sf_sheet_destroy(&sheet);
    return faults == 0;
}

// Sizes from the smallest to the largest ring, all kinds of trouble, seam and limb marks all the way round.
TAP_CASE(lettering_fits_whatever_the_ring)
{
    static const Shape shapes[] = {
        { 45, 5.5, 0, 0, 0, 0, 0, true },      { 45, 5.5, 0.9, 0.9, 0, 0.5, 0, true },
        { 30, 3.6, 0.3, 0.5, 0, 0, 4, true },  { 22, 3.5, 0.6, 0.8, 0, 0.3, 2, true },
        { 56, 6.5, 1.6, 2.6, 0, 1, 12, true }, { 88, 9, 1.5, 2, 0, 0.1, 1, true },
        { 45, 5.5, 1.2, 1.9, 0, 0, 0, false },
    };
    const int step = getenv("TAP_LONG") ? 1 : 3;
    size_t bad = 0, all = 0;
    Bench *b = bench_open();
    lay_view(b);
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        for (int turn = 0; turn < 24; turn += step, all++) {
            Shape shape = shapes[i];
            shape.seam = 15 * turn + 3;
            bool told = turn % 3 != 0, scanned = turn % 4 != 0 && shape.searched;
            b->context = SF_RING_CONTEXT_EMPTY;
            b->context.source = scanned ? SF_RING_PICTURE : SF_RING_CALIPER;
            b->context.nominal_wall = told ? 6 * SF_MM : NAN;
            b->context.user = turn % 3 == 1 ? SF_USER_ADULT : SF_USER_UNKNOWN;
            b->context.body_mass = turn % 3 == 2 ? 38 : NAN;
            b->context.proof = turn % 5 == 0 ? SF_PROOF_FAILED : SF_PROOF_NONE;
            // Most of all that can be said: strength in every colour, a squeeze in its words, the fit in the clamp.
            sf_RingLoad load = { .level = "P3-scaled",
                                 .proof_factor = 0.3 + 0.05 * turn,
                                 .walking_factor = 0.8 + 0.06 * turn,
                                 .heat_factor = 0.6 + 0.04 * turn,
                                 .heat_temperature = 50,
                                 .mass = 118,
                                 .scaled = true,
                                 .comparison_only = turn % 4 == 1 };
            if (turn % 2 == 1) {
                b->context.load = &load;
                b->context.shank = 37.5 * SF_MM;
                b->context.rim = 50.4 * SF_MM;
                b->context.proof_words =
                    "The seam's inner edge held 59.9 MPa in the squeeze (from the load alone: nobody "
                    "said what the seam showed); the outer edge was not pulled.";
            }
            make_outline(&b->outline, &shape);
            TAP_OK(sf_outline_check(&b->outline, NULL));
            judge(b, &b->outline, scanned);
            b->sheet.scans = 1 + (size_t)turn % 2;
            if (turn % 2 == 0) {
                b->sheet.posterior_angle = (double)turn * 37 * SF_DEG;
                b->sheet.outward_angle = b->sheet.posterior_angle + SF_PI / 2;
            }
            char what[80];
            snprintf(what, sizeof what, "shape %zu, seam at %.0f degrees", i, shape.seam);
            bad += !no_faults(b, what);
            sf_outline_free(&b->outline);
        }
    TAP_TRUE(bad == 0, "%zu of %zu", bad, all);
    bench_close(b);
}

// The demo's rings, from file to sheet.
static void try_scene(Bench *b, const sf_Scene *scene)
{
    char path[] = "/tmp/standfast-sheet-XXXXXX";
    int fd = mkstemp(path);
    if (!TAP_TRUE(fd >= 0))
        return;
    close(fd);
    sf_Field light = { 0 };
    unsigned char *bytes = NULL;
    size_t size = 0;
    TAP_OK(sf_paint_scene(scene, &light, NULL));
    TAP_OK(sf_encode_scene(scene, &light, path, NULL));
    sf_field_destroy(&light);
    TAP_OK(sf_file_read(path, 1 << 28, &bytes, &size, NULL));
    unlink(path);
    sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
    options.keep_view = true;
    sf_Error err = { 0 };
    bool read = sf_ring_scan_read(&b->scan, scene->name, bytes, size, &options, &err) == SF_OK;
    sf_free(bytes);
    if (!TAP_TRUE(read, "%s: %s", scene->name, err.text))
        return;
    for (int told = 0; told < 2; told++) {
        b->context = SF_RING_CONTEXT_EMPTY;
        b->context.nominal_wall = told ? 6 * SF_MM : NAN;
        b->context.user = told ? SF_USER_ADULT : SF_USER_UNKNOWN;
        judge(b, &b->scan.outline, true);
        b->sheet.view = &b->scan.view;
        b->sheet.posterior_angle = told ? 262 * SF_DEG : NAN;
        b->sheet.outward_angle = told ? 352 * SF_DEG : NAN;
        TAP_TRUE(no_faults(b, scene->name), "%s", scene->name);
    }
    sf_ring_scan_free(&b->scan);
}

TAP_CASE(lettering_fits_on_the_demo_rings)
{
    char path[1024];
    sf_Doc *doc = NULL;
    snprintf(path, sizeof path, "%s/data/demo/rings.json", getenv("TAP_ROOT"));
    TAP_OK(sf_doc_read_file(&doc, path, NULL));
    const sf_DocNode list = sf_doc_member(sf_doc_root(doc), "scenes");
    TAP_TRUE(sf_doc_length(list) >= 6);
    Bench *b = bench_open();
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        sf_Scene scene;
        sf_scene_read(sf_doc_item(list, i), &scene);
        try_scene(b, &scene);
    }
    bench_close(b);
    sf_doc_destroy(&doc);
}

static sf_Status paint(Bench *b, sf_SheetKind kind, unsigned char **bytes, size_t *size, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_ring_sheet_paint(sheet, &b->sheet, err));
    return sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}

static const Shape TROUBLED = { 45, 5.5, 0.9, 0.9, 200, 0.5, 2, true };

static Bench *bench_of(const Shape *shape)
{
    Bench *b = bench_open();
    lay_view(b);
    make_outline(&b->outline, shape);
    TAP_OK(sf_outline_check(&b->outline, NULL));
    judge(b, &b->outline, true);
    return b;
}

// The words that an SVG must hold, with XML's own signs told as XML does.
static void must_hold(const char *svg, const char *words)
{
    char escaped[2 * SF_REASON_TEXT] = "";
    for (size_t n = 0; *words && n + 6 < sizeof escaped; words++) {
        const char *sign = *words == '<' ? "&lt;" : *words == '>' ? "&gt;" : *words == '&' ? "&amp;" : NULL;
        n += (size_t)snprintf(escaped + n, sizeof escaped - n, sign ? "%s" : "%.1s", sign ? sign : words);
    }
    TAP_HOLDS(svg, escaped);
}

TAP_CASE(svg_says_decision_and_reasons)
{
    Bench *b = bench_of(&TROUBLED);
    unsigned char *bytes = NULL;
    size_t size = 0;
    TAP_OK(paint(b, SF_SHEET_SVG, &bytes, &size, NULL));
    char *text = sf_copy_text((const char *)bytes, size);
    TAP_TRUE(b->decision.reason_count >= 6 && b->decision.cause_count > 0);
    must_hold(text, sf_verdict_word(b->decision.verdict));
    must_hold(text, b->decision.words);
    for (size_t i = 0; i < b->decision.reason_count; i++)
        must_hold(text, b->decision.reasons[i].text);
    must_hold(text, b->sheet.safety);
    TAP_HOLDS(text, "width=\"210mm\" height=\"148mm\"");
    sf_free(text);
    sf_free(bytes);
    bench_close(b);
}

TAP_CASE(same_ring_gives_same_bytes)
{
    Bench *b = bench_of(&TROUBLED);
    for (int kind = 0; kind < 3; kind++) {
        unsigned char *first = NULL, *second = NULL;
        size_t a = 0, c = 0;
        TAP_OK(paint(b, (sf_SheetKind)kind, &first, &a, NULL));
        TAP_OK(paint(b, (sf_SheetKind)kind, &second, &c, NULL));
        TAP_TRUE(a == c && memcmp(first, second, a) == 0, "kind %d", kind);
        sf_free(first);
        sf_free(second);
    }
    bench_close(b);
}

// A mark's grey pattern differs between decisions: told without colour, at the size of a reason's mark.
TAP_CASE(decisions_differ_without_colour)
{
    Bench *b = bench_of(&TROUBLED);
    unsigned char *bytes[4] = { NULL };
    size_t sizes[4] = { 0 };
    for (int i = 0; i < 4; i++) {
        b->decision.verdict = (sf_Verdict)i;
        snprintf(b->decision.words, sizeof b->decision.words, "same words");
        TAP_OK(paint(b, SF_SHEET_PNG, &bytes[i], &sizes[i], NULL));
        for (int j = 0; j < i; j++)
            TAP_TRUE(sizes[i] != sizes[j] || memcmp(bytes[i], bytes[j], sizes[i]) != 0);
    }
    for (int i = 0; i < 4; i++)
        sf_free(bytes[i]);
    bench_close(b);
}

static sf_Status paint_once(void *context)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status = paint(context, SF_SHEET_SVG, &bytes, &size, NULL);
    sf_free(bytes);
    return status;
}

TAP_CASE(out_of_memory_is_told)
{
    Bench *b = bench_of(&TROUBLED);
    tap_every_allocation(paint_once, b, 400, "painting a ring");
    bench_close(b);
}

TAP_MAIN(TAP_RUN(lettering_fits_whatever_the_ring), TAP_RUN(lettering_fits_on_the_demo_rings),
         TAP_RUN(svg_says_decision_and_reasons), TAP_RUN(same_ring_gives_same_bytes),
         TAP_RUN(decisions_differ_without_colour), TAP_RUN(out_of_memory_is_told))
