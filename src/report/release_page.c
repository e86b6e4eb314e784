// SPDX-License-Identifier: GPL-3.0-or-later
// The release: every check on one page, signed; behind it delivery, statement and what the figures rest on.
#include "report/limb_paper.h"

#include "base/text.h"
#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MOST_NOTES = 14, LINE_TEXT = 600 };

// The stages that a release rests on, for a paper without a record.
static const char *const CHECKS[] = {
    "Plan: one-piece limb judged right; body mass and activity within every part's limits",
    "Ring accepted (number, up-arrow, posterior line and outward dot on it)",
    "Seam proved by squeezing the ring, or said why not",
    "Lock and its pull test; the lock's own mass limit",
    "Cut to length after standing; last ring looked at",
    "Standing: length, sole flat, pistoning, pressure",
    "Walking trials; alignment settled by a named prosthetist",
    "Permanent fixing to its torque; foot bolt to its torque; witness mark drawn",
    "Holding screw removed and its dent read, or left on purpose",
    "Vent drilled, or not needed; edges rounded",
    "Check-out: toe-out and length read again after fastening",
    "Check-out: walked, sat, donned and doffed",
    "Check-out: skin after 10 to 20 minutes",
    "Weighed; cover fitted",
    "Delivery talk held; care sheet and statement handed over",
};

// ---- who and what ---------------------------------------------------------------------------------------------------

static void write_identity(sf_LimbPaper *paper)
{
    static const char *const activities[] = { "activity not entered", "activity low", "activity moderate",
                                              "activity high" };
    const sf_LimbData *d = &paper->limb->data;
    const sf_LimbForming *f = &d->pylon.forming;
    double load = isfinite(d->person.habitual_load) ? d->person.habitual_load : 0;
    sf_Pages *p = &paper->pages;
    sf_pages_heading(p, "The limb");
    sf_pages_row(p, "Wearer, side",
                 sf_paper_text("%s, %s", sf_paper_or_line(d->person.label),
                               d->person.side == SF_LIMB_SIDE_LEFT ? "left" : "right"),
                 sf_paper_text("%s with what is carried, %s", sf_paper_mass(paper, d->person.body_mass + load),
                               activities[d->person.activity]));
    sf_pages_row(p, "Pylon: sheet lot, material", sf_paper_or_line(d->pylon.sheet_lot),
                 sf_paper_text("%s, %zu ring%s measured", d->pylon.material ? d->pylon.material : "pp-copolymer",
                               d->pylon.ring_count, d->pylon.ring_count == 1 ? "" : "s"));
    if (f->there)
        sf_pages_row(p, "Forming",
                     sf_paper_text("sheet %s, oven %s", sf_paper_length(paper, f->sheet),
                                   isfinite(f->oven_c) ? sf_paper_text("%.0f \u00b0C", f->oven_c) : "not known"),
                     sf_paper_text("%s%s%s", f->by ? f->by : "", f->by && f->date ? ", " : "", f->date ? f->date : ""));
}

/// "foot" or "foot-activity" in words.
static const char *gate_words(const char *part)
{
    const char *dash = part ? strstr(part, "-activity") : NULL;
    if (dash)
        return sf_paper_text("Activity class of the %.*s", (int)(dash - part), part);
    return sf_paper_text("Greatest body mass on the %s", part ? part : "part");
}

