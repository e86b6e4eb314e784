// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/fibre_section.h"

#include "base/units.h"
#include "num/bracket.h"

#include <limits.h>
#include <math.h>

static const double hardening = 1e-4;         // of the modulus, beyond yield: keeps the tangent from vanishing
static const double respond_tolerance = 1e-8; // of the section's squash force and of that times its reach
enum { RESPOND_MOST = 60, HALVINGS = 30 };

// ---- cutting ----------------------------------------------------------------------------------------------------

void sf_fibre_section_sum(sf_FibreSection *f)
{
    f->sum = f->sx = f->sy = f->jxx = f->jyy = f->jxy = 0;
    for (size_t i = 0; i < f->count; i++) {
        double a = f->area[i], ax = a * f->x[i], ay = a * f->y[i];
        f->sum += a;
        f->sx += ax;
        f->sy += ay;
        f->jxx += ax * f->x[i];
        f->jyy += ay * f->y[i];
        f->jxy += ax * f->y[i];
    }
}

// Gauss' two points through the wall: exact for the area and the second moments of a sector.
void sf_fibre_section_make(sf_FibreSection *f, const sf_BeamSection *section)
{
    static const double gauss = 0.57735026918962576;
    const sf_WallRays *wall = &section->wall;
    double step = 2 * SF_PI / SF_WALL_RAYS, sum = 0;
    f->origin = section->centroid;
    f->count = 0;
    sf_Point from = sf_point_sub(wall->origin, f->origin);
    for (size_t k = 0; k < SF_WALL_RAYS; k++) {
        double c = cos(step * (double)k), s = sin(step * (double)k);
        double ro = wall->outer[k], ri = wall->inner[k];
        for (size_t i = 0; i < SF_WALL_LAYERS; i++) {
            double r = 0.5 * (ro + ri) + (i ? 0.5 : -0.5) * gauss * (ro - ri);
            f->x[f->count] = from.x + r * c;
            f->y[f->count] = from.y + r * s;
            f->area[f->count] = fmax(0.5 * (ro - ri) * r * step - wall->lost[k][i], 0);
            sum += f->area[f->count++];
        }
    }
    for (size_t i = 0; i < f->count; i++)
        f->area[i] *= section->area / sum;
    f->reach = 0;
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++) {
        f->edge[k] = sf_point_sub(section->fibre[k], f->origin);
        f->reach = fmax(f->reach, sf_point_length(f->edge[k]));
    }
    sf_fibre_section_sum(f);
}

void sf_fibre_section_drill(sf_FibreSection *f, double angle, double chord)
{
    sf_Point d = { cos(angle), sin(angle) };
    for (size_t i = 0; i < f->count; i++) {
        sf_Point p = { f->x[i] + f->origin.x, f->y[i] + f->origin.y };
        double r = sf_point_length(p);
        if (sf_point_dot(p, d) <= 0 || r <= 0)
            continue;
        // Width of the fibre's sector that the strip covers.
        double half = SF_PI / SF_WALL_RAYS * r, off = sf_point_cross(d, p);
        double covered = fmin(off + half, 0.5 * chord) - fmax(off - half, -0.5 * chord);
        f->area[i] *= 1 - fmin(fmax(covered / (2 * half), 0), 1);
    }
    sf_fibre_section_sum(f);
}

// ---- answering --------------------------------------------------------------------------------------------------

// Sums of one pass: forces, and the tangent's moments.
typedef struct Sums {
    double n, mx, my;
    double t, tx, ty, txx, txy, tyy;
} Sums;

// Four fibres at once: the compiler may not reorder sums by itself. A processor with wide registers takes them in one
// step, an older one in two; both do the same sums in the same order, so every machine finds the same digits.
typedef double Four __attribute__((vector_size(32)));
typedef long long FourMask __attribute__((vector_size(32)));
_Static_assert(2 * SF_WALL_RAYS % 4 == 0, "fibres come in fours");

