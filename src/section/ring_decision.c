// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_decision.h"

#include "base/units.h"
#include "section/ring_causes.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

// A figure is coarse when its interval is wider than this share of the span between accept and reject (judgement).
static const double COARSE_SHARE = 0.25;
static const double PERCENT = 0.01;
static const double HEAVIEST = 100; // kg: the heaviest person of the levels that are held (P5)

const char *sf_verdict_word(sf_Verdict verdict)
{
    static const char *const words[] = { "accept", "accept-with-limit", "measure-again", "reject" };
    return words[verdict];
}

// Adds a reason behind those that are as hard or harder.
SF_PRINTF(7, 8)
static void add_reason(sf_RingDecision *d, const char *code, sf_Verdict verdict, double value, double limit,
                       const char *unit, const char *format, ...)
{
    if (d->reason_count == SF_MAX_REASONS)
        return;
    size_t at = d->reason_count++;
    for (; at > 0 && d->reasons[at - 1].verdict < verdict; at--)
        d->reasons[at] = d->reasons[at - 1];
    sf_Reason *r = &d->reasons[at];
    *r = (sf_Reason){ .code = code, .verdict = verdict, .value = value, .limit = limit, .unit = unit };
    va_list args;
    va_start(args, format);
    vsnprintf(r->text, sizeof r->text, format, args);
    va_end(args);
    if (verdict > d->verdict)
        d->verdict = verdict;
}

SF_PRINTF(2, 3)
static void add_sharpen(sf_RingDecision *d, const char *format, ...)
{
    if (d->sharpen_count == SF_MAX_SHARPEN)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(d->sharpen[d->sharpen_count++], SF_REASON_TEXT, format, args);
    va_end(args);
}

// ---- one figure against its limits ---------------------------------------------------------------------------------

// A figure with its 95 % interval from the edges.
typedef struct Figure {
    double value, mild_end, hard_end;
    bool low_is_bad;
} Figure;

static sf_Verdict class_of(double value, const sf_Limit *limit, bool low_is_bad)
{
    double sign = low_is_bad ? -1 : 1;
    if (sign * value > sign * limit->reject)
        return SF_VERDICT_REJECT;
    return sign * value > sign * limit->accept ? SF_VERDICT_LIMIT : SF_VERDICT_ACCEPT;
}

// The rule of docs/theory/ring-decision.md: a fine figure by its value; one that reaches over the reject limit asks for
// a better measurement; one that reaches over the accept limit counts as beyond it, or asks too when it is coarse.
static sf_Verdict judge(const Figure *f, const sf_Limit *limit)
{
    double half = fabs(f->hard_end - f->mild_end) / 2;
    if (half <= limit->fine)
        return class_of(f->value, limit, f->low_is_bad);
    sf_Verdict mild = class_of(f->mild_end, limit, f->low_is_bad), hard = class_of(f->hard_end, limit, f->low_is_bad);
    if (mild == hard && mild != SF_VERDICT_LIMIT)
        return mild;
    bool coarse = half > COARSE_SHARE * fabs(limit->reject - limit->accept);
    return hard == SF_VERDICT_REJECT || coarse ? SF_VERDICT_AGAIN : SF_VERDICT_LIMIT;
}

static double limit_shown(sf_Verdict verdict, const sf_Limit *limit)
{
    return verdict >= SF_VERDICT_AGAIN ? limit->reject : limit->accept;
}

// `plain` is what the value alone would give.
static const char *tail_of(sf_Verdict verdict, sf_Verdict plain)
{
    switch (verdict) {
    case SF_VERDICT_ACCEPT: return "within";
    case SF_VERDICT_LIMIT: return plain == SF_VERDICT_ACCEPT ? "not clearly within" : "beyond";
    case SF_VERDICT_AGAIN: return "too uncertain against";
    case SF_VERDICT_REJECT: return "beyond";
    }
    return "";
}

static const char *limit_word(sf_Verdict verdict)
{
    return verdict >= SF_VERDICT_AGAIN ? "reject" : "accept";
}

