// SPDX-License-Identifier: GPL-3.0-or-later
// The bench traveller: goes through the shop with the limb, from model to check-out, with figures to work to, boxes and
// initials. Precautions stand with the steps that want them.
#include "report/limb_paper.h"

#include "base/units.h"

#include <math.h>
#include <stdio.h>

static void check(sf_LimbPaper *paper, const char *text)
{
    sf_pages_check(&paper->pages, SF_MARK_EMPTY, text, "");
}

static const char *figure(const sf_LimbPaper *paper, const sf_Figures *f, const char *key)
{
    return sf_paper_length(paper, sf_figures_number(f, key) * SF_MM);
}

static void write_plan(sf_LimbPaper *paper)
{
    const sf_LimbData *d = &paper->limb->data;
    double load = isfinite(d->person.habitual_load) ? d->person.habitual_load : 0;
    sf_Pages *p = &paper->pages;
    sf_pages_heading(p, "1  Plan");
    sf_pages_row(p, "Body mass with what is carried", sf_paper_mass(paper, d->person.body_mass + load),
                 sf_paper_text("foot to %s, adapter to %s", sf_paper_mass(paper, d->foot.max_user_mass),
                               sf_paper_mass(paper, d->adapter.max_user_mass)));
    sf_pages_row(p, "Socket as formed: flexion, adduction",
                 sf_paper_text("%s, %s", sf_paper_angle(d->socket.flexion), sf_paper_angle(d->socket.adduction)),
                 "frozen by forming: signed before the oven");
    sf_pages_row(p, "Adapter: shank, rim, grip",
                 sf_paper_text("%s, %s, %s", sf_paper_length(paper, d->adapter.shank),
                               sf_paper_length(paper, d->adapter.rim), sf_paper_length(paper, d->adapter.depth)),
                 sf_paper_text("expected wall %s", sf_paper_length(paper, d->pylon.expected_wall)));
}

static void write_forming(sf_LimbPaper *paper)
{
    const sf_LimbPylon *y = &paper->limb->data.pylon;
    const sf_LimbForming *f = &y->forming;
    sf_Pages *p = &paper->pages;
    sf_pages_heading(p, "2  Model and forming");
    check(paper, "Model: knee line, posterior midline and outward midline carried over; number on it");
    check(paper, "LAST LOOK before the oven: flexion, adduction, side; read aloud, two initials");
    sf_pages_row(p, "Sheet lot, thickness",
                 sf_paper_text("%s, %s", sf_paper_or_line(y->sheet_lot), sf_paper_length(paper, f->sheet)),
                 "dry model, dry sheet");
    sf_pages_row(p, "Oven, time under vacuum",
                 sf_paper_text("%s, %s",
                               isfinite(f->oven_c) ? sf_paper_text("%.0f \u00b0C", f->oven_c) : "______ \u00b0C",
                               isfinite(f->vacuum_time) ? sf_paper_text("%.0f s", f->vacuum_time) : "______ s"),
                 sf_paper_text("formed by %s", sf_paper_or_line(f->by)));
    check(paper, "Hot sheet: long sleeves, heat gloves, two people; nobody reaches under the frame");
    check(paper,
          "Broken out, trimmed, edges rounded; dust extracted, eyes covered; liner and lock tried, pull test done");
}

static void write_ring(sf_LimbPaper *paper)
{
    const sf_Figures *f = &paper->length;
    sf_Pages *p = &paper->pages;
    sf_pages_heading(p, "3  First cut and ring");
    if (f->doc) {
        sf_pages_row(p, "First cut: mark below the knee line, along the pylon",
                     figure(paper, f, "first_cut_below_knee_level_mm"),
                     sf_paper_text("%s long on purpose", figure(paper, f, "leave_long_mm")));
        sf_pages_row(
            p, "Final cut: below the knee line; above the floor",
            sf_paper_text("%s; %s", figure(paper, f, "cut_below_knee_level_mm"), figure(paper, f, "cut_height_mm")),
            sf_paper_text("knee level %s, \u00b1 %s (1 SD)", figure(paper, f, "knee_level_mm"),
                          figure(paper, f, "tolerance_mm")));
        sf_pages_row(p, "Left for a re-cut", figure(paper, f, "recut_left_mm"), "cylinder above the grip");
    } else {
        sf_pages_row(p, "Cut", "not computed", f->why_not);
    }
    check(paper, "On the ring before sawing: number, up-arrow, posterior line, outward dot");
    check(paper, "LAST LOOK before the saw: knee line, mark, side; read aloud, two initials. Blade guarded, limb held");
    check(paper, "Ring deburred, cold after 24 h, scanned; decision: ______________________");
    check(paper, "Seam squeezed, or said why not: ______________________");
}

