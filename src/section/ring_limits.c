// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_limits.h"

#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char FORMAT[] = "standfast-ring-limits/1";
static const double PERCENT = 0.01;

static void need(sf_DocNode node, bool complete)
{
    if (complete)
        sf_doc_need(node, "the default limits must be complete");
}

// A number given in a unit of its own: factor turns it into the core's.
static void read_number(sf_DocNode object, const char *key, double low, double high, double factor, bool complete,
                        double *value)
{
    sf_DocNode node = sf_doc_member(object, key);
    double number;
    need(node, complete);
    if (sf_doc_number(node, low, high, &number))
        *value = number * factor;
}

// Every block that is there must say where its figures come from.
static void read_origin(sf_DocNode object, char origin[SF_LIMIT_ORIGIN])
{
    sf_DocNode node = sf_doc_member(object, "origin");
    const char *text;
    sf_doc_need(node, "a limit says where it comes from, such as 'judgement, no source'");
    if (sf_doc_text(node, SF_LIMIT_ORIGIN - 1, &text))
        snprintf(origin, SF_LIMIT_ORIGIN, "%s", text);
}

// Whether the block is there; notes what is wrong with it as a whole.
static bool open_block(sf_DocNode root, const char *key, const char *const *known, size_t count, bool complete,
                       sf_DocNode *block)
{
    *block = sf_doc_member(root, key);
    need(*block, complete);
    if (!sf_doc_there(*block) || !sf_doc_expect_object(*block))
        return false;
    sf_doc_only(*block, known, count);
    return true;
}

static void read_limit(sf_DocNode root, const char *key, bool low_is_bad, bool complete, sf_Limit *limit)
{
    static const char *const known[] = { "accept_percent", "reject_percent", "fine_percent", "origin" };
    sf_DocNode block;
    if (!open_block(root, key, known, COUNT(known), complete, &block))
        return;
    sf_Limit before = *limit;
    read_number(block, "accept_percent", 0, 200, PERCENT, complete, &limit->accept);
    read_number(block, "reject_percent", 0, 200, PERCENT, complete, &limit->reject);
    read_number(block, "fine_percent", 0, 100, PERCENT, complete, &limit->fine);
    read_origin(block, limit->origin);
    bool in_order = low_is_bad ? limit->accept > limit->reject : limit->accept < limit->reject;
    bool changed = limit->accept != before.accept || limit->reject != before.reject;
    if (changed && !in_order)
        sf_doc_problem(block, "accepts from %g %% and rejects from %g %%: accept must be the %s one",
                       limit->accept / PERCENT, limit->reject / PERCENT, low_is_bad ? "larger" : "smaller");
}

static void read_floor(sf_DocNode root, bool complete, sf_RingLimits *limits)
{
    static const char *const known[] = {
        "adult_mm", "child_mm", "adult_mass_kg", "child_mass_kg", "fine_mm", "origin"
    };
    sf_DocNode block;
    if (!open_block(root, "floor", known, COUNT(known), complete, &block))
        return;
    read_number(block, "adult_mm", 0, 20, SF_MM, complete, &limits->floor.adult);
    read_number(block, "child_mm", 0, 20, SF_MM, complete, &limits->floor.child);
    read_number(block, "adult_mass_kg", 5, 200, 1, complete, &limits->floor.adult_mass);
    read_number(block, "child_mass_kg", 5, 200, 1, complete, &limits->floor.child_mass);
    read_number(block, "fine_mm", 0, 5, SF_MM, complete, &limits->floor.fine);
    read_origin(block, limits->floor.origin);
    if (limits->floor.adult < limits->floor.child)
        sf_doc_problem(block, "the adult's least wall must not be below the child's");
    if (limits->floor.adult_mass <= limits->floor.child_mass)
        sf_doc_problem(block, "adult_mass_kg must be larger than child_mass_kg");
}

static void read_with_limit(sf_DocNode root, bool complete, sf_RingLimits *limits)
{
    static const char *const known[] = { "activity", "inspection_days", "origin" };
    static const char *const activities[] = { "low", "moderate", "high" };
    sf_DocNode block;
    if (!open_block(root, "with_limit", known, COUNT(known), complete, &block))
        return;
    size_t word;
    sf_DocNode activity = sf_doc_member(block, "activity");
    need(activity, complete);
    if (sf_doc_word(activity, activities, COUNT(activities), &word))
        snprintf(limits->with_limit.activity, sizeof limits->with_limit.activity, "%s", activities[word]);
    read_number(block, "inspection_days", 1, 365, 1, complete, &limits->with_limit.inspection_days);
    read_origin(block, limits->with_limit.origin);
}