#define ALL(a)     ((Four){ (a), (a), (a), (a) })
#define LOAD(a)    ((Four){ (a)[0], (a)[1], (a)[2], (a)[3] })
#define SIZE_OF(a) ((Four)((FourMask)(a) & (FourMask){ LLONG_MAX, LLONG_MAX, LLONG_MAX, LLONG_MAX }))
#define SUM_OF(a)  (((a)[0] + (a)[1]) + ((a)[2] + (a)[3]))

// The commonest law by itself, without branches.
__attribute__((target_clones("avx2", "default"))) static void pass_flat(Sums *out, const sf_FibreSection *f,
                                                                        double modulus, double yield, double e0,
                                                                        sf_Point k)
{
    const Four E = ALL(modulus), Y = ALL(yield), H = ALL(hardening), half = ALL(0.5);
    const Four soft = E * H, more = E - soft, e = ALL(e0), kx = ALL(k.x), ky = ALL(k.y);
    Four n = { 0 }, mx = n, my = n, t = n, tx = n, ty = n, txx = n, txy = n, tyy = n;
    for (size_t i = 0; i + 3 < f->count; i += 4) {
        Four x = LOAD(f->x + i), y = LOAD(f->y + i), a = LOAD(f->area + i);
        Four line = E * (e - kx * x - ky * y);
        Four held = half * (SIZE_OF(line + Y) - SIZE_OF(line - Y)); // line between -Y and Y
        Four straight = (Four)((FourMask)more & (FourMask)(SIZE_OF(line) < Y));
        Four w = a * (soft + straight), s = a * (held + H * (line - held)), wx = w * x, wy = w * y;
        n += s;
        mx += s * x;
        my += s * y;
        t += w;
        tx += wx;
        ty += wy;
        txx += wx * x;
        txy += wx * y;
        tyy += wy * y;
    }
    *out = (Sums){ SUM_OF(n),  SUM_OF(mx),  SUM_OF(my),  SUM_OF(t),  SUM_OF(tx),
                   SUM_OF(ty), SUM_OF(txx), SUM_OF(txy), SUM_OF(tyy) };
}

static void pass_points(Sums *out, const sf_FibreSection *f, const sf_StressLaw *law, double share, double e0,
                        sf_Point k)
{
    Sums s = { 0 };
    for (size_t i = 0; i < f->count; i++) {
        double x = f->x[i], y = f->y[i], a = f->area[i], tangent;
        double e = e0 - k.x * x - k.y * y;
        double held = copysign(share * sf_stress_law_branch(law, fabs(e) / share, &tangent), e);
        double w = a * fmax(tangent, hardening * law->modulus), sa = a * (held + hardening * (law->modulus * e - held));
        double wx = w * x, wy = w * y;
        s.n += sa;
        s.mx += sa * x;
        s.my += sa * y;
        s.t += w;
        s.tx += wx;
        s.ty += wy;
        s.txx += wx * x;
        s.txy += wx * y;
        s.tyy += wy * y;
    }
    *out = s;
}

static void pass(Sums *out, const sf_FibreSection *f, const sf_StressLaw *law, double share, double e0, sf_Point k)
{
    if (law->count == 0)
        pass_flat(out, f, law->modulus, share * law->yield, e0, k);
    else
        pass_points(out, f, law, share, e0, k);
}

void sf_fibre_actions(double *axial, sf_Point *moment, const sf_FibreSection *f, const sf_StressLaw *law, double share,
                      double e0, sf_Point k)
{
    Sums s;
    pass(&s, f, law, share, e0, k);
    *axial = -s.n;
    *moment = (sf_Point){ -s.mx, -s.my };
}

// The tangent [t -tx -ty; . txx txy; . . tyy] belongs to (e0, kx, ky); its inverse, upper half.
typedef struct Inverse {
    double a, b, c, d, e, f; // [a b c; b d e; c e f]
} Inverse;