static void write_gates(sf_LimbPaper *paper, size_t *shut)
{
    const sf_Figures *f = &paper->strength;
    *shut = f->doc ? 0 : 1;
    for (size_t i = 0; i < sf_figures_length(f, "gates"); i++) {
        const char *unit = sf_figures_text(f, sf_paper_text("gates[%zu].unit", i));
        bool open = sf_figures_flag(f, sf_paper_text("gates[%zu].open", i)), mass = unit && strcmp(unit, "kg") == 0;
        const char *at[] = { sf_paper_text("gates[%zu].value", i), sf_paper_text("gates[%zu].limit", i) }, *said[2];
        for (int k = 0; k < 2; k++)
            said[k] = mass ? sf_paper_mass(paper, sf_figures_number(f, at[k])) : sf_figures_text(f, at[k]);
        *shut += !open;
        sf_pages_row(&paper->pages, gate_words(sf_figures_text(f, sf_paper_text("gates[%zu].part", i))),
                     sf_paper_text("%s: %s", open ? "open" : "SHUT", said[0] ? said[0] : "not known"),
                     sf_paper_text("limit %s", said[1] ? said[1] : "not entered"));
    }
}

// ---- figures --------------------------------------------------------------------------------------------------------

/// The least of a factor over the conditions of a level, by force kind, and the case that has it.
static double factor_of(const sf_Figures *f, const char *key, const char *level, const char *kind, const char **name)
{
    double least = NAN;
    for (size_t i = 0; i < sf_figures_length(f, "cases"); i++) {
        const char *its = sf_figures_text(f, sf_paper_text("cases[%zu].level", i));
        const char *force = sf_figures_text(f, sf_paper_text("cases[%zu].force_kind", i));
        double factor = sf_figures_number(f, sf_paper_text("cases[%zu].%s", i, key));
        if (!its || !force || strcmp(its, level) != 0 || strcmp(force, kind) != 0 || !(factor < least || isnan(least)))
            continue;
        least = factor;
        *name = sf_figures_text(f, sf_paper_text("cases[%zu].name", i));
    }
    return least;
}

/// First yield and collapse under the forces of one level; *below is set when it yields before the proof force.
static void write_level(sf_LimbPaper *paper, const char *level, bool *below)
{
    static const char *const kinds[] = { "proof", "ultimate-lower", "cyclic" };
    const sf_Figures *f = &paper->strength;
    const char *card = sf_figures_text(f, "material.card");
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        const char *name = NULL, *other = NULL;
        double yield = factor_of(f, "elastic_factor", level, kinds[i], &name);
        double collapse = factor_of(f, "collapse_factor", level, kinds[i], &other);
        if (!name)
            continue; // this level was not computed
        *below = *below || (i == 0 && yield < 1);
        sf_pages_row(
            &paper->pages, sf_paper_text("%s, %s force: first yield%s", level, kinds[i], other ? ", collapse" : ""),
            sf_paper_text(
                "%.2f times%s%s", yield, yield < 1 ? ", BEFORE it" : "",
                isfinite(collapse) ? sf_paper_text("; %.2f times%s", collapse, collapse < 1 ? ", BEFORE it" : "") : ""),
            sf_paper_text("%s, %s, 23 \u00b0C", name, card ? card : ""));
    }
}

static void write_strength(sf_LimbPaper *paper, bool *below)
{
    const sf_Figures *f = &paper->strength;
    const char *level = sf_figures_text(f, "level_for_mass");
    sf_Pages *p = &paper->pages;
    if (!f->doc) {
        sf_pages_row(p, "First yield of the pylon", "not computed", f->why_not);
        return;
    }
    if (!level)
        sf_pages_row(p, "First yield of the pylon", "no level is held for this body mass", "");
    else
        write_level(paper, level, below);
    bool scaled = false;
    write_level(paper, "P3-scaled", &scaled); // below 60 kg, outside the standard
    if (sf_figures_flag(f, "provisional"))
        sf_pages_row(p, "Basis of these figures", "PROVISIONAL",
                     "something that a release needs was assumed, see behind");
}