static void write_fitting(sf_LimbPaper *paper)
{
    const sf_LimbData *d = &paper->limb->data;
    sf_Pages *p = &paper->pages;
    sf_pages_heading(p, "4  Foot on the clamp, standing, walking");
    sf_pages_row(p, "Start: toe-out; foot forward, outset",
                 sf_paper_text("%s; %s, %s", sf_paper_angle(d->alignment.toe_out),
                               sf_paper_length(paper, d->alignment.foot_forward),
                               sf_paper_length(paper, d->alignment.foot_outset)),
                 sf_paper_text("shoe heel %s", sf_paper_length(paper, d->shoe.heel)));
    if (isfinite(d->adapter.holding_screw.torque))
        sf_pages_row(p, "Holding screw", sf_paper_torque(d->adapter.holding_screw.torque),
                     "looked at before each walk, with its witness mark");
    check(paper, "Standing: ply ____, block ____, heels at most 15 cm apart, sole flat, pistoning, pressure");
    check(paper, "Walks between bars or with an assistant until the permanent fixing is in");
    check(paper, "Trimmed after standing; second ring looked at");
    check(paper, "Alignment settled by (name): ______________________");
}

static void write_fixing(sf_LimbPaper *paper)
{
    const sf_LimbAdapter *a = &paper->limb->data.adapter;
    const sf_Figures *v = &paper->vent;
    sf_Pages *p = &paper->pages;
    sf_pages_heading(p, "5  Fixing, vent, check-out");
    check(paper,
          "LAST LOOK before the drill: settings settled, wrap's bars 100 mm, stop collar; read aloud, two initials");
    sf_pages_row(p, "Permanent fixing", sf_paper_torque(a->permanent_torque),
                 a->permanent_fixing == SF_LIMB_FIXING_PINCH_BAND ? "pinch band; maker's sheet"
                 : a->permanent_fixing == SF_LIMB_FIXING_THROUGH_SCREWS
                     ? "screws through the wall, see the wrap; maker's sheet"
                     : "fixing not named");
    sf_pages_row(p, "Foot bolt", sf_paper_torque(a->foot_bolt.torque), "maker's sheet; torque wrench, no feel");
    if (sf_figures_flag(v, "allowed"))
        sf_pages_row(p, "Vent", sf_paper_text("\u00d8 %s", figure(paper, v, "diameter_mm")),
                     sf_paper_text("%s above the floor", figure(paper, v, "place.height_mm")));
    else
        sf_pages_row(p, "Vent", "NONE",
                     v->doc && sf_figures_text(v, "reason") ? sf_figures_text(v, "reason") : v->why_not);
    check(paper, "Adhesive and solvent: ventilated, gloves, no flame");
    check(paper, "Witness marks drawn; holding screw out, dent read ______, or left on purpose");
    check(paper,
          "Check-out: toe-out ____ and length ____ read again; walked, sat, donned and doffed; skin after 10-20 min");
    check(paper, "Weighed ______; cover; back to standing after any change of spacer, foot, shoe, bolt, adapter, "
                 "suspension, hole, cut, glue, heat");
}

void sf_traveller_write(sf_LimbPaper *paper)
{
    write_plan(paper);
    write_forming(paper);
    write_ring(paper);
    write_fitting(paper);
    write_fixing(paper);
}