static void read_squeeze(sf_DocNode root, bool complete, sf_RingLimits *limits)
{
    static const char *const known[] = { "seam_stress_mpa", "origin" };
    sf_DocNode block;
    if (!open_block(root, "squeeze", known, COUNT(known), complete, &block))
        return;
    read_number(block, "seam_stress_mpa", 0.1, 200, SF_MPA, complete, &limits->squeeze.seam_stress);
    read_origin(block, limits->squeeze.origin);
}

static void read_strength(sf_DocNode root, bool complete, sf_RingLimits *limits)
{
    static const char *const known[] = { "proof_accept",   "proof_reject", "walking_accept",
                                         "walking_reject", "heat_accept",  "origin" };
    sf_DocNode block;
    if (!open_block(root, "strength", known, COUNT(known), complete, &block))
        return;
    read_number(block, "proof_accept", 0.05, 20, 1, complete, &limits->strength.proof_accept);
    read_number(block, "proof_reject", 0.05, 20, 1, complete, &limits->strength.proof_reject);
    read_number(block, "walking_accept", 0.05, 20, 1, complete, &limits->strength.walking_accept);
    read_number(block, "walking_reject", 0.05, 20, 1, complete, &limits->strength.walking_reject);
    read_number(block, "heat_accept", 0, 20, 1, complete, &limits->strength.heat_accept);
    read_origin(block, limits->strength.origin);
    if (limits->strength.proof_accept < limits->strength.proof_reject)
        sf_doc_problem(block, "proof_accept must not be below proof_reject");
    if (limits->strength.walking_accept < limits->strength.walking_reject)
        sf_doc_problem(block, "walking_accept must not be below walking_reject");
}

static void read_causes(sf_DocNode root, bool complete, sf_RingLimits *limits)
{
    static const char *const known[] = { "eccentric_percent", "hot_c", "short_vacuum_s", "origin" };
    sf_DocNode block;
    if (!open_block(root, "causes", known, COUNT(known), complete, &block))
        return;
    read_number(block, "eccentric_percent", 0.1, 100, PERCENT, complete, &limits->causes.eccentric);
    read_number(block, "hot_c", 50, 400, 1, complete, &limits->causes.hot_c);
    read_number(block, "short_vacuum_s", 0, 3600, 1, complete, &limits->causes.short_vacuum_s);
    read_origin(block, limits->causes.origin);
}

sf_Status sf_ring_limits_read(sf_RingLimits *limits, sf_DocNode root, bool complete, sf_Error *err)
{
    static const char *const known[] = { "format", "note",    "wall_off_seam", "floor",   "groove",   "unjoined",
                                         "voids",  "ovality", "with_limit",    "squeeze", "strength", "causes" };
    static const char *const formats[] = { FORMAT };
    sf_RingLimits next = *limits;
    size_t word;
    const char *note;
    if (!sf_doc_is_object(root))
        sf_doc_problem(root, "must be an object of format %s", FORMAT);
    sf_doc_only(root, known, COUNT(known));
    sf_doc_need(sf_doc_member(root, "format"), NULL);
    sf_doc_word(sf_doc_member(root, "format"), formats, COUNT(formats), &word);
    sf_doc_text(sf_doc_member(root, "note"), 2000, &note);
    read_limit(root, "wall_off_seam", true, complete, &next.wall_off_seam);
    read_limit(root, "groove", false, complete, &next.groove);
    read_limit(root, "unjoined", false, complete, &next.unjoined);
    read_limit(root, "voids", false, complete, &next.voids);
    read_limit(root, "ovality", false, complete, &next.ovality);
    read_floor(root, complete, &next);
    read_with_limit(root, complete, &next);
    read_squeeze(root, complete, &next);
    read_strength(root, complete, &next);
    read_causes(root, complete, &next);
    SF_TRY(sf_doc_verdict(root.doc, err));
    *limits = next;
    return SF_OK;
}

sf_Status sf_ring_limits_load(sf_RingLimits *limits, const char *path, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status;
    *limits = (sf_RingLimits){ 0 };
    SF_TRY_DONE(sf_doc_read_file(&doc, path, err));
    SF_TRY_DONE(sf_ring_limits_read(limits, sf_doc_root(doc), true, err));
done:
    sf_doc_destroy(&doc);
    return status;
}

double sf_ring_floor(const sf_RingLimits *limits, double body_mass, bool child)
{
    if (isnan(body_mass))
        return child ? limits->floor.child : limits->floor.adult;
    double share = (body_mass - limits->floor.child_mass) / (limits->floor.adult_mass - limits->floor.child_mass);
    share = share < 0 ? 0 : share > 1 ? 1 : share;
    return limits->floor.child + share * (limits->floor.adult - limits->floor.child);
}
