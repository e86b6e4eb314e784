// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "harness/tap.h"
#include "limb/limb.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const examples[] = { "adult",       "child",     "early-wrong-holes",
                                        "heavy-adult", "two-sided", "unjoined-seam" };

static const char *example(const char *name)
{
    static char path[1000];
    const char *root = getenv("TAP_ROOT");
    snprintf(path, sizeof path, "%s/data/examples/%s.json", root ? root : ".", name);
    return path;
}

static sf_Status parse(sf_Limb **limb, const char *text, sf_Error *err)
{
    return sf_limb_parse(limb, "limb.json", text, strlen(text), err);
}

TAP_CASE(values_become_si_and_left_out_ones_stay_out)
{
    sf_Limb *limb = NULL;
    TAP_OK(sf_limb_read_file(&limb, example("adult"), NULL));
    if (!limb)
        return;
    const sf_LimbData *d = &limb->data;
    TAP_TRUE(d->person.side == SF_LIMB_SIDE_LEFT);
    TAP_NEAR(d->person.stature, 1.740, TAP_ROUNDING, TAP_INVENTED);
    TAP_NEAR(d->socket.flexion, 5 * SF_PI / 180, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(d->socket.pumped_volume, 20e-6, TAP_ROUNDING, TAP_INVENTED);
    TAP_TRUE(d->pylon.ring_count == 2 && d->pylon.hole_count == 0);
    TAP_NEAR(d->pylon.rings[0].offset[1], -0.0003, TAP_ROUNDING, TAP_INVENTED);
    TAP_TRUE(d->adapter.permanent_fixing == SF_LIMB_FIXING_PINCH_BAND, "the first example has a pinch band");
    TAP_TRUE(isnan(d->adapter.screw_diameter) && d->adapter.screw_count == -1);
    TAP_TRUE(!d->adapter.holding_screw.there);
    TAP_TRUE(sf_limb_has(limb, "person.sound_knee_height_mm") && !sf_limb_has(limb, "adapter.screw_diameter_mm"));
    TAP_TRUE(!sf_limb_has(limb, "adapter.holding_screw.torque_nm") && !sf_limb_has(limb, "pylon.holes"));
    TAP_HOLDS(sf_limb_path(limb, "ring.png"), "data/examples/ring.png");
    TAP_TEXT(sf_limb_path(limb, "/x/ring.png"), "/x/ring.png");
    sf_limb_destroy(&limb);
}

TAP_CASE(what_was_read_is_written_back)
{
    for (size_t i = 0; i < sizeof examples / sizeof *examples; i++) {
        sf_Limb *limb = NULL, *again = NULL;
        sf_Json *json = NULL;
        char *first = NULL, *second = NULL;
        TAP_OK(sf_limb_read_file(&limb, example(examples[i]), NULL));
        if (!limb)
            continue;
        json = sf_limb_json(limb);
        TAP_OK(sf_json_text(json, 15, &first, NULL));
        sf_json_destroy(&json);
        TAP_OK(parse(&again, first, NULL));
        json = sf_limb_json(again);
        TAP_OK(sf_json_text(json, 15, &second, NULL));
        sf_json_destroy(&json);
        TAP_TEXT(second, first);
        // Against the file itself, both re-serialised: no field lost and no digit changed.
        sf_Doc *doc = NULL;
        TAP_OK(sf_doc_read_file(&doc, example(examples[i]), NULL));
        char *file = NULL;
        json = sf_json_from_node(sf_doc_root(doc));
        TAP_OK(sf_json_text(json, 15, &file, NULL));
        sf_json_destroy(&json);
        size_t in_file = 0, in_ours = 0;
        for (const char *c = file; *c; c++)
            in_file += *c == ':';
        for (const char *c = first; *c; c++)
            in_ours += *c == ':';
        TAP_TRUE(in_ours <= in_file && in_ours + 3 >= in_file, "%s: %zu fields of %zu written (null and empty ones go)",
                 examples[i], in_ours, in_file);
        sf_doc_destroy(&doc);
        sf_free(file);
        sf_free(first);
        sf_free(second);
        sf_limb_destroy(&limb);
        sf_limb_destroy(&again);
    }
}

TAP_CASE(every_problem_of_the_shape_comes_in_one_go)
{
    sf_Limb *limb = NULL;
    sf_Error err = { 0 };
    TAP_STATUS(parse(&limb,
                     "{\"format\": \"standfast-limb/2\", \"person\": {\"side\": \"Left\", \"body_mass_kg\": \"78\","
                     "\"weight\": 78, \"birth_date\": \"2023-02-29\"}, \"pylon\": {\"rings\": [{\"height_mm\": 110,"
                     "\"image\": \"a.png\", \"caliper\": \"b.csv\"}, {\"height_mm\": 9999, \"outer_diameter_mm\": 50}],"
                     "\"holes\": [{\"angle_deg\": 10}]}, \"spacers\": [null]}",
                     &err),
               SF_E_INPUT);
    TAP_TRUE(limb == NULL);
    TAP_HOLDS(err.text, "format is 'standfast-limb/2'; it must be one of 'standfast-limb/1'");
    TAP_HOLDS(err.text, "person.side is 'Left'; it must be one of 'left', 'right'");
    TAP_HOLDS(err.text, "person.body_mass_kg must be a number");
    TAP_HOLDS(err.text, "person.weight is not a known field");
    TAP_HOLDS(err.text, "person.birth_date is '2023-02-29'; a date is written 2026-01-31");
    TAP_HOLDS(err.text, "pylon.rings[0] must be known in one way");
    TAP_HOLDS(err.text, "pylon.rings[1].height_mm is 9999; it must lie between -100 and 700");
    TAP_HOLDS(err.text, "pylon.rings[1].inner_diameter_mm is missing: the other diameter is given");
    TAP_HOLDS(err.text, "pylon.holes[0].state is missing");
    TAP_HOLDS(err.text, "spacers[0] is missing");
}

TAP_CASE(sizes_that_contradict_one_another_are_told)
{
    sf_Limb *limb = NULL;
    sf_Error err = { 0 };
    TAP_STATUS(
        parse(
            &limb,
            "{\"format\": \"standfast-limb/1\", \"person\": {\"side\": \"left\", \"body_mass_kg\": 70, \"birth_date\":"
            "\"2000-01-01\", \"stature_history\": [{\"date\": \"1999-12-31\", \"stature_mm\": 500}]},"
            "\"pylon\": {\"cut_height_mm\": 200, \"top_height_mm\": 190, \"rings\": ["
            "{\"height_mm\": 200, \"outer_diameter_mm\": 50, \"inner_diameter_mm\": 51},"
            "{\"height_mm\": 200, \"outer_diameter_mm\": 50, \"inner_diameter_mm\": 40, \"groove_depth_mm\": 6},"
            "{\"height_mm\": 180, \"outer_diameter_mm\": 50, \"inner_diameter_mm\": 40, \"offset_mm\": [3, 4]}],"
            "\"holes\": [{\"angle_deg\": 0, \"height_mm\": 150, \"diameter_mm\": 6, \"state\": \"vent\"}]},"
            "\"adapter\": {\"shank_mm\": 50, \"rim_mm\": 40, \"motions\": [{\"setting\": \"toe_out_deg\", \"range\":"
            "[20, -20]}, {\"setting\": \"toe_out_deg\", \"range\": [0, 1]}]}}",
            &err),
        SF_E_INPUT);
    TAP_HOLDS(err.text, "pylon.top_height_mm must lie above pylon.cut_height_mm");
    TAP_HOLDS(err.text, "pylon.rings[0].inner_diameter_mm leaves no wall");
    TAP_HOLDS(err.text, "pylon.rings[1].height_mm is the height of pylon.rings[0] too");
    TAP_HOLDS(err.text, "pylon.rings[1].groove_depth_mm is deeper than the wall");
    TAP_HOLDS(err.text, "pylon.rings[1].seam_deg is missing");
    TAP_HOLDS(err.text, "pylon.rings[2].inner_diameter_mm leaves no wall");
    TAP_HOLDS(err.text, "pylon.holes[0].height_mm lies below pylon.cut_height_mm");
    TAP_HOLDS(err.text, "adapter.rim_mm must be larger than adapter.shank_mm");
    TAP_HOLDS(err.text, "adapter.motions[0].range must name the lesser end first");
    TAP_HOLDS(err.text, "adapter.motions[1].setting is named twice");
    TAP_HOLDS(err.text, "person.stature_history[0].date lies before person.birth_date");
}

TAP_CASE(side_and_mass_alone_are_a_limb_and_needs_are_named)
{
    sf_Limb *limb = NULL;
    sf_Error err = { 0 };
    TAP_OK(parse(&limb, "{\"format\": \"standfast-limb/1\", \"person\": {\"side\": \"right\", \"body_mass_kg\": 61.5}}",
                 &err));
    static const char *const paths[] = { "person.body_mass_kg", "pylon.rings", "adapter.foot_bolt.torque_nm",
                                         "spacers" };
    TAP_STATUS(sf_limb_need(limb, paths, 4, "length", &err), SF_E_MISSING);
    TAP_HOLDS(err.text, "length needs pylon.rings, adapter.foot_bolt.torque_nm, spacers");
    TAP_TEXT(err.path, "pylon.rings");
    TAP_OK(sf_limb_need(limb, paths, 1, "length", &err));
    sf_limb_destroy(&limb);
    TAP_STATUS(parse(&limb, "[1, 2]", &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "must be an object");
    TAP_STATUS(parse(&limb, "{\"format\": \"standfast-limb/1\"}", &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "person is missing");
    TAP_STATUS(parse(&limb, "{\"format\": ", &err), SF_E_PARSE);
    TAP_STATUS(sf_limb_read_file(&limb, "no-such-file.json", &err), SF_E_MISSING);
}

static sf_Status read_and_write(void *context)
{
    const char *text = context;
    sf_Limb *limb = NULL;
    sf_Json *json = NULL;
    char *out = NULL;
    sf_Status status;
    SF_TRY_DONE(parse(&limb, text, NULL));
    json = sf_limb_json(limb);
    SF_TRY_DONE(sf_json_text(json, 15, &out, NULL));
done:
    sf_free(out);
    sf_json_destroy(&json);
    sf_limb_destroy(&limb);
    return status;
}

TAP_CASE(every_failed_allocation_is_survived)
{
    unsigned char *text = NULL;
    size_t size;
    TAP_OK(sf_file_read(example("early-wrong-holes"), 1 << 20, &text, &size, NULL));
    tap_every_allocation(read_and_write, text, 5000, "limb round trip");
    sf_free(text);
}

TAP_MAIN(TAP_RUN(values_become_si_and_left_out_ones_stay_out), TAP_RUN(what_was_read_is_written_back),
         TAP_RUN(every_problem_of_the_shape_comes_in_one_go), TAP_RUN(sizes_that_contradict_one_another_are_told),
         TAP_RUN(side_and_mass_alone_are_a_limb_and_needs_are_named), TAP_RUN(every_failed_allocation_is_survived))
