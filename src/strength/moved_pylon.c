// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/moved_pylon.h"

#include "base/alloc.h"
#include "base/units.h"
#include "strength/fibre_section.h"

#include <math.h>

// Area of the wall map's sectors less its voids.
static double map_area(const sf_WallRays *wall)
{
    double sum = 0;
    for (size_t k = 0; k < SF_WALL_RAYS; k++) {
        sum += SF_PI / SF_WALL_RAYS * (wall->outer[k] * wall->outer[k] - wall->inner[k] * wall->inner[k]);
        for (size_t i = 0; i < SF_WALL_LAYERS; i++)
            sum -= wall->lost[k][i];
    }
    return sum;
}

sf_BeamSection sf_beam_section_moved(const sf_BeamSection *section, double outer, double inner)
{
    sf_BeamSection out = *section;
    sf_FibreSection before, after;
    for (size_t k = 0; k < SF_WALL_RAYS; k++) {
        out.wall.outer[k] += outer;
        out.wall.inner[k] += inner;
    }
    out.area *= map_area(&out.wall) / map_area(&section->wall);
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++) {
        sf_Point from = sf_point_sub(section->fibre[k], section->wall.origin);
        out.fibre[k] = sf_point_add(section->fibre[k], sf_point_scale(from, outer / sf_point_length(from)));
    }
    sf_fibre_section_make(&before, section);
    sf_fibre_section_make(&after, &out);
    sf_Point shift = { after.sx / after.sum, after.sy / after.sum };
    out.centroid = sf_point_add(section->centroid, shift);
    out.jxx *= (after.jxx - after.sum * shift.x * shift.x) / before.jxx;
    out.jyy *= (after.jyy - after.sum * shift.y * shift.y) / before.jyy;
    out.jxy += after.jxy - after.sum * shift.x * shift.y - before.jxy;
    // A thin wall's figures: shear per torque 1 / (2 A t), torsion constant 4 A^2 t / length.
    double r = 0.25 * (section->outer_diameter + section->inner_diameter), wider = 1 + 0.5 * (outer + inner) / r;
    double thicker = fmax(1 + (outer - inner) / section->wall_min, 0.01);
    out.outer_diameter += 2 * outer;
    out.inner_diameter += 2 * inner;
    out.wall_min *= thicker;
    out.shear_per_torque /= wider * wider * thicker;
    out.torque_arm_area *= wider * wider * thicker;
    out.torsion_constant *= wider * wider * wider * thicker;
    return out;
}

sf_Status sf_pylon_moved(sf_Pylon *moved, const sf_Pylon *pylon, const sf_EdgeShift *shift, sf_Error *err)
{
    *moved = *pylon;
    moved->stations = sf_alloc(pylon->station_count, sizeof *moved->stations);
    if (!moved->stations)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while moving a pylon's edges");
    for (size_t i = 0; i < pylon->station_count; i++) {
        const sf_PylonStation *from = &pylon->stations[i];
        sf_PylonStation *to = &moved->stations[i];
        double next = i + 1 < pylon->station_count ? pylon->stations[i + 1].height : from->height;
        double up = (from->height - pylon->cut) / (pylon->top - pylon->cut);
        double half = (0.5 * (from->height + next) - pylon->cut) / (pylon->top - pylon->cut);
        to->height = from->height;
        to->section = sf_beam_section_moved(&from->section, shift->outer, shift->inner + up * shift->inner_top);
        to->middle = sf_beam_section_moved(&from->middle, shift->outer, shift->inner + half * shift->inner_top);
    }
    return SF_OK;
}
