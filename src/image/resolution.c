// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/resolution.h"

#include "image/ring_scan.h"

#include <math.h>

sf_Status sf_resolution_settle(sf_Resolution *resolution, const sf_Picture *picture, const char *name, double given,
                               sf_Error *err)
{
    bool told = given > 0;
    *resolution = (sf_Resolution){ told ? given : picture->dpi_x, told ? given : picture->dpi_y,
                                   told ? "--dpi" : picture->dpi_origin, told ? 0 : picture->dpi_rounding };
    if (picture->dpi_conflict && !told)
        return SF_FAIL(err, SF_E_INPUT, "dpi",
                       "%s states two different resolutions: give the one it was scanned at with --dpi", name);
    if (!(resolution->dpi_x > 0))
        return SF_FAIL(err, SF_E_INPUT, "dpi",
                       "%s does not state its resolution: give the one it was scanned at with --dpi", name);
    double low = fmin(resolution->dpi_x, resolution->dpi_y), high = fmax(resolution->dpi_x, resolution->dpi_y);
    if (low < SF_RING_LEAST_DPI || high > SF_RING_MOST_DPI)
        return SF_FAIL(
            err, SF_E_INPUT, "dpi",
            "%s is at %g dpi (%s); rings are measured from 150 to 2400 dpi. Scan again, best at 600, or give "
            "the true resolution with --dpi",
            name, low < SF_RING_LEAST_DPI ? low : high, resolution->origin);
    return SF_OK;
}
