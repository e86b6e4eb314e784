// SPDX-License-Identifier: GPL-3.0-or-later
// Rings of the invented shop: drawn as a scan would show them, then measured like any other.
#include "base/alloc.h"
#include "base/units.h"
#include "draw/sheet.h"
#include "record/attachment.h"
#include "study/demo_shop_inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { POINTS = 720, DUST = 40, SAW_MARKS = 14 };

// A ring in the picture's frame: lengths in mm, angles in degrees counter-clockwise.
typedef struct DrawnRing {
    double outer, wall, groove, groove_width, line, eccentric, eccentric_deg, oval, seam_deg;
    int seed;
} DrawnRing;

static const sf_Colour GLASS = { 0.06, 0.06, 0.07 }, FACE = { 0.83, 0.84, 0.82 };
static const sf_PaperMm SIDE = 60;

double demo_drift(const Demo *demo, long day)
{
    enum { BEGAN = 120 }; // days before today: a seal of the vacuum line begins to leak
    double days = (double)(BEGAN - (demo->today - day));
    return days > 0 ? days / BEGAN : 0;
}

static DrawnRing ring_of(const Demo *demo, const DemoLimb *l)
{
    double drift = demo_drift(demo, demo->day), dice = demo_dice(l->number, 1);
    DrawnRing r = { .outer = l->child ? 40.2 : 50.2,
                    .wall = (l->child ? 4.6 : 6.0) * (1 + 0.02 * dice - 0.11 * drift),
                    .groove = 0.35 + 0.12 * demo_dice(l->number, 2) + 0.75 * drift,
                    .groove_width = 6,
                    .eccentric = 0.12 + 0.1 * demo_dice(l->number, 3),
                    .eccentric_deg = 180 * demo_dice(l->number, 4),
                    .oval = 0.1 + 0.08 * demo_dice(l->number, 5),
                    .seam_deg = 266 + 3 * demo_dice(l->number, 6),
                    .seed = l->number };
    if (l->child)
        r.groove *= 0.8;
    if (l->measured_again)
        return r;
    if (l->person->twist == DEMO_REJECTED || l->person->twist == DEMO_FORMED_AGAIN)
        r.line = 2.4;
    if (l->person->twist == DEMO_SQUEEZE_WANTED)
        r.line = 0.5;
    return r;
}

static double radius_inside(const DrawnRing *r, double angle)
{
    double inner = 0.5 * r->outer - r->wall;
    double away = inner * remainder(angle - r->seam_deg * SF_DEG, 2 * SF_PI);
    if (fabs(away) < 0.5 * r->groove_width)
        inner += 0.5 * r->groove * (1 + cos(2 * SF_PI * away / r->groove_width));
    return inner;
}

static sf_Spot spot(double radius, double angle, double x, double y)
{
    return (sf_Spot){ 0.5 * SIDE + x + radius * cos(angle), 0.5 * SIDE - y - radius * sin(angle) };
}

static void draw_edges(sf_Sheet *sheet, const DrawnRing *r, sf_Spot *outer, sf_Spot *inner)
{
    double ex = r->eccentric * cos(r->eccentric_deg * SF_DEG), ey = r->eccentric * sin(r->eccentric_deg * SF_DEG);
    for (size_t i = 0; i < POINTS; i++) {
        double angle = 2 * SF_PI * (double)i / POINTS;
        outer[i] = spot(0.5 * (r->outer + r->oval * cos(2 * angle)), angle, 0, 0);
        inner[i] = spot(radius_inside(r, angle), angle, ex, ey);
    }
    const sf_Loop loops[] = { { outer, POINTS }, { inner, POINTS } };
    sf_sheet_fill(sheet, loops, 2, FACE);
    if (r->line > 0) {
        double angle = r->seam_deg * SF_DEG, bottom = radius_inside(r, angle);
        const sf_Pen pen = { GLASS, 0.2, SF_DASH_NONE };
        sf_sheet_line(sheet, spot(bottom - 0.1, angle, ex, ey), spot(bottom + r->line, angle, ex, ey), &pen);
    }
    const sf_Pen saw = { { 0.80, 0.81, 0.79 }, 0.15, SF_DASH_NONE };
    sf_sheet_clip(sheet, loops, 2);
    for (int i = 0; i < SAW_MARKS; i++) {
        double y = SIDE * (0.1 + 0.8 * (double)i / SAW_MARKS) + demo_dice(r->seed, 100 + i);
        sf_sheet_line(sheet, (sf_Spot){ 0, y }, (sf_Spot){ SIDE, y + 4 }, &saw);
    }
    sf_sheet_unclip(sheet);
}

