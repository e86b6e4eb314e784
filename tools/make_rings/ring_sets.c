// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_sets.h"

#include "ring_dice.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double between(sf_Dice *d, double low, double high)
{
    return sf_dice_between(d, low, high);
}

static bool chance(sf_Dice *d, double p)
{
    return sf_dice_chance(d, p) != 0;
}

/// Sizes: adults mostly, some children, some thin and some thick walls.
static void size_ring(sf_Scene *s, sf_Dice *d, double most_mm)
{
    const bool child = chance(d, 0.25);
    s->outer_diameter_mm = child ? between(d, 24, 34) : fmin(between(d, 34, 80), most_mm);
    s->wall_mm = child ? between(d, 2.0, 4.5) : between(d, 3.0, fmin(9.0, 0.2 * s->outer_diameter_mm));
}

static void bend_ring(sf_Scene *s, sf_Dice *d)
{
    const double wall = s->wall_mm;
    s->seam_deg = between(d, 0, 360);
    if (chance(d, 0.6)) {
        s->oval_mm = s->outer_diameter_mm * between(d, 0.001, 0.02);
        s->oval_deg = between(d, 0, 180);
    }
    if (chance(d, 0.3)) {
        s->square_mm = s->outer_diameter_mm * between(d, 0.001, 0.008);
        s->square_deg = between(d, 0, 90);
    }
    if (chance(d, 0.3)) {
        s->outer_wave_mm = wall * between(d, 0.005, 0.03);
        s->outer_wave_deg = between(d, 0, 120);
    }
    if (chance(d, 0.6)) {
        s->eccentricity_mm = wall * between(d, 0.02, 0.25);
        s->eccentricity_deg = between(d, 0, 360);
    }
    if (chance(d, 0.5)) {
        s->wave2_mm = wall * between(d, 0.005, 0.06);
        s->wave2_deg = between(d, 0, 180);
    }
    if (chance(d, 0.4)) {
        s->wave3_mm = wall * between(d, 0.005, 0.03);
        s->wave3_deg = between(d, 0, 120);
    }
    if (chance(d, 0.2)) {
        s->wave5_mm = wall * between(d, 0.002, 0.01);
        s->wave5_deg = between(d, 0, 72);
    }
}

static void seam_ring(sf_Scene *s, sf_Dice *d)
{
    const double wall = s->wall_mm - s->eccentricity_mm;
    if (chance(d, 0.7)) {
        s->groove_mm = fmax(s->dpi < 250 ? 0.4 : 0.25, fmin(2.0, wall * between(d, 0.05, 0.35)));
        s->groove_form = (size_t)sf_dice_below(d, 3);
        const double radius = s->outer_diameter_mm / 2 - s->wall_mm;
        const double widest = radius * 0.2; // keeps the groove inside the 15 degrees beside which its depth is read
        const double scale = s->groove_form == SF_GROOVE_COSINE ? 2.2 : s->groove_form == SF_GROOVE_VEE ? 0.6 : 1.0;
        s->groove_width_mm = fmin(scale * between(d, 0.8, 1.9), scale * widest / 2.2);
        s->groove_mm = fmin(s->groove_mm, 1.6 * s->groove_width_mm / fmin(scale, 1.6)); // a groove, not a crack
        if (chance(d, 0.3)) {
            s->bump_mm = between(d, -0.3, 0.4);
            s->bump_width_mm = between(d, 2, 4);
        }
    }
    if (chance(d, 0.35)) {
        const double ligament = wall - s->groove_mm;
        s->line_mm = chance(d, 0.15) ? -1.0 : between(d, 0.2, 0.8) * ligament;
        s->line_width_mm = fmax(between(d, 0.12, 0.3), s->dpi < 250 ? 0.2 : 0.0);
        s->line_end_width_mm = s->line_width_mm * between(d, 0.4, 1.0);
        s->line_slant_deg = between(d, -8, 8);
        s->line_bend_mm = chance(d, 0.5) ? between(d, -0.15, 0.15) : 0.0;
    }
}

