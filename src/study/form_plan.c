// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/form_plan.h"

#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { MOST_TEXT = 2000 };

static const double PERCENT = 0.01, trim_assumed = 40 * SF_MM, density_assumed = 900;

static double number(sf_DocNode object, const char *key, double low, double high, double unit)
{
    double value = NAN;
    return sf_doc_number(sf_doc_member(object, key), low, high, &value) ? value * unit : NAN;
}

static double or_else(double value, double fallback)
{
    return isnan(value) ? fallback : value;
}

static void copy_text(char to[SF_PLAN_NAME], sf_DocNode object, const char *key)
{
    const char *text = NULL;
    to[0] = '\0';
    if (sf_doc_text(sf_doc_member(object, key), SF_PLAN_NAME - 1, &text))
        snprintf(to, SF_PLAN_NAME, "%s", text);
}

// ---- one of the shop's rings ------------------------------------------------------------------------------------

// Its mean wall: read, or from the area of the cut face, or from mass and length.
static double ring_wall(sf_DocNode node, double inner)
{
    double wall = number(node, "wall_mm", 0.5, 20, SF_MM), area = number(node, "area_mm2", 10, 10000, SF_MM2);
    double mass = number(node, "mass_g", 0.5, 2000, 1e-3), length = number(node, "axial_length_mm", 2, 400, SF_MM);
    double density = or_else(number(node, "density_kg_m3", 500, 3000, 1), density_assumed);
    int ways = !isnan(wall) + !isnan(area) + !isnan(mass);
    if (ways != 1)
        sf_doc_problem(node,
                       "must say its wall in one way: 'wall_mm', 'area_mm2', or 'mass_g' with 'axial_length_mm'; here "
                       "are %d",
                       ways);
    if (!isnan(mass))
        sf_doc_need(sf_doc_member(node, "axial_length_mm"), "a ring known by its mass");
    if (!isnan(wall))
        return wall;
    return sf_ring_wall_of_area(isnan(area) ? mass / (density * length) : area, inner);
}

static double ring_wave(sf_DocNode node)
{
    double least = number(node, "wall_least_mm", 0.5, 20, SF_MM), most = number(node, "wall_most_mm", 0.5, 20, SF_MM);
    if (isnan(least) != isnan(most))
        sf_doc_problem(node, "needs both 'wall_least_mm' and 'wall_most_mm', or neither");
    if (least > most)
        sf_doc_problem(node, "wall_least_mm must not be above wall_most_mm");
    return (most - least) / (most + least);
}

static void read_ring(sf_FormingReading *ring, sf_DocNode node, const sf_FormPlan *plan)
{
    static const char *const known[] = { "label",
                                         "date",
                                         "sheet_mm",
                                         "model_diameter_mm",
                                         "strip_width_mm",
                                         "flange_mm",
                                         "shrinkage_percent",
                                         "along_percent",
                                         "wall_mm",
                                         "area_mm2",
                                         "mass_g",
                                         "axial_length_mm",
                                         "density_kg_m3",
                                         "wall_least_mm",
                                         "wall_most_mm" };
    char unused[SF_PLAN_NAME];
    *ring = (sf_FormingReading){ .wave = NAN, .drape = { .strip = NAN } };
    if (!sf_doc_expect_object(node)) {
        sf_doc_need(node, "the list of rings");
        return;
    }
    sf_doc_only(node, known, COUNT(known));
    copy_text(unused, node, "label");
    copy_text(unused, node, "date");
    ring->drape.sheet = number(node, "sheet_mm", 1, 25, SF_MM);
    ring->drape.model_diameter = number(node, "model_diameter_mm", 10, 120, SF_MM);
    ring->drape.strip = number(node, "strip_width_mm", 20, 1000, SF_MM);
    ring->drape.flange = or_else(number(node, "flange_mm", 0, 200, SF_MM), plan->drape.flange);
    ring->drape.shrinkage = or_else(number(node, "shrinkage_percent", 0, 10, PERCENT), plan->drape.shrinkage);
    ring->along = or_else(number(node, "along_percent", 0, 100, PERCENT), 0);
    static const char *const needed[] = { "sheet_mm", "model_diameter_mm" };
    for (size_t i = 0; i < COUNT(needed); i++)
        sf_doc_need(sf_doc_member(node, needed[i]), "a ring that calibrates");
    ring->wall = ring_wall(node, ring->drape.model_diameter * (1 - ring->drape.shrinkage));
    ring->wave = ring_wave(node);
}