static sf_Status draw_picture(const DrawnRing *r, unsigned char **bytes, size_t *size, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    sf_Spot *spots = sf_alloc(2 * (size_t)POINTS, sizeof *spots);
    if (!spots)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while drawing an invented ring");
    SF_TRY_DONE(sf_sheet_create(&sheet, SF_SHEET_PNG, SIDE, SIDE, err));
    sf_sheet_fill_box(sheet, sf_sheet_box(sheet), GLASS);
    draw_edges(sheet, r, spots, spots + POINTS);
    for (int i = 0; i < DUST; i++) { // on the glass, clear of the ring
        double angle = SF_PI * demo_dice(r->seed, 200 + i), away = 27.5 + demo_dice(r->seed, 300 + i);
        sf_sheet_dot(sheet, spot(away, angle, 0, 0), 0.04, (sf_Colour){ 0.3, 0.3, 0.3 });
    }
    status = sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    sf_free(spots);
    return status;
}

static sf_Status send_picture(Demo *demo, DemoLimb *l, char hash[SF_DIGEST_HEX])
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    int64_t id;
    DrawnRing drawn = ring_of(demo, l);
    char name[60];
    sf_Status status;
    SF_TRY(draw_picture(&drawn, &bytes, &size, demo->err));
    status = sf_shelf_put(demo->store, bytes, size, hash, demo->err);
    sf_free(bytes);
    SF_TRY(status);
    snprintf(name, sizeof name, "invented ring of limb %d.png", l->number + 1);
    sf_Attachment row = { .limb = l->id, .file_hash = hash, .name = name, .media_type = "image/png" };
    return sf_attachment_add(demo->transaction, &row, &id, demo->err);
}

sf_Status demo_ring(Demo *demo, DemoLimb *l, DemoWho who)
{
    char hash[SF_DIGEST_HEX], when[SF_TIME_TEXT];
    sf_CaseRecorded recorded;
    sf_CaseRing *ring = NULL;
    sf_CaseRingAsk ask = SF_CASE_RING_ASK;
    SF_TRY(demo_say(demo, l, who, "ring-marked",
                    "{'ring_number':'R%d','up_arrow':true,'posterior_line':true,'outward_dot':true}",
                    l->measured_again ? 2 : 1));
    SF_TRY(send_picture(demo, l, hash));
    SF_TRY(demo_commit(demo)); // the picture has its row before it is measured
    demo->minute += 3;
    demo_time(demo, 0, when);
    ask.happened_at = when;
    ask.limb = l->id;
    ask.picture = hash;
    ask.posterior_deg = 264;
    ask.height_mm = l->cut_mm;
    SF_TRY(sf_limb_case_ring_measure(&ring, demo->store, demo->table, &ask, demo->err));
    sf_Status status = sf_transaction_write(&demo->transaction, demo->store, demo->staff[who], demo->err);
    demo->actor = who;
    if (status == SF_OK)
        status = sf_limb_case_ring_record(demo->transaction, demo->table, ring, true, &recorded, demo->err);
    sf_limb_case_ring_free(&ring);
    l->last = recorded.fact;
    demo->shop->facts++;
    demo->shop->rings++;
    return status;
}