static bool invert(Inverse *out, const Sums *s)
{
    double m00 = s->t, m01 = -s->tx, m02 = -s->ty, m11 = s->txx, m12 = s->txy, m22 = s->tyy;
    double c00 = m11 * m22 - m12 * m12, c01 = m02 * m12 - m01 * m22, c02 = m01 * m12 - m02 * m11;
    double det = m00 * c00 + m01 * c01 + m02 * c02;
    if (!(det > 0))
        return false;
    *out = (Inverse){ c00 / det,
                      c01 / det,
                      c02 / det,
                      (m00 * m22 - m02 * m02) / det,
                      (m01 * m02 - m00 * m12) / det,
                      (m00 * m11 - m01 * m01) / det };
    return true;
}

static sf_FibreState answer_of(const Inverse *v, double e0, sf_Point k, sf_Point share, double axial, sf_Point moment)
{
    return (sf_FibreState){ .e0 = e0,
                            .k = k,
                            .kxx = v->d,
                            .kxy = v->e,
                            .kyy = v->f,
                            .by_share = share,
                            .by_axial = { -v->b, -v->c },
                            .e0_axial = -v->a,
                            .axial = axial,
                            .moment = moment };
}

static bool elastic_answer(sf_FibreState *state, const sf_FibreSection *f, const sf_StressLaw *law, double share,
                           double axial, sf_Point moment)
{
    double E = law->count ? law->stress[0] / law->strain[0] : law->modulus;
    double first = share * (law->count ? law->strain[0] : law->yield / law->modulus);
    Sums s = {
        .t = E * f->sum, .tx = E * f->sx, .ty = E * f->sy, .txx = E * f->jxx, .txy = E * f->jxy, .tyy = E * f->jyy
    };
    Inverse v;
    if (!invert(&v, &s))
        return false;
    double e0 = -v.a * axial + v.b * moment.x + v.c * moment.y;
    sf_Point k = { -v.b * axial + v.d * moment.x + v.e * moment.y, -v.c * axial + v.e * moment.x + v.f * moment.y };
    if (fabs(e0) + sf_point_length(k) * f->reach > first)
        return false;
    *state = answer_of(&v, e0, k, (sf_Point){ 0, 0 }, axial, moment);
    state->elastic = true;
    return true;
}

// A law scaled by q in stress and strain: d stress / d q = (stress - tangent x strain) / q.
static sf_Point by_share(const Sums *s, const Inverse *v, double q, double e0, sf_Point k)
{
    double n = (s->n - (s->t * e0 - s->tx * k.x - s->ty * k.y)) / q;
    double mx = -(s->mx - (s->tx * e0 - s->txx * k.x - s->txy * k.y)) / q;
    double my = -(s->my - (s->ty * e0 - s->txy * k.x - s->tyy * k.y)) / q;
    return (sf_Point){ -(v->b * n + v->d * mx + v->e * my), -(v->c * n + v->e * mx + v->f * my) };
}