// ---- the plan ---------------------------------------------------------------------------------------------------

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void read_sheets(sf_FormPlan *plan, sf_DocNode node)
{
    if (!sf_doc_there(node) || !sf_doc_expect_array(node, SF_PLAN_SHEETS))
        return;
    for (size_t i = 0; i < sf_doc_length(node); i++) {
        double sheet;
        sf_doc_need(sf_doc_item(node, i), "the list of sheets");
        if (sf_doc_number(sf_doc_item(node, i), 1, 25, &sheet))
            plan->sheets[plan->sheet_count++] = sheet * SF_MM;
    }
    qsort(plan->sheets, plan->sheet_count, sizeof *plan->sheets, by_size);
}

static void read_rings(sf_FormPlan *plan, sf_DocNode node)
{
    if (!sf_doc_there(node) || !sf_doc_expect_array(node, SF_FORMING_RINGS))
        return;
    plan->ring_count = sf_doc_length(node);
    for (size_t i = 0; i < plan->ring_count; i++)
        read_ring(&plan->rings[i], sf_doc_item(node, i), plan);
}

static void read_numbers(sf_FormPlan *plan, sf_DocNode root, const sf_FormingStart *start)
{
    plan->drape.sheet = number(root, "sheet_mm", 1, 25, SF_MM);
    plan->wanted_wall = number(root, "wanted_wall_mm", 0.5, 20, SF_MM);
    plan->drape.model_diameter = number(root, "model_diameter_mm", 10, 120, SF_MM);
    plan->drape.strip = number(root, "strip_width_mm", 20, 1000, SF_MM);
    plan->drape.flange = number(root, "flange_mm", 0, 200, SF_MM);
    plan->drape.shrinkage = number(root, "shrinkage_percent", 0, 10, PERCENT);
    plan->length = number(root, "length_mm", 20, 1500, SF_MM);
    plan->trim = number(root, "trim_mm", 0, 500, SF_MM);
    plan->flange_said = !isnan(plan->drape.flange);
    plan->shrinkage_said = !isnan(plan->drape.shrinkage);
    plan->trim_said = !isnan(plan->trim);
    plan->drape.flange = or_else(plan->drape.flange, start->flange.value);
    plan->drape.shrinkage = or_else(plan->drape.shrinkage, start->shrinkage.value);
    plan->trim = or_else(plan->trim, trim_assumed);
    sf_doc_need(sf_doc_member(root, "model_diameter_mm"), "a plan (the model's diameter at the pylon)");
    if (!sf_doc_there(sf_doc_member(root, "sheet_mm")) && !sf_doc_there(sf_doc_member(root, "wanted_wall_mm")))
        sf_doc_problem(sf_doc_member(root, "sheet_mm"),
                       "is missing: give the sheet, or 'wanted_wall_mm' to be told it");
}

sf_Status sf_form_plan_parse(sf_FormPlan *plan, const char *name, const char *text, size_t size,
                             const sf_FormingStart *start, sf_Error *err)
{
    static const char *const known[] = { "format",
                                         "label",
                                         "by",
                                         "date",
                                         "note",
                                         "material",
                                         "sheet_mm",
                                         "wanted_wall_mm",
                                         "sheets_mm",
                                         "model_diameter_mm",
                                         "strip_width_mm",
                                         "flange_mm",
                                         "shrinkage_percent",
                                         "length_mm",
                                         "trim_mm",
                                         "rings",
                                         "limb" };
    static const char *const formats[] = { "standfast-plan/1" };
    static const char *const texts[] = { "by", "date", "note" };
    sf_Doc *doc = NULL;
    sf_Status status;
    size_t word;
    const char *unused;
    *plan = (sf_FormPlan){ 0 };
    SF_TRY_DONE(sf_doc_parse(&doc, name, text, size, err));
    sf_DocNode root = sf_doc_root(doc);
    if (!sf_doc_is_object(root))
        sf_doc_problem(root, "must be an object of format %s", formats[0]);
    sf_doc_only(root, known, COUNT(known));
    sf_doc_word(sf_doc_member(root, "format"), formats, COUNT(formats), &word);
    for (size_t i = 0; i < COUNT(texts); i++)
        (void)sf_doc_text(sf_doc_member(root, texts[i]), MOST_TEXT, &unused);
    copy_text(plan->label, root, "label");
    copy_text(plan->material, root, "material");
    read_numbers(plan, root, start);
    read_sheets(plan, sf_doc_member(root, "sheets_mm"));
    read_rings(plan, sf_doc_member(root, "rings"));
    if (sf_doc_there(sf_doc_member(root, "limb")))
        SF_TRY_DONE(sf_limb_from_node(&plan->limb, sf_doc_member(root, "limb"), err));
    status = sf_doc_verdict(doc, err);
done:
    sf_doc_destroy(&doc);
    if (status != SF_OK)
        sf_form_plan_free(plan);
    return status;
}

void sf_form_plan_free(sf_FormPlan *plan)
{
    sf_limb_destroy(&plan->limb);
    *plan = (sf_FormPlan){ 0 };
}