// A share judged and told in per cent.
static void judge_share(sf_RingDecision *d, const char *code, const char *what, const Figure *f, const sf_Limit *limit)
{
    sf_Verdict verdict = judge(f, limit);
    double shown = limit_shown(verdict, limit) / PERCENT;
    add_reason(d, code, verdict, f->value / PERCENT, shown, "%", "%s %.*f %%: %s the %s limit of %g %%.", what,
               limit->accept < PERCENT ? 2 : 1, f->value / PERCENT,
               tail_of(verdict, class_of(f->value, limit, f->low_is_bad)), limit_word(verdict), shown);
}

// ---- the criteria
// ----------------------------------------------------------------------------------------------------

static void judge_thickness(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c,
                            const sf_RingLimits *l)
{
    double wall = m->wall.off_seam_min, half = m->doubt.wall_min_off_seam.edge;
    if (isnan(c->nominal_wall)) {
        add_reason(d, "wall-unjudged", SF_VERDICT_LIMIT, wall / SF_MM, NAN, "mm",
                   "Least wall off the seam %.2f mm; no expected formed wall was given, so an evenly thin wall cannot "
                   "be told.",
                   wall / SF_MM);
        return;
    }
    double n = c->nominal_wall;
    Figure f = { wall / n, (wall + half) / n, (wall - half) / n, true };
    sf_Verdict verdict = judge(&f, &l->wall_off_seam);
    double limit = limit_shown(verdict, &l->wall_off_seam);
    add_reason(d, "wall-off-seam", verdict, wall / SF_MM, limit * n / SF_MM, "mm",
               "Least wall off the seam %.2f mm, %.0f %% of the expected %.2f mm: %s the %s limit of %.2f mm (%g %%).",
               wall / SF_MM, 100 * f.value, n / SF_MM, tail_of(verdict, class_of(f.value, &l->wall_off_seam, true)),
               limit_word(verdict), limit * n / SF_MM, limit / PERCENT);
}

static void judge_floor(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c, const sf_RingLimits *l)
{
    bool child = c->user == SF_USER_CHILD, known = isfinite(c->body_mass) || c->user != SF_USER_UNKNOWN;
    double accept = sf_ring_floor(l, c->body_mass, child), wall = m->wall.min, half = m->doubt.wall_max.edge;
    // Where nobody said who it is for, a wall between the two floors carries a child: the limit then names the mass.
    sf_Limit limit = { accept, known ? accept : l->floor.child, l->floor.fine, "" };
    // What readings far apart may have missed of a groove lies on the thin side only.
    Figure f = { wall, wall + half, wall - half - m->doubt.groove_missed, true };
    sf_Verdict verdict = judge(&f, &limit);
    char whom[64];
    if (isfinite(c->body_mass))
        snprintf(whom, sizeof whom, "for %.0f kg", c->body_mass);
    else
        snprintf(whom, sizeof whom, "for %s",
                 child || (!known && verdict >= SF_VERDICT_AGAIN) ? "a child" : "an adult");
    static const char *const tails[] = { "above", "below", "too uncertain against", "below" };
    double shown = limit_shown(verdict, &limit) / SF_MM;
    add_reason(d, "wall-floor", verdict, wall / SF_MM, shown, "mm",
               "Least wall anywhere %.2f mm: %s the floor of %.2f mm %s.", wall / SF_MM, tails[verdict], shown, whom);
}

// The upper end of what the groove's share may be.
static double groove_end(const sf_RingMeasure *m)
{
    double beside = isfinite(m->wall.beside_seam) ? m->wall.beside_seam : m->wall.median;
    double plain = sqrt(fmax(0, pow(m->doubt.groove_depth.edge, 2) - pow(m->doubt.groove_missed, 2)));
    return m->wall.groove_share + (plain + m->doubt.groove_missed) / beside;
}

static void judge_groove(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingLimits *l)
{
    if (isnan(m->wall.groove_share)) {
        add_reason(d, "groove-unseen", SF_VERDICT_AGAIN, NAN, l->groove.accept / PERCENT, "%",
                   "The readings lie too far apart to show a groove: read at least every 8 degrees, or scan the ring.");
        return;
    }
    double beside = isfinite(m->wall.beside_seam) ? m->wall.beside_seam : m->wall.median;
    double plain = sqrt(fmax(0, pow(m->doubt.groove_depth.edge, 2) - pow(m->doubt.groove_missed, 2)));
    Figure f = { m->wall.groove_share, m->wall.groove_share - plain / beside, groove_end(m), false };
    judge_share(d, "groove", "Groove depth, share of the wall beside it,", &f, &l->groove);
}

