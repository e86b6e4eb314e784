// SPDX-License-Identifier: GPL-3.0-or-later
// Units at the border of the core. Inside it everything is SI: m, N, Pa, kg, s, rad.
#pragma once

#define SF_PI 3.14159265358979323846

#define SF_MM          1e-3            ///< one millimetre in metres
#define SF_MM2         1e-6            ///< one square millimetre in square metres
#define SF_MM4         1e-12           ///< one mm^4 in m^4
#define SF_MPA         1e6             ///< one megapascal in pascals
#define SF_DEG         (SF_PI / 180.0) ///< one degree in radians
#define SF_INCH        0.0254          ///< one inch in metres (exact; NIST SP 811, appendix B.8)
#define SF_POUND_FORCE 4.4482216152605 ///< one lbf in newtons (exact; NIST SP 811, appendix B.8)
#define SF_POUND       0.45359237      ///< one avoirdupois pound in kilograms (exact; NIST SP 811, appendix B.8)
#define SF_GRAVITY     9.80665         ///< standard acceleration of free fall, m/s^2 (exact; NIST SP 811)
