// SPDX-License-Identifier: GPL-3.0-or-later
// The wall against the picture angle: the wall rolled out flat, bore below, with the limits drawn in. Internal to
// `draw`.
#pragma once

#include "draw/ring_sheet.h"

void sf_wall_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_RingSheet *ring);