static void pit_ring(sf_Scene *s, sf_Dice *d)
{
    if (!chance(d, 0.25))
        return;
    const double thin = s->wall_mm - s->eccentricity_mm - fabs(s->wave2_mm) - fabs(s->wave3_mm);
    const size_t count = (size_t)(1 + sf_dice_below(d, 4));
    for (size_t i = 0; i < count; i++) {
        sf_SceneVoid *v = &s->voids[s->void_count++];
        v->angle_deg = s->seam_deg + 60 + 240.0 * ((double)i + between(d, 0.2, 0.8)) / (double)count;
        v->share = between(d, 0.4, 0.6);
        v->short_mm = fmin(between(d, 0.4, 1.6), 0.35 * thin);
        v->long_mm = v->short_mm * (chance(d, 0.5) ? 1.0 : between(d, 1.0, 2.0));
        v->tilt_deg = between(d, -10, 10);
    }
}

static void lay_ring(sf_Scene *s, sf_Dice *d)
{
    const double margin = between(d, 4, 12), side = s->outer_diameter_mm + 2 * margin;
    s->width_mm = side + between(d, 0, 6);
    s->height_mm = side + between(d, 0, 6);
    s->centre_x_mm = s->width_mm / 2 + between(d, -1.5, 1.5);
    s->centre_y_mm = s->height_mm / 2 + between(d, -1.5, 1.5);
}

static void light_ring(sf_Scene *s, sf_Dice *d)
{
    const bool inked = chance(d, 0.25);
    s->face = inked ? between(d, 0.06, 0.2) : between(d, 0.65, 0.88);
    s->ground = inked ? between(d, 0.8, 0.92) : between(d, 0.04, 0.15);
    s->edge_loss = between(d, 0.0, 0.07);
    s->edge_glow = s->edge_loss * between(d, 0.2, 1.0);
    s->edge_reach_mm = between(d, 0.12, 0.3);
    s->blur_px = between(d, 0.7, 1.3);
    s->saw = between(d, 0.0, 0.03);
    s->saw_pitch_mm = between(d, 0.4, 1.2);
    s->saw_deg = between(d, 0, 180);
    s->uneven = between(d, 0.0, 0.06);
    s->uneven_deg = between(d, 0, 360);
    s->noise = between(d, 0.004, 0.016);
    s->dust = sf_dice_below(d, 50);
}

static void file_ring(sf_Scene *s, sf_Dice *d)
{
    const int kind = sf_dice_below(d, 10);
    s->format = kind < 6 ? SF_FORMAT_PNG : kind < 8 ? SF_FORMAT_JPEG : SF_FORMAT_TIFF;
    s->depth = s->format != SF_FORMAT_JPEG && chance(d, 0.3) ? 16 : 8;
    const int colour = sf_dice_below(d, 10);
    s->colour = colour < 5 ? SF_COLOUR_GREY : colour < 8 ? SF_COLOUR_RGB : SF_COLOUR_GREY;
    if (s->format == SF_FORMAT_PNG && colour == 8)
        s->colour = SF_COLOUR_RGBA;
    if (s->format == SF_FORMAT_PNG && colour == 9 && s->depth == 8)
        s->colour = SF_COLOUR_PALETTE;
    const int gamma = sf_dice_below(d, 10);
    s->gamma = gamma < 6 ? SF_GAMMA_NONE : gamma < 8 ? SF_GAMMA_SRGB : SF_GAMMA_CHUNK;
    if (s->format == SF_FORMAT_JPEG && s->gamma == SF_GAMMA_CHUNK)
        s->gamma = SF_GAMMA_SRGB;
    s->density = chance(d, 0.5) ? SF_DENSITY_INCH : SF_DENSITY_CM;
    if (s->format == SF_FORMAT_JPEG) // whole dots per cm lose up to 0.3 %: a set of their own
        s->density = chance(d, 0.7) ? SF_DENSITY_INCH : SF_DENSITY_EXIF;
    s->packing = (size_t)sf_dice_below(d, 3);
    s->tiles = chance(d, 0.3);
    s->interlaced = chance(d, 0.1);
    s->big_endian = chance(d, 0.2);
    s->white_is_zero = chance(d, 0.2);
    s->quality = 90 + sf_dice_below(d, 9);
    if (chance(d, 0.06))
        s->density = SF_DENSITY_NONE; // the measuring command is then told
}