static void write_alignment(sf_LimbPaper *paper)
{
    const sf_LimbAlignment *a = &paper->limb->data.alignment;
    sf_Pages *p = &paper->pages;
    sf_pages_row(
        p, "Alignment settled: toe-out; foot forward, outset",
        sf_paper_text("%s; %s, %s", sf_paper_angle(a->toe_out), sf_paper_length(paper, a->foot_forward),
                      sf_paper_length(paper, a->foot_outset)),
        sf_paper_text("dorsiflexion %s, eversion %s", sf_paper_angle(a->dorsiflexion), sf_paper_angle(a->eversion)));
    sf_pages_row(
        p, "Shoe: heel, sole",
        sf_paper_text("%s, %s", sf_paper_length(paper, paper->limb->data.shoe.heel),
                      sf_paper_length(paper, paper->limb->data.shoe.sole)),
        sf_paper_text("foot built for a heel rise of %s", sf_paper_length(paper, paper->limb->data.foot.heel_height)));
}

static void write_length(sf_LimbPaper *paper)
{
    const sf_Figures *f = &paper->length;
    const sf_LimbData *d = &paper->limb->data;
    double stack = 0;
    for (size_t i = 0; i < d->spacer_count; i++)
        stack += d->spacers[i].thickness;
    sf_pages_row(&paper->pages, "Cut height above the floor, spacers",
                 sf_paper_text("%s, %s", sf_paper_length(paper, d->pylon.cut_height), sf_paper_length(paper, stack)),
                 f->doc ? sf_paper_text("%s wanted, \u00b1 %s (1 SD after trim)",
                                        sf_paper_length(paper, sf_figures_number(f, "cut_height_mm") * SF_MM),
                                        sf_paper_length(paper, sf_figures_number(f, "tolerance_after_trim_mm") * SF_MM))
                        : "the wanted height is not computed");
}

static void write_fixing(sf_LimbPaper *paper)
{
    const sf_Figures *f = &paper->fasten;
    const sf_LimbAdapter *a = &paper->limb->data.adapter;
    sf_Pages *p = &paper->pages;
    const char *fixing = sf_figures_text(f, "fixing");
    sf_pages_row(p, "Permanent fixing, its torque", sf_paper_torque(a->permanent_torque),
                 sf_paper_text("%s; limit: the adapter maker's sheet", fixing ? fixing : "fixing not named"));
    sf_pages_row(p, "Foot bolt, its torque", sf_paper_torque(a->foot_bolt.torque), "limit: the maker's sheet");
    for (size_t i = 0; i < sf_figures_length(f, "holes"); i++) {
        const char *state = sf_figures_text(f, sf_paper_text("holes[%zu].state", i));
        double seam = sf_figures_number(f, sf_paper_text("holes[%zu].seam.value", i));
        double seam_limit = sf_figures_number(f, sf_paper_text("holes[%zu].seam.limit", i));
        double edge = sf_figures_number(f, sf_paper_text("holes[%zu].edge.value", i));
        double edge_limit = sf_figures_number(f, sf_paper_text("holes[%zu].edge.limit", i));
        bool near_one = seam < seam_limit || edge < edge_limit;
        sf_pages_row(p,
                     sf_paper_text("Hole %zu: %s, \u00d8 %s, at %.0f\u00b0", i + 1, state ? state : "",
                                   sf_paper_length(paper, paper->limb->data.pylon.holes[i].diameter),
                                   paper->limb->data.pylon.holes[i].angle / SF_DEG),
                     sf_paper_text("seam %s, edge %s%s", sf_paper_length(paper, seam * SF_MM),
                                   sf_paper_length(paper, edge * SF_MM), near_one ? " NEAR" : ""),
                     sf_paper_text("at least %s, %s", sf_paper_length(paper, seam_limit * SF_MM),
                                   sf_paper_length(paper, edge_limit * SF_MM)));
    }
}

static void write_mass(sf_LimbPaper *paper)
{
    const sf_Figures *f = &paper->mass;
    double ratio = sf_figures_number(f, "ratio.inertia");
    if (!f->doc) {
        sf_pages_row(&paper->pages, "Mass", "not computed", f->why_not);
        return;
    }
    sf_pages_row(
        &paper->pages, "Mass: weighed, predicted",
        sf_paper_text("%s, %s",
                      isfinite(paper->words->weighed) ? sf_paper_mass(paper, paper->words->weighed) : "not weighed",
                      sf_paper_mass(paper, sf_figures_number(f, "limb.mass_kg"))),
        isfinite(ratio) ? sf_paper_text("swing: %.2f times the inertia of an intact shank", ratio) : "");
}

