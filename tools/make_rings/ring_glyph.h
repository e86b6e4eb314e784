// SPDX-License-Identifier: GPL-3.0-or-later
// Soft-edged strokes, boxes and handwritten figures, drawn by distance: for what lies beside the ring.
#pragma once

#include "ring_raster.h"

/// A pen on a light field; places in mm, x right, y up, from the picture's lower left corner.
typedef struct sf_Pen {
    sf_Field *field;
    double pixel_mm;
} sf_Pen;

/// A stroke with round ends.
void sf_pen_stroke(const sf_Pen *pen, double x0, double y0, double x1, double y1, double width_mm, double level);

/// A filled box about (x, y), turned by `turn` (rad).
void sf_pen_box(const sf_Pen *pen, double x, double y, double width_mm, double height_mm, double turn, double level);

/// A number written by hand, its middle at (x, y); figures `height_mm` tall; several of them have closed loops.
void sf_pen_number(const sf_Pen *pen, int number, double x, double y, double height_mm, double turn, double stroke_mm,
                   double level);
