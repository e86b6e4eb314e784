// SPDX-License-Identifier: GPL-3.0-or-later
// Sizes of one limb that contradict one another. The shape of the document is good when this runs.
#include "limb/limb.h"

#include "base/units.h"

#include <math.h>
#include <string.h>

static sf_DocNode node(sf_DocNode root, const char *object, const char *field)
{
    return sf_doc_member(sf_doc_member(root, object), field);
}

static sf_DocNode item(sf_DocNode root, const char *object, const char *list, size_t index, const char *field)
{
    return sf_doc_member(sf_doc_item(node(root, object, list), index), field);
}

static void check_ring(sf_DocNode root, const sf_LimbPylon *pylon, size_t i)
{
    const sf_LimbRing *ring = &pylon->rings[i];
    for (size_t k = 0; k < i; k++)
        if (fabs(pylon->rings[k].height - ring->height) < 0.5 * SF_MM)
            sf_doc_problem(item(root, "pylon", "rings", i, "height_mm"),
                           "is the height of pylon.rings[%zu] too: give each ring its own height", k);
    if (isnan(ring->outer_diameter) || isnan(ring->inner_diameter))
        return;
    double offset = isnan(ring->offset[0]) ? 0 : hypot(ring->offset[0], ring->offset[1]);
    double wall = 0.5 * (ring->outer_diameter - ring->inner_diameter), least = wall - offset;
    if (least < 0.5 * SF_MM) {
        sf_doc_problem(item(root, "pylon", "rings", i, "inner_diameter_mm"),
                       "leaves no wall: the bore of %g mm must lie at least 0.5 mm inside the outer circle of %g mm%s",
                       ring->inner_diameter / SF_MM, ring->outer_diameter / SF_MM,
                       offset > 0 ? ", with its offset" : "");
        return;
    }
    double groove = isnan(ring->groove_depth) ? 0 : ring->groove_depth;
    double line = isnan(ring->unjoined_depth) ? 0 : ring->unjoined_depth;
    // Where the offset bore comes nearest to the rim is not known to lie at the seam: only the mean wall is certain.
    if (groove > wall + offset - 0.3 * SF_MM)
        sf_doc_problem(item(root, "pylon", "rings", i, "groove_depth_mm"), "is deeper than the wall");
    else if (groove + line > wall + offset + 1e-9)
        sf_doc_problem(item(root, "pylon", "rings", i, "unjoined_depth_mm"),
                       "is longer than the wall left outside the groove");
    if ((groove > 0 || line > 0) && isnan(ring->seam))
        sf_doc_problem(item(root, "pylon", "rings", i, "seam_deg"),
                       "is missing: a groove or an unjoined line needs its direction");
    if (groove > 0 && !(ring->groove_width > 0))
        sf_doc_problem(item(root, "pylon", "rings", i, "groove_width_mm"), "is missing: the groove needs its width");
}

static void check_pylon(sf_DocNode root, const sf_LimbData *data)
{
    const sf_LimbPylon *pylon = &data->pylon;
    if (pylon->top_height <= pylon->cut_height)
        sf_doc_problem(node(root, "pylon", "top_height_mm"), "must lie above pylon.cut_height_mm");
    else if (pylon->top_height <= pylon->cut_height + data->adapter.depth)
        sf_doc_problem(node(root, "adapter", "depth_mm"), "reaches to the pylon's top: no free pylon is left");
    if (!data->socket.there || isnan(data->socket.distal_end_height) || isnan(pylon->cut_height))
        (void)0;
    else if (data->socket.distal_end_height <= pylon->cut_height)
        sf_doc_problem(node(root, "socket", "distal_end_height_mm"), "must lie above pylon.cut_height_mm");
    for (size_t i = 0; i < pylon->ring_count; i++)
        check_ring(root, pylon, i);
    for (size_t i = 0; i < pylon->hole_count; i++)
        if (pylon->holes[i].height > pylon->top_height)
            sf_doc_problem(item(root, "pylon", "holes", i, "height_mm"), "lies above pylon.top_height_mm");
        else if (pylon->holes[i].height < pylon->cut_height)
            sf_doc_problem(item(root, "pylon", "holes", i, "height_mm"),
                           "lies below pylon.cut_height_mm: it was sawn off, take it out");
}

static void check_adapter(sf_DocNode root, const sf_LimbAdapter *adapter)
{
    if (adapter->rim <= adapter->shank)
        sf_doc_problem(node(root, "adapter", "rim_mm"), "must be larger than adapter.shank_mm");
    for (size_t i = 0; i < adapter->motion_count; i++) {
        const sf_LimbAdapterMotion *motion = &adapter->motions[i];
        if (motion->range[0] > motion->range[1])
            sf_doc_problem(item(root, "adapter", "motions", i, "range"), "must name the lesser end first");
        for (size_t k = 0; k < i; k++)
            if (adapter->motions[k].setting == motion->setting)
                sf_doc_problem(item(root, "adapter", "motions", i, "setting"), "is named twice");
    }
}

static void check_dates(sf_DocNode root, const sf_LimbPerson *person)
{
    const char *birth = person->birth_date;
    if (!birth)
        return;
    if (person->prosthesis_set_date && strcmp(person->prosthesis_set_date, birth) < 0)
        sf_doc_problem(node(root, "person", "prosthesis_set_date"), "lies before person.birth_date");
    for (size_t i = 0; i < person->block_count; i++)
        if (strcmp(person->blocks[i].date, birth) < 0)
            sf_doc_problem(item(root, "person", "levelling_block_history", i, "date"), "lies before person.birth_date");
    for (size_t i = 0; i < person->stature_count; i++)
        if (strcmp(person->statures[i].date, birth) < 0)
            sf_doc_problem(item(root, "person", "stature_history", i, "date"), "lies before person.birth_date");
    for (size_t i = 0; i < person->knee_count; i++)
        if (strcmp(person->knees[i].date, birth) < 0)
            sf_doc_problem(item(root, "person", "knee_height_history", i, "date"), "lies before person.birth_date");
}

void sf_limb_check(sf_DocNode root, const sf_LimbData *data)
{
    check_dates(root, &data->person);
    check_pylon(root, data);
    check_adapter(root, &data->adapter);
}