// ---- checks and signature -------------------------------------------------------------------------------------------

static size_t write_checks(sf_LimbPaper *paper)
{
    static const sf_BoxMark marks[] = { SF_MARK_EMPTY, SF_MARK_TICK, SF_MARK_OPEN, SF_MARK_AGAIN, SF_MARK_NOT_NEEDED };
    const sf_ReportWords *w = paper->words;
    size_t open = 0;
    sf_pages_heading(&paper->pages, "Checks (tick, initials, day)");
    for (size_t i = 0; i < w->check_count; i++) {
        const sf_ReportCheck *c = &w->checks[i];
        open +=
            c->state == SF_REPORT_CHECK_OPEN || c->state == SF_REPORT_CHECK_AGAIN || c->state == SF_REPORT_CHECK_UNSAID;
        sf_pages_check(
            &paper->pages, marks[c->state],
            sf_paper_text("%.180s%s%.180s", c->title, c->text ? ": " : "", c->text ? c->text : ""),
            sf_paper_text("%.120s%s%s", c->by ? c->by : "", c->by && c->date ? ", " : "", c->date ? c->date : ""));
    }
    for (size_t i = 0; w->check_count == 0 && i < sizeof CHECKS / sizeof *CHECKS; i++)
        sf_pages_check(&paper->pages, SF_MARK_EMPTY, CHECKS[i], "");
    return open;
}

static void write_signature(sf_LimbPaper *paper, size_t shut, size_t open, bool below)
{
    static const char *const lines[] = { "licensed prosthetist, licence", "signature", "day" };
    const sf_ReportWords *w = paper->words;
    const char *given[3] = { w->prosthetist.name ? sf_paper_text("%.60s%s%.30s", w->prosthetist.name,
                                                                 w->prosthetist.licence ? ", " : "",
                                                                 w->prosthetist.licence ? w->prosthetist.licence : "")
                                                 : NULL,
                             NULL, w->decision.date };
    if (shut || open || below)
        sf_pages_caution(
            &paper->pages,
            sf_paper_text("%s%s%sA limb without its permanent fixing does not go home. A release is the decision of a "
                          "licensed prosthetist, whose reason stays visible.",
                          shut ? "Not every limit is known and open. " : "",
                          open ? sf_paper_text("%zu check%s not done. ", open, open == 1 ? " is" : "s are") : "",
                          below ? "The pylon first yields below the proof force of its level. " : ""));
    sf_pages_text(&paper->pages, true,
                  w->decision.text ? w->decision.text
                                   : "Decision: ______________________________________________________");
    if (w->decision.against_advice == SF_ANSWER_YES || w->decision.reason)
        sf_pages_text(&paper->pages, false,
                      sf_paper_text("%s%.350s",
                                    w->decision.against_advice == SF_ANSWER_YES
                                        ? "Against the program's advice. Reason: "
                                        : "Reason: ",
                                    sf_paper_or_line(w->decision.reason)));
    sf_pages_sign(&paper->pages, lines, given, 3);
}

// ---- behind ---------------------------------------------------------------------------------------------------------