static void judge_unseen_line(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c,
                              const sf_RingLimits *l)
{
    // A line sits at the bottom of a groove: where the groove is within its limit the seam counts as in a picture that
    // shows no line, and body weight waits for the proof; where it is not, only a look or a proof can tell.
    bool shallow = !isnan(m->wall.groove_share) && groove_end(m) <= l->groove.accept;
    sf_Verdict verdict = c->proof == SF_PROOF_PASSED || shallow ? SF_VERDICT_ACCEPT : SF_VERDICT_AGAIN;
    add_reason(d, "line-unseen", verdict, NAN, l->unjoined.accept / PERCENT, "%",
               "Readings of the two edges cannot show an unjoined line or voids: %s.",
               c->proof == SF_PROOF_PASSED ? "the seam rests on its squeeze proof"
               : shallow ? "look at the seam on the cut face, and prove it by a squeeze before body weight"
                         : "with a groove this deep scan the cut face, or prove the seam by a squeeze");
}

static void judge_line(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c, const sf_RingLimits *l)
{
    const sf_WallMap *w = &m->wall;
    if (!w->line_searched) {
        judge_unseen_line(d, m, c, l);
        return;
    }
    double share = w->unjoined_share, half = w->unjoined_depth > 0 ? m->doubt.unjoined_share.edge : 0;
    if (w->unjoined_through) {
        add_reason(
            d, "unjoined", SF_VERDICT_REJECT, 100, l->unjoined.reject / PERCENT, "%",
            "The unjoined line reaches through the wall, or leaves less than can be told (%.2f mm): the seam is open.",
            w->ligament / SF_MM);
        return;
    }
    Figure f = { share, share - half, share + half, false };
    sf_Verdict verdict = judge(&f, &l->unjoined);
    if (verdict == SF_VERDICT_LIMIT && c->proof != SF_PROOF_PASSED) {
        add_reason(
            d, "unjoined", SF_VERDICT_AGAIN, share / PERCENT, l->unjoined.accept / PERCENT, "%",
            "Unjoined line %.2f mm, %.0f %% of the wall there: %s the accept limit of %g %%; prove the seam by a "
            "squeeze.",
            w->unjoined_depth / SF_MM, share / PERCENT, tail_of(verdict, class_of(share, &l->unjoined, false)),
            l->unjoined.accept / PERCENT);
        return;
    }
    if (share > 0)
        judge_share(d, "unjoined", "Unjoined line, share of the wall there,", &f, &l->unjoined);
    else
        add_reason(d, "unjoined", SF_VERDICT_ACCEPT, 0, l->unjoined.accept / PERCENT, "%", "No unjoined line seen.");
}

static void judge_rest(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c, const sf_RingLimits *l)
{
    if (m->wall.line_searched) {
        double area = m->section.area, half = m->doubt.void_area.edge / area, share = m->section.void_area / area;
        Figure voids = { share, share - half, share + half, false };
        judge_share(d, "voids", "Voids, share of the ring's area,", &voids, &l->voids);
    }
    double oval = m->fit.ovality, half = m->doubt.ovality.edge;
    Figure ovality = { oval, oval - half, oval + half, false };
    judge_share(d, "ovality", "Ovality", &ovality, &l->ovality);
    static const char *const said[] = { NULL, "The squeeze proof of the seam held.",
                                        "The squeeze proof of the seam did not hold." };
    const char *words = c->proof_words ? c->proof_words : said[c->proof];
    if (words)
        add_reason(d, "squeeze-proof", c->proof == SF_PROOF_FAILED ? SF_VERDICT_REJECT : SF_VERDICT_ACCEPT, NAN, NAN,
                   "", "%s", words);
}

// ---- strength: factors that were computed, against the shop's thresholds
// ----------------------------------------------

static sf_Verdict factor_class(double factor, double accept, double reject)
{
    return !(factor >= reject) ? SF_VERDICT_REJECT : factor < accept ? SF_VERDICT_LIMIT : SF_VERDICT_ACCEPT;
}

