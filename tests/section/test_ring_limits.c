// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "harness/tap.h"
#include "section/ring_limits.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *default_path(void)
{
    static char path[1024];
    const char *root = getenv("TAP_ROOT");
    snprintf(path, sizeof path, "%s/data/ring_limits.json", root ? root : ".");
    return path;
}

static sf_Status read_text(sf_RingLimits *limits, const char *text, bool complete, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status = sf_doc_parse(&doc, "limits", text, strlen(text), err);
    if (status == SF_OK)
        status = sf_ring_limits_read(limits, sf_doc_root(doc), complete, err);
    sf_doc_destroy(&doc);
    return status;
}

TAP_CASE(defaults_are_complete_and_each_names_its_origin)
{
    sf_RingLimits l;
    sf_Error err = { 0 };
    TAP_OK(sf_ring_limits_load(&l, default_path(), &err));
    TAP_NEAR(l.wall_off_seam.accept, 0.80, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(l.wall_off_seam.reject, 0.65, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(l.groove.reject, 0.35, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(l.unjoined.reject, 0.20, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(l.voids.accept, 0.001, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(l.ovality.reject, 0.08, TAP_ROUNDING, TAP_PRACTICE);
    const char *const origins[] = { l.wall_off_seam.origin, l.groove.origin,     l.unjoined.origin,
                                    l.voids.origin,         l.squeeze.origin,    l.ovality.origin,
                                    l.floor.origin,         l.with_limit.origin, l.causes.origin };
    for (size_t i = 0; i < sizeof origins / sizeof *origins; i++)
        TAP_HOLDS(origins[i], "judgement");
}

TAP_CASE(floor_is_linear_between_child_and_adult)
{
    sf_RingLimits l;
    TAP_OK(sf_ring_limits_load(&l, default_path(), NULL));
    TAP_NEAR(sf_ring_floor(&l, 45, false), 3.5e-3, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(sf_ring_floor(&l, 90, true), 3.5e-3, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(sf_ring_floor(&l, 29, false), 2.5e-3, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(sf_ring_floor(&l, 37.5, false), 3.0e-3, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(sf_ring_floor(&l, NAN, false), 3.5e-3, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(sf_ring_floor(&l, NAN, true), 2.5e-3, TAP_ROUNDING, TAP_PRACTICE);
}

TAP_CASE(shop_file_changes_only_what_it_names)
{
    sf_RingLimits l;
    sf_Error err = { 0 };
    TAP_OK(sf_ring_limits_load(&l, default_path(), NULL));
    TAP_OK(read_text(&l,
                     "{\"format\":\"standfast-ring-limits/1\",\"groove\":{\"accept_percent\":10,"
                     "\"origin\":\"our first 40 rings\"}}",
                     false, &err));
    TAP_NEAR(l.groove.accept, 0.10, TAP_ROUNDING, TAP_INVENTED);
    TAP_NEAR(l.groove.reject, 0.35, TAP_ROUNDING, TAP_PRACTICE);
    TAP_TEXT(l.groove.origin, "our first 40 rings");
    TAP_NEAR(l.voids.reject, 0.01, TAP_ROUNDING, TAP_PRACTICE);
}

TAP_CASE(every_problem_is_told_at_once_and_nothing_is_changed)
{
    sf_RingLimits l, before;
    sf_Error err = { 0 };
    TAP_OK(sf_ring_limits_load(&l, default_path(), NULL));
    memcpy(&before, &l, sizeof l);
    TAP_STATUS(
        read_text(
            &l,
            "{\"format\":\"standfast-ring-limits/1\",\"grove\":{},\"groove\":{\"accept_percent\":40,\"origin\":\"x\"},"
            "\"voids\":{\"reject_percent\":\"1\"},\"floor\":{\"adult_mm\":2,\"origin\":\"x\"}}",
            false, &err),
        SF_E_INPUT);
    TAP_HOLDS(err.text, "grove");
    TAP_HOLDS(err.text, "groove");
    TAP_HOLDS(err.text, "voids.reject_percent");
    TAP_HOLDS(err.text, "voids.origin");
    TAP_HOLDS(err.text, "floor");
    TAP_TRUE(memcmp(&before, &l, sizeof l) == 0, "nothing half read");
    TAP_STATUS(read_text(&l, "{\"format\":\"standfast-ring-limits/1\"}", true, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "unjoined");
    TAP_STATUS(read_text(&l, "{}", false, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "format");
    TAP_STATUS(read_text(&l, "[]", false, &err), SF_E_INPUT);
    TAP_STATUS(sf_ring_limits_load(&l, "/nowhere/limits.json", &err), SF_E_MISSING);
}

static sf_Status body(void *context)
{
    sf_RingLimits l;
    sf_Error err;
    (void)context;
    return sf_ring_limits_load(&l, default_path(), &err);
}

TAP_CASE(running_out_of_memory_is_said)
{
    tap_every_allocation(body, NULL, 600, "ring limits");
}

TAP_MAIN(TAP_RUN(defaults_are_complete_and_each_names_its_origin), TAP_RUN(floor_is_linear_between_child_and_adult),
         TAP_RUN(shop_file_changes_only_what_it_names), TAP_RUN(every_problem_is_told_at_once_and_nothing_is_changed),
         TAP_RUN(running_out_of_memory_is_said))