static void acceptance(sf_Scene *s, sf_Dice *d, int64_t index)
{
    static const double dpis[] = { 600, 300, 400, 600, 150, 1200, 300, 600, 200, 400, 600, 2400 };
    s->dpi = dpis[index % (int64_t)(sizeof dpis / sizeof *dpis)];
    size_ring(s, d, s->dpi > 2000 ? 40 : s->dpi > 1000 ? 60 : 80);
    bend_ring(s, d);
    seam_ring(s, d);
    pit_ring(s, d);
    lay_ring(s, d);
    light_ring(s, d);
    file_ring(s, d);
    snprintf(s->name, sizeof s->name, "a%03d-%ddpi", (int)index, (int)s->dpi);
}

/// The acceptance rings with things beside them.
static void clutter(sf_Scene *s, sf_Dice *d, int64_t index)
{
    static const double dpis[] = { 600, 300, 400, 200 };
    acceptance(s, d, 0);
    s->dpi = dpis[index % (int64_t)(sizeof dpis / sizeof *dpis)];
    s->tag = chance(d, 0.8);
    s->ruler = chance(d, 0.6);
    s->pencil = chance(d, 0.3);
    s->hair = chance(d, 0.4);
    s->smudge = chance(d, 0.3);
    const double right = between(d, 12, 26), below = between(d, 8, 22), above = between(d, 2, 14);
    const bool turned = chance(d, 0.5);
    s->width_mm += right;
    s->height_mm += below + above;
    s->centre_x_mm += turned ? right : 0.0;
    s->centre_y_mm += turned ? above : below;
    snprintf(s->name, sizeof s->name, "c%03d-%ddpi", (int)index, (int)s->dpi);
}

/// Nothing but the shape: no noise, no light effects. What is left of an error here is the method's own.
static void plain(sf_Scene *s, sf_Dice *d, int64_t index)
{
    acceptance(s, d, index);
    s->edge_loss = s->edge_glow = s->saw = s->uneven = s->noise = 0.0;
    s->dust = 0;
    s->format = SF_FORMAT_PNG;
    s->colour = SF_COLOUR_GREY;
    s->gamma = SF_GAMMA_NONE;
    s->depth = 16;
    snprintf(s->name, sizeof s->name, "p%03d-%ddpi", (int)index, (int)s->dpi);
}

/// The same ring on a scanner whose x axis is too long: what a calibration has to take out.
static void scanner(sf_Scene *s, sf_Dice *d, int64_t index)
{
    acceptance(s, d, 0);
    s->dpi = 600;
    s->stretch_x = 1.0 + between(d, -0.006, 0.006);
    snprintf(s->name, sizeof s->name, "s%03d-600dpi", (int)index);
}

/// JPEG tags in whole dots per cm: the tag is off by up to 0.3 %, the picture is not.
static void tags(sf_Scene *s, sf_Dice *d, int64_t index)
{
    acceptance(s, d, index);
    s->format = SF_FORMAT_JPEG;
    s->density = SF_DENSITY_CM;
    s->depth = 8;
    s->colour = SF_COLOUR_GREY;
    s->gamma = SF_GAMMA_NONE;
    snprintf(s->name, sizeof s->name, "t%03d-%ddpi", (int)index, (int)s->dpi);
}

static void page(sf_Scene *s, sf_Dice *d, int64_t index, bool a4)
{
    s->dpi = 600;
    s->outer_diameter_mm = between(d, 40, 54);
    s->wall_mm = between(d, 4.5, 6.5);
    bend_ring(s, d);
    seam_ring(s, d);
    s->line_mm = 0.0; // the plain pipeline that this is compared with knows neither lines nor voids
    light_ring(s, d);
    s->face = between(d, 0.7, 0.88);
    s->ground = between(d, 0.04, 0.1);
    s->width_mm = a4 ? 210 : 70;
    s->height_mm = a4 ? 297 : 70;
    s->centre_x_mm = a4 ? between(d, 40, 170) : 35 + between(d, -2, 2);
    s->centre_y_mm = a4 ? between(d, 40, 257) : 35 + between(d, -2, 2);
    s->dust = a4 ? 300 : 25;
    snprintf(s->name, sizeof s->name, "%s%03d-600dpi", a4 ? "page" : "bench", (int)index);
}

// ---- what must be refused --------------------------------------------------------------------------------------

typedef struct Refusal {
    const char *name, *why;
    void (*make)(sf_Scene *scene);
} Refusal;