bool sf_fibre_respond(sf_FibreState *state, const sf_FibreSection *f, const sf_StressLaw *law, double share,
                      double axial, sf_Point moment)
{
    if (!(share > 0))
        return false;
    if (elastic_answer(state, f, law, share, axial, moment))
        return true;
    double within = respond_tolerance * sf_stress_law_most(law) * f->sum, e0 = state->e0;
    sf_Point k = state->k, more = sf_point_sub(moment, state->moment);
    double press = axial - state->axial;
    // Onward from the answer that was brought, by its own rates.
    e0 += state->e0_axial * press - sf_point_dot(state->by_axial, more);
    k.x += state->kxx * more.x + state->kxy * more.y + state->by_axial.x * press;
    k.y += state->kxy * more.x + state->kyy * more.y + state->by_axial.y * press;
    Sums s;
    pass(&s, f, law, share, e0, k);
    for (int n = 0; n < RESPOND_MOST; n++) {
        Inverse v;
        // Gradient of the (convex) potential of the strain state.
        double g0 = s.n + axial, gx = -s.mx - moment.x, gy = -s.my - moment.y;
        if (!invert(&v, &s))
            return false;
        if (fabs(g0) <= within && fabs(gx) + fabs(gy) <= within * f->reach) {
            *state = answer_of(&v, e0, k, by_share(&s, &v, share, e0, k), axial, moment);
            return true;
        }
        double d0 = -(v.a * g0 + v.b * gx + v.c * gy), dx = -(v.b * g0 + v.d * gx + v.e * gy);
        double dy = -(v.c * g0 + v.e * gx + v.f * gy), slope = g0 * d0 + gx * dx + gy * dy, step = 1;
        // Shorten a step that runs past the lowest place far enough to climb again.
        for (int h = 0; h < HALVINGS; h++, step *= 0.5) {
            pass(&s, f, law, share, e0 + step * d0, (sf_Point){ k.x + step * dx, k.y + step * dy });
            double there = (s.n + axial) * d0 - (s.mx + moment.x) * dx - (s.my + moment.y) * dy;
            if (there <= 0.9 * fabs(slope))
                break;
        }
        e0 += step * d0;
        k = (sf_Point){ k.x + step * dx, k.y + step * dy };
    }
    return false;
}

double sf_fibre_strain_most(const sf_FibreSection *f, const sf_FibreState *state)
{
    double angle = atan2(state->k.y, state->k.x);
    size_t i = (size_t)lround((angle + 2 * SF_PI) / (2 * SF_PI) * SF_FIBRE_COUNT) % SF_FIBRE_COUNT;
    size_t j = (i + SF_FIBRE_COUNT / 2) % SF_FIBRE_COUNT;
    return fmax(fabs(state->e0 - sf_point_dot(state->k, f->edge[i])),
                fabs(state->e0 - sf_point_dot(state->k, f->edge[j])));
}

// Logarithm of the outer strain over the limit under a moment along d; far above 0 when there is no answer.
static double past_limit(sf_FibreState *state, const sf_FibreSection *f, const sf_StressLaw *law, double share,
                         double axial, sf_Point moment)
{
    static const double lost = 10;
    if (!sf_fibre_respond(state, f, law, share, axial, moment))
        return lost;
    return fmin(log(fmax(sf_fibre_strain_most(f, state), 1e-12) / law->strain_limit), lost);
}

double sf_fibre_moment_limit(const sf_FibreSection *f, const sf_StressLaw *law, double share, double axial,
                             double angle)
{
    static const double within = 2e-6; // of the moment
    sf_Point d = { cos(angle), sin(angle) };
    sf_FibreState state = { 0 };
    sf_Bracket b = { .f_low = past_limit(&state, f, law, share, axial, (sf_Point){ 0, 0 }) };
    if (b.f_low > 0)
        return 0;
    // No section carries more than all its fibres at yield with their distances along d, and the hardening's mite.
    for (size_t i = 0; i < f->count; i++)
        b.high += f->area[i] * fabs(d.x * f->x[i] + d.y * f->y[i]);
    b.high *= share * sf_stress_law_most(law) + hardening * law->modulus * law->strain_limit;
    sf_FibreState beyond = state;
    b.f_high = past_limit(&beyond, f, law, share, axial, sf_point_scale(d, b.high));
    if (b.f_high <= 0)
        return b.high;
    for (int n = 0; n < RESPOND_MOST && b.high - b.low > within * b.high; n++) {
        double next = sf_bracket_next(&b, 0.05);
        sf_FibreState try = state;
        double at = past_limit(&try, f, law, share, axial, sf_point_scale(d, next));
        sf_bracket_take(&b, next, at, at <= 0);
        if (at <= 0)
            state = try;
        if (fabs(at) < 1e-5)
            return next;
    }
    return 0.5 * (b.low + b.high);
}