// Above the heaviest person of the levels that are held, strength compares and does not clear.
static void judge_mass(sf_RingDecision *d, double mass)
{
    add_reason(d, "strength-mass", SF_VERDICT_LIMIT, mass, HEAVIEST, "kg",
               "%.0f kg: no level above %.0f kg is held, so strength is for comparison only; a licensed "
               "prosthetist decides.",
               mass, HEAVIEST);
}

static void judge_strength(sf_RingDecision *d, const sf_RingContext *c, const sf_RingLimits *l)
{
    const sf_RingLoad *load = c->load;
    if (!load) {
        if (c->body_mass > HEAVIEST)
            judge_mass(d, c->body_mass);
        return;
    }
    d->basis = "shop-limits+strength";
    sf_Verdict verdict = factor_class(load->proof_factor, l->strength.proof_accept, l->strength.proof_reject);
    double limit = verdict == SF_VERDICT_REJECT ? l->strength.proof_reject : l->strength.proof_accept;
    add_reason(d, "strength-proof", verdict, load->proof_factor, limit, "",
               "Strength: first yield at %.2f times the proof force of level %s%s: %s the %s limit of %g.",
               load->proof_factor, load->level, load->scaled ? " (outside the standard)" : "",
               verdict == SF_VERDICT_ACCEPT ? "above" : "below", limit_word(verdict), limit);
    verdict = factor_class(load->walking_factor, l->strength.walking_accept, l->strength.walking_reject);
    limit = verdict == SF_VERDICT_REJECT ? l->strength.walking_reject : l->strength.walking_accept;
    add_reason(d, "strength-walking", verdict, load->walking_factor, limit, "",
               "Strength: first yield at %.2f times ordinary walking of %.0f kg at 23 C: %s the %s limit of %g.",
               load->walking_factor, load->mass, verdict == SF_VERDICT_ACCEPT ? "above" : "below", limit_word(verdict),
               limit);
    d->no_heat = !(load->heat_factor >= l->strength.heat_accept);
    add_reason(d, "strength-heat", d->no_heat ? SF_VERDICT_LIMIT : SF_VERDICT_ACCEPT, load->heat_factor,
               l->strength.heat_accept, "", "Strength: first yield at %.2f times ordinary walking at %.0f C: %s %g%s.",
               load->heat_factor, load->heat_temperature, d->no_heat ? "below" : "not below", l->strength.heat_accept,
               d->no_heat ? "; keep the limb out of the heat, such as a closed car in summer" : "");
    if (load->comparison_only)
        judge_mass(d, load->mass);
}

// Fit in the clamp: told, not judged; how much play or squeeze a clamp takes is its maker's to say.
static void tell_clamp(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c)
{
    d->clamp = sf_clamp_fit(&m->fit, c->shank, c->rim);
    if (isfinite(c->shank))
        add_reason(d, "clamp-shank", SF_VERDICT_ACCEPT, 2 * m->fit.inscribed.radius / SF_MM, c->shank / SF_MM, "mm",
                   "The bore takes a circle of %.2f mm: %.2f mm %s the adapter's shank of %.2f mm.",
                   2 * m->fit.inscribed.radius / SF_MM, fabs(d->clamp.shank_play) / SF_MM,
                   d->clamp.shank_play < 0 ? "less than" : "more than", c->shank / SF_MM);
    if (isfinite(c->rim))
        add_reason(d, "clamp-rim", SF_VERDICT_ACCEPT, 2 * m->fit.circumscribed.radius / SF_MM, c->rim / SF_MM, "mm",
                   "The outside needs a circle of %.2f mm: %.2f mm %s the adapter's rim of %.2f mm.",
                   2 * m->fit.circumscribed.radius / SF_MM, fabs(d->clamp.rim_play) / SF_MM,
                   d->clamp.rim_play < 0 ? "more than" : "less than", c->rim / SF_MM);
}

// -----------------------------------------------------------------------------------------------------------

// ---- words -------------------------------------------------------------------------------------------------------

static const char *source_word(sf_RingSource source)
{
    return source == SF_RING_PICTURE ? "picture" : source == SF_RING_CALIPER ? "caliper readings" : "outline";
}

static const char *evidence_word(sf_RingSource source, bool proved)
{
    static const char *const words[3][2] = { { "picture", "picture+squeeze" },
                                             { "caliper", "caliper+squeeze" },
                                             { "outline", "outline+squeeze" } };
    return words[source][proved];
}