static void write_delivery(sf_LimbPaper *paper)
{
    static const char *const points[] = {
        "Donning and doffing shown and done by the wearer; liner, socks and lock understood",
        "Signs to stop wearing told: pain, skin that stays red or breaks, a creak, a looser or turned foot, whitening "
        "or a crack",
        "One shoe heel: a change of more than 5 mm in heel height comes back to the shop first",
        "No heat, no solvent, no drilling, no oil on the bolts; nothing is glued or screwed on at home",
        "Next inspection: after 2 weeks, after 3 months, then every 6 months; children every 3 months",
    };
    sf_pages_heading(&paper->pages, "Delivery");
    double hours = paper->words->wear_in_first_day_h;
    sf_pages_check(
        &paper->pages, SF_MARK_EMPTY,
        isfinite(hours)
            ? sf_paper_text("Wearing time of the first day: %.1f h, then longer day by day while the skin stays clear",
                            hours)
            : "Wearing time of the first day: ______ h, then longer day by day while the skin stays clear",
        "");
    for (size_t i = 0; i < sizeof points / sizeof *points; i++)
        sf_pages_check(&paper->pages, SF_MARK_EMPTY, points[i], "");
    sf_pages_text(
        &paper->pages, false,
        sf_paper_text("Telephone for questions and trouble: %s", sf_paper_or_line(paper->words->shop.telephone)));
}

static void write_statement(sf_LimbPaper *paper)
{
    const sf_ReportWords *w = paper->words;
    const sf_LimbData *d = &paper->limb->data;
    sf_pages_heading(&paper->pages, "Statement for a custom-made device");
    sf_pages_text(
        &paper->pages, false,
        sf_paper_text(
            "Made by %s for the sole use of %s, to the prescription of %s. Below-knee prosthesis, %s side: socket "
            "and pylon formed in one piece, sheet lot %s.",
            sf_paper_or_line(w->shop.name), sf_paper_or_line(d->person.label), sf_paper_or_line(w->prosthetist.name),
            d->person.side == SF_LIMB_SIDE_LEFT ? "left" : "right", sf_paper_or_line(d->pylon.sheet_lot)));
    if (w->shop.statement && *w->shop.statement)
        sf_pages_text(&paper->pages, false, w->shop.statement);
    else
        sf_pages_text(&paper->pages, false,
                      "The shop's own text as its local law words it: "
                      "______________________________________________________________________________");
}

static void write_list(sf_LimbPaper *paper, const sf_Figures *f, const char *key, const char *from)
{
    size_t count = sf_figures_length(f, key);
    for (size_t i = 0; i < count && i < MOST_NOTES; i++) {
        const char *text = sf_figures_text(f, sf_paper_text("%s[%zu]", key, i));
        char line[LINE_TEXT];
        snprintf(line, sizeof line, "%s: %.*s", from, LINE_TEXT - 40, text ? text : "");
        sf_pages_point(&paper->pages, line);
    }
    if (count > MOST_NOTES)
        sf_pages_point(&paper->pages, sf_paper_text("%s: %zu more in the result", from, count - MOST_NOTES));
}

static void write_basis(sf_LimbPaper *paper)
{
    sf_pages_heading(&paper->pages, "What the figures rest on");
    write_list(paper, &paper->strength, "assumptions", "strength assumed");
    write_list(paper, &paper->length, "assumptions", "length assumed");
    write_list(paper, &paper->fasten, "assumptions", "fixing assumed");
    write_list(paper, &paper->mass, "assumptions", "mass assumed");
    write_list(paper, &paper->strength, "notes", "strength");
    sf_pages_point(&paper->pages, "Levels are those of a test standard, ISO 10328, and no guide for choosing a limb "
                                  "for one person; first yield of the "
                                  "pylon is not the collapse of the limb, and neither replaces a physical test.");
}

void sf_release_write(sf_LimbPaper *paper)
{
    size_t shut = 0;
    bool below = false;
    write_identity(paper);
    sf_pages_heading(&paper->pages, "Figures, each beside what it is held against");
    write_gates(paper, &shut);
    write_strength(paper, &below);
    write_alignment(paper);
    write_length(paper);
    write_fixing(paper);
    write_mass(paper);
    size_t open = write_checks(paper);
    write_signature(paper, shut, open, below);
    sf_pages_break(&paper->pages); // what is signed stands alone on its page
    write_delivery(paper);
    write_statement(paper);
    write_basis(paper);
}