static void make_blank(sf_Scene *s)
{
    s->body = SF_BODY_BLANK;
}

static void make_white(sf_Scene *s)
{
    s->body = SF_BODY_BLANK;
    s->ground = 0.9;
}

static void make_noise(sf_Scene *s)
{
    s->body = SF_BODY_NOISE;
}

static void make_grain(sf_Scene *s)
{
    s->body = SF_BODY_BLANK;
    s->ground = 0.4;
    s->noise = 0.08;
    s->blur_px = 0.0;
    s->dust = 400;
}

static void make_disc(sf_Scene *s)
{
    s->body = SF_BODY_DISC;
}

static void make_inked_disc(sf_Scene *s)
{
    s->body = SF_BODY_DISC;
    s->face = 0.1;
    s->ground = 0.88;
}

static void make_two(sf_Scene *s)
{
    s->body = SF_BODY_TWO;
    s->width_mm = 110;
    s->centre_x_mm = 28;
}

static void make_inked_two(sf_Scene *s)
{
    make_two(s);
    s->face = 0.1;
    s->ground = 0.88;
}

static void make_cut(sf_Scene *s)
{
    s->centre_x_mm = 12;
}

static void make_cut_corner(sf_Scene *s)
{
    s->centre_x_mm = 50;
    s->centre_y_mm = 9;
}

static void make_cut_little(sf_Scene *s)
{
    s->centre_y_mm = s->outer_diameter_mm / 2 - 0.5;
}

static void make_inked_cut(sf_Scene *s)
{
    make_cut(s);
    s->face = 0.1;
    s->ground = 0.88;
}

static void make_clutter_only(sf_Scene *s)
{
    s->body = SF_BODY_BLANK;
    s->width_mm = 90;
    s->tag = s->ruler = s->hair = true;
}

static void make_small(sf_Scene *s)
{
    s->outer_diameter_mm = 12;
    s->wall_mm = 2;
    s->groove_mm = 0;
}

static void make_large(sf_Scene *s)
{
    s->outer_diameter_mm = 112;
    s->dpi = 200;
    s->width_mm = s->height_mm = 130;
    s->centre_x_mm = s->centre_y_mm = 65;
}

static void make_thin(sf_Scene *s)
{
    s->wall_mm = 0.8;
    s->groove_mm = 0;
}

static void make_thick(sf_Scene *s)
{
    s->outer_diameter_mm = 50;
    s->wall_mm = 18;
    s->groove_mm = 0;
}

static void make_unscaled(sf_Scene *s)
{
    s->density = SF_DENSITY_NONE;
}

static void make_unscaled_jpeg(sf_Scene *s)
{
    s->density = SF_DENSITY_NONE;
    s->format = SF_FORMAT_JPEG;
}

static void make_unscaled_tiff(sf_Scene *s)
{
    s->density = SF_DENSITY_NONE;
    s->format = SF_FORMAT_TIFF;
}

static void make_aspect(sf_Scene *s)
{
    s->density = SF_DENSITY_ASPECT;
}

static void make_aspect_jpeg(sf_Scene *s)
{
    s->density = SF_DENSITY_ASPECT;
    s->format = SF_FORMAT_JPEG;
}

static void make_aspect_tiff(sf_Scene *s)
{
    s->density = SF_DENSITY_ASPECT;
    s->format = SF_FORMAT_TIFF;
}

static void make_truncated(sf_Scene *s)
{
    s->spoil = SF_SPOIL_TRUNCATED;
}

static void make_truncated_jpeg(sf_Scene *s)
{
    s->spoil = SF_SPOIL_TRUNCATED;
    s->format = SF_FORMAT_JPEG;
}

static void make_truncated_tiff(sf_Scene *s)
{
    s->spoil = SF_SPOIL_TRUNCATED;
    s->format = SF_FORMAT_TIFF;
}

static void make_letter(sf_Scene *s)
{
    s->spoil = SF_SPOIL_NOT_AN_IMAGE;
}

static void make_huge(sf_Scene *s)
{
    s->spoil = SF_SPOIL_HUGE;
}

static void make_huge_jpeg(sf_Scene *s)
{
    s->spoil = SF_SPOIL_HUGE;
    s->format = SF_FORMAT_JPEG;
}

