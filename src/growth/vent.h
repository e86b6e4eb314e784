// SPDX-License-Identifier: GPL-3.0-or-later
// A vent through the pylon's wall: how large for a quiet speed of the air that the residual limb pumps, where, and what
// it costs the section (docs/theory/fastening.md, vent). SI.
#pragma once

/// Air speed that is not heard as a hiss, m/s (judgement).
#define SF_VENT_QUIET_SPEED 10.0
/// Peak over mean flow of a pumping stroke: half a sine wave.
#define SF_VENT_PEAK_OVER_MEAN 1.5707963267948966
/// Drills come in half millimetres; smaller than 2 mm clogs (judgement), larger than 8 mm is a window, m.
#define SF_VENT_DRILL_STEP 0.0005
#define SF_VENT_SMALLEST   0.002
#define SF_VENT_LARGEST    0.008

/// Diameter at which the peak flow of `volume` pumped within `time` reaches `speed`: sqrt(4 Q / (pi v)).
double sf_vent_diameter(double volume, double time, double speed);

/// The next drill that is not smaller, within the bounds above.
double sf_vent_drill(double diameter);

/// Peak air speed through a port of that diameter.
double sf_vent_speed(double volume, double time, double diameter);

/// Pressure that drives the air through a sharp-edged port, Pa: rho/2 (v/C)^2, rho 1.2 kg/m^3, C 0.6.
double sf_vent_pressure(double speed);

/// Shares of area and of the smaller second moment that one hole takes off a thin ring: d t / A and, for the hole at
/// the far fibre, d t r^2 / I.
double sf_vent_area_share(double diameter, double outer_diameter, double inner_diameter);
double sf_vent_moment_share(double diameter, double outer_diameter, double inner_diameter);
