// SPDX-License-Identifier: GPL-3.0-or-later
// How much of what each section carries is used, along the height, with its band.
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/pylon_elevation.h"

#include <math.h>
#include <stdio.h>

static sf_PaperMm across(sf_Box box, double used, double most)
{
    return box.x + box.width * fmin(used, most) / most;
}

// The band as a field of thin level lines, so that the curve stays readable on paper.
static void paint_band(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *p, double most)
{
    const sf_Pen edge = { SF_INK_FAINT, 0.2, SF_DASH_NONE }, line = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    sf_Spot low[SF_STATION_MAX], high[SF_STATION_MAX];
    size_t n = p->pylon->station_count;
    for (size_t i = 0; i < n; i++) {
        double y = sf_height_y(heights, p->pylon->stations[i].height);
        low[i] = (sf_Spot){ across(box, p->used_band[i][0], most), y };
        high[i] = (sf_Spot){ across(box, p->used_band[i][1], most), y };
        if (i % 2 == 0)
            sf_sheet_line(sheet, low[i], high[i], &line);
    }
    sf_sheet_polyline(sheet, low, n, false, &edge);
    sf_sheet_polyline(sheet, high, n, false, &edge);
}

void sf_use_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *p)
{
    const sf_Pen axis = { SF_INK, 0.2, SF_DASH_NONE }, full = { SF_INK, 0.4, SF_DASH_NONE };
    const sf_Pen curve = { SF_INK_SCRIBE, 0.6, SF_DASH_NONE };
    const sf_Lettering centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    size_t n = p->pylon->station_count;
    double most = 1.2, top = sf_height_y(heights, p->pylon->top) - 3,
           bottom = sf_height_y(heights, p->pylon->cut) + 1.5;
    bool banded = p->used_band && n > 0 && isfinite(p->used_band[0][0]);
    sf_Spot spots[SF_STATION_MAX];
    if (!p->used)
        return;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, 1.1 * fmin(banded ? p->used_band[i][1] : p->used[i], 3));
    if (banded)
        paint_band(sheet, box, heights, p, most);
    for (size_t i = 0; i < n; i++)
        spots[i] = (sf_Spot){ across(box, isfinite(p->used[i]) ? p->used[i] : most, most),
                              sf_height_y(heights, p->pylon->stations[i].height) };
    sf_sheet_polyline(sheet, spots, n, false, &curve);
    double one = across(box, 1, most), middle = box.x + box.width / 2;
    sf_sheet_line(sheet, (sf_Spot){ box.x, bottom }, (sf_Spot){ box.x + box.width, bottom }, &axis);
    sf_sheet_line(sheet, (sf_Spot){ box.x, bottom }, (sf_Spot){ box.x, top }, &axis);
    sf_sheet_line(sheet, (sf_Spot){ one, bottom }, (sf_Spot){ one, top - 1 }, &full);
    sf_sheet_text(sheet, (sf_Spot){ box.x, bottom + 3.8 }, &centre, "0");
    sf_sheet_text(sheet, (sf_Spot){ one, bottom + 3.8 }, &centre, "1");
    sf_sheet_text(sheet, (sf_Spot){ middle, bottom + 7 }, &centre, "strength used");
    sf_sheet_text(sheet, (sf_Spot){ middle, bottom + 10 }, &centre, banded ? "and 90 % band" : "(no samples)");
}