static void make_huge_tiff(sf_Scene *s)
{
    s->spoil = SF_SPOIL_HUGE;
    s->format = SF_FORMAT_TIFF;
}

static const Refusal REFUSALS[] = {
    { "blank", "nothing on the glass", make_blank },
    { "white", "nothing on the glass", make_white },
    { "noise", "noise", make_noise },
    { "grain", "noise", make_grain },
    { "disc", "a disc without hole", make_disc },
    { "disc-inked", "a disc without hole", make_inked_disc },
    { "two", "two rings", make_two },
    { "two-inked", "two rings", make_inked_two },
    { "cut", "cut by the border", make_cut },
    { "cut-corner", "cut by the border", make_cut_corner },
    { "cut-little", "cut by the border", make_cut_little },
    { "cut-inked", "cut by the border", make_inked_cut },
    { "clutter-only", "nothing but clutter", make_clutter_only },
    { "small", "too small for a ring", make_small },
    { "large", "too large for a ring", make_large },
    { "thin", "wall too thin", make_thin },
    { "thick", "wall too thick", make_thick },
    { "unscaled-png", "no resolution", make_unscaled },
    { "unscaled-jpeg", "no resolution", make_unscaled_jpeg },
    { "unscaled-tiff", "no resolution", make_unscaled_tiff },
    { "aspect-png", "no resolution", make_aspect },
    { "aspect-jpeg", "no resolution", make_aspect_jpeg },
    { "aspect-tiff", "no resolution", make_aspect_tiff },
    { "truncated-png", "truncated file", make_truncated },
    { "truncated-jpeg", "truncated file", make_truncated_jpeg },
    { "truncated-tiff", "truncated file", make_truncated_tiff },
    { "letter", "not an image", make_letter },
    { "huge-png", "absurd size", make_huge },
    { "huge-jpeg", "absurd size", make_huge_jpeg },
    { "huge-tiff", "absurd size", make_huge_tiff },
};

enum { REFUSAL_COUNT = sizeof REFUSALS / sizeof *REFUSALS };

static void refuse(sf_Scene *s, sf_Dice *d, int64_t index)
{
    const Refusal *r = &REFUSALS[index % REFUSAL_COUNT];
    s->dpi = 300;
    s->groove_mm = 0.6;
    light_ring(s, d);
    s->face = 0.8;
    s->ground = 0.08;
    s->dust = 20;
    r->make(s);
    snprintf(s->refuse, sizeof s->refuse, "%s", r->why);
    snprintf(s->name, sizeof s->name, "r%02d-%s", (int)index, r->name);
}

static void bench_page(sf_Scene *s, sf_Dice *d, int64_t index)
{
    page(s, d, index, false);
}

static void a4_page(sf_Scene *s, sf_Dice *d, int64_t index)
{
    page(s, d, index, true);
}

static const struct {
    const char *name;
    int64_t size;
    void (*make)(sf_Scene *scene, sf_Dice *dice, int64_t index);
} SETS[] = {
    { "acceptance", 60, acceptance }, { "clutter", 24, clutter }, { "plain", 24, plain },
    { "scanner", 6, scanner },        { "tags", 12, tags },       { "refuse", REFUSAL_COUNT, refuse },
    { "bench", 4, bench_page },       { "a4", 1, a4_page },
};

int64_t sf_set_size(const char *set)
{
    for (size_t i = 0; i < sizeof SETS / sizeof *SETS; i++)
        if (strcmp(set, SETS[i].name) == 0)
            return SETS[i].size;
    return 0;
}

sf_Status sf_set_scene(const char *set, int64_t seed, int64_t index, sf_Scene *s, sf_Error *err)
{
    sf_Dice dice;
    sf_dice_seed(&dice, (uint64_t)seed * 1000003u + (uint64_t)index);
    sf_scene_defaults(s);
    s->seed = (int64_t)(sf_dice_bits(&dice) >> 16);
    for (size_t i = 0; i < sizeof SETS / sizeof *SETS; i++)
        if (strcmp(set, SETS[i].name) == 0) {
            SETS[i].make(s, &dice, index);
            return SF_OK;
        }
    return SF_FAIL(err, SF_E_USAGE, "--set",
                   "there is no set '%s'; the sets are: acceptance, clutter, plain, scanner, tags, refuse, bench, a4",
                   set);
}
