// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_curve.h"

#include "base/units.h"

#include <math.h>

static double wave(double amplitude, double k, double a, double at_deg)
{
    return amplitude == 0.0 ? 0.0 : amplitude * cos(k * (a - at_deg * SF_DEG));
}

/// Signed angle from the seam, wrapped to [-pi, pi).
static double from_seam(const sf_Scene *s, double a)
{
    const double d = fmod(a - s->seam_deg * SF_DEG, 2.0 * SF_PI);
    return d < -SF_PI ? d + 2.0 * SF_PI : d >= SF_PI ? d - 2.0 * SF_PI : d;
}

double sf_curve_outer(const sf_Scene *s, double a)
{
    const double radius = s->outer_diameter_mm / 2.0;
    double r = radius + wave(s->oval_mm, 2, a, s->oval_deg) + wave(s->square_mm, 4, a, s->square_deg) +
               wave(s->outer_wave_mm, 3, a, s->outer_wave_deg);
    if (s->bump_mm != 0.0) {
        const double along = from_seam(s, a) * radius / s->bump_width_mm;
        r += s->bump_mm * exp(-0.5 * along * along);
    }
    return r;
}

static double groove(const sf_Scene *s, double along)
{
    const double w = s->groove_width_mm;
    switch ((sf_GrooveForm)s->groove_form) {
    case SF_GROOVE_COSINE: return fabs(along) >= w ? 0.0 : s->groove_mm * 0.5 * (1.0 + cos(SF_PI * along / w));
    case SF_GROOVE_VEE: return s->groove_mm * exp((0.5 * w - sqrt(along * along + 0.25 * w * w)) / w);
    case SF_GROOVE_GAUSS: break;
    }
    return s->groove_mm * exp(-0.5 * along * along / (w * w));
}

double sf_curve_inner(const sf_Scene *s, double a)
{
    const double radius = s->outer_diameter_mm / 2.0 - s->wall_mm;
    double r = radius + wave(s->oval_mm, 2, a, s->oval_deg) + wave(s->square_mm, 4, a, s->square_deg) +
               wave(s->wave2_mm, 2, a, s->wave2_deg) + wave(s->wave3_mm, 3, a, s->wave3_deg) +
               wave(s->wave5_mm, 5, a, s->wave5_deg);
    if (s->groove_mm > 0.0)
        r += groove(s, from_seam(s, a) * radius);
    return r;
}

sf_Spot sf_curve_outer_centre(const sf_Scene *s)
{
    return (sf_Spot){ s->centre_x_mm, s->centre_y_mm };
}

sf_Spot sf_curve_inner_centre(const sf_Scene *s)
{
    return (sf_Spot){ s->centre_x_mm + s->eccentricity_mm * cos(s->eccentricity_deg * SF_DEG),
                      s->centre_y_mm + s->eccentricity_mm * sin(s->eccentricity_deg * SF_DEG) };
}

static sf_Spot polar(sf_Spot centre, double r, double a)
{
    return (sf_Spot){ centre.x + r * cos(a), centre.y + r * sin(a) };
}

sf_Spot sf_curve_outer_spot(const sf_Scene *s, double a)
{
    return polar(sf_curve_outer_centre(s), sf_curve_outer(s, a), a);
}

sf_Spot sf_curve_inner_spot(const sf_Scene *s, double a)
{
    return polar(sf_curve_inner_centre(s), sf_curve_inner(s, a), a);
}

bool sf_curve_holds(const sf_Scene *s, sf_Spot p)
{
    const sf_Spot o = sf_curve_outer_centre(s), i = sf_curve_inner_centre(s);
    const double ox = p.x - o.x, oy = p.y - o.y, ix = p.x - i.x, iy = p.y - i.y;
    return hypot(ox, oy) <= sf_curve_outer(s, atan2(oy, ox)) && hypot(ix, iy) >= sf_curve_inner(s, atan2(iy, ix));
}

sf_Spot sf_curve_line_spot(const sf_Scene *s, double t, double *half_width, sf_Spot *across)
{
    const double a = s->seam_deg * SF_DEG, turn = a + s->line_slant_deg * SF_DEG;
    const double reach = s->line_mm > 0.0 ? s->line_mm : s->wall_mm;
    const double share = t > 0.0 ? t / reach : 0.0, side = s->line_bend_mm * share * share;
    const sf_Spot mouth = sf_curve_inner_spot(s, a), n = { -sin(turn), cos(turn) };
    if (half_width) {
        const double k = share > 1.0 ? 1.0 : share;
        *half_width = 0.5 * (s->line_width_mm + (s->line_end_width_mm - s->line_width_mm) * k);
    }
    if (across)
        *across = n;
    return (sf_Spot){ mouth.x + t * cos(turn) + side * n.x, mouth.y + t * sin(turn) + side * n.y };
}

double sf_curve_line_length(const sf_Scene *s)
{
    if (s->line_mm >= 0.0)
        return s->line_mm;
    double inside = s->wall_mm * 0.2, outside = s->wall_mm * 0.2;
    while (sf_curve_holds(s, sf_curve_line_spot(s, outside, NULL, NULL)) && outside < 4.0 * s->wall_mm) {
        inside = outside;
        outside += 0.1 * s->wall_mm;
    }
    for (int i = 0; i < 60; i++) {
        const double t = 0.5 * (inside + outside);
        if (sf_curve_holds(s, sf_curve_line_spot(s, t, NULL, NULL)))
            inside = t;
        else
            outside = t;
    }
    return 0.5 * (inside + outside);
}

sf_VoidPlace sf_curve_void(const sf_Scene *s, const sf_SceneVoid *v)
{
    const double a = v->angle_deg * SF_DEG, outer = sf_curve_outer(s, a);
    const sf_Spot o = sf_curve_outer_centre(s);
    double bore = 0.0, wall = outer; // on the ray: `bore` lies in the bore, `wall` in the material
    for (int i = 0; i < 60; i++) {
        const double r = 0.5 * (bore + wall);
        if (sf_curve_holds(s, polar(o, r, a)))
            wall = r;
        else
            bore = r;
    }
    return (sf_VoidPlace){ .centre = polar(o, wall + v->share * (outer - wall), a),
                           .a = v->long_mm / 2.0,
                           .b = v->short_mm / 2.0,
                           .turn = a + SF_PI / 2.0 + v->tilt_deg * SF_DEG };
}