// The largest body mass for which this wall reaches the floor; INFINITY when it reaches the adult's.
static double mass_of_floor(double wall, const sf_RingLimits *l)
{
    if (wall >= l->floor.adult)
        return INFINITY;
    double share = (wall - l->floor.child) / (l->floor.adult - l->floor.child);
    return l->floor.child_mass + fmax(0, share) * (l->floor.adult_mass - l->floor.child_mass);
}

static void say_limit(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c, const sf_RingLimits *l)
{
    d->limit_words[0] = '\0';
    if (d->verdict != SF_VERDICT_LIMIT)
        return;
    double mass = fmin(mass_of_floor(m->wall.min, l), isfinite(c->body_mass) ? c->body_mass : INFINITY);
    char whom[64] = "this person only";
    if (isfinite(mass))
        snprintf(whom, sizeof whom, "body mass up to %.0f kg", floor(mass));
    snprintf(d->limit_words, sizeof d->limit_words, "%s, %s activity, inspect within %.0f days%s", whom,
             l->with_limit.activity, l->with_limit.inspection_days, d->no_heat ? ", out of the heat" : "");
}

static void say_words(sf_RingDecision *d, const sf_RingContext *c)
{
    bool proved = c->proof == SF_PROOF_PASSED;
    char by[64];
    snprintf(by, sizeof by, "by %s%s%s", source_word(c->source),
             !c->load ? ""
             : proved ? ", strength"
                      : " and strength",
             proved ? " and squeeze proof" : " only");
    switch (d->verdict) {
    case SF_VERDICT_ACCEPT: snprintf(d->words, sizeof d->words, "accept, %s", by); break;
    case SF_VERDICT_LIMIT:
        snprintf(d->words, sizeof d->words, "accept with a limit, %s: %s", by, d->limit_words);
        break;
    case SF_VERDICT_AGAIN:
        snprintf(d->words, sizeof d->words, "measure again; until then no body weight on the limb");
        break;
    case SF_VERDICT_REJECT: snprintf(d->words, sizeof d->words, "reject; no body weight on the limb"); break;
    }
}

static void say_sharpen(sf_RingDecision *d, const sf_RingMeasure *m, const sf_RingContext *c)
{
    if (isnan(c->nominal_wall))
        add_sharpen(d, "The expected formed wall (not the sheet): with it the thickness is judged too.");
    if (isnan(c->body_mass) && c->user == SF_USER_UNKNOWN)
        add_sharpen(d, "Who it is for: an adult, a child, or the body mass; the least wall allowed follows from it.");
    if (c->proof == SF_PROOF_NONE && d->verdict != SF_VERDICT_REJECT) // nothing sharpens a reject away
        add_sharpen(d, "A squeeze proof of the seam: edges that touch but never fused look sound.");
    if (!m->wall.line_searched)
        add_sharpen(d,
                    "A scan of the cut face: it shows an unjoined line and voids, which readings of the edges cannot.");
    else if (d->verdict == SF_VERDICT_AGAIN)
        add_sharpen(d, "A finer or repeated scan: some figure is too uncertain against its limit.");
}

void sf_ring_decide(sf_RingDecision *decision, const sf_RingMeasure *measure, const sf_RingContext *context,
                    const sf_RingLimits *limits)
{
    *decision = (sf_RingDecision){ .verdict = SF_VERDICT_ACCEPT, .basis = "shop-limits" };
    judge_thickness(decision, measure, context, limits);
    judge_floor(decision, measure, context, limits);
    judge_groove(decision, measure, limits);
    judge_line(decision, measure, context, limits);
    judge_rest(decision, measure, context, limits);
    judge_strength(decision, context, limits);
    bool proved = context->proof == SF_PROOF_PASSED;
    decision->evidence = evidence_word(context->source, proved);
    decision->proof_required = context->proof_required || !measure->wall.line_searched;
    decision->body_weight = decision->verdict <= SF_VERDICT_LIMIT && (proved || !decision->proof_required);
    tell_clamp(decision, measure, context);
    say_limit(decision, measure, context, limits);
    say_words(decision, context);
    say_sharpen(decision, measure, context);
    sf_ring_causes_rank(decision, measure, context, limits);
}
