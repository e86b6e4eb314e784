// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_encode.h"

#include "base/alloc.h"
#include "ring_dice.h"
#include "ring_pixels.h"

#include <math.h>

static double coded(const sf_Scene *s, double light)
{
    const double v = light < 0.0 ? 0.0 : light > 1.0 ? 1.0 : light;
    switch ((sf_SceneGamma)s->gamma) {
    case SF_GAMMA_CHUNK: return pow(v, 1.0 / 2.2);
    case SF_GAMMA_SRGB: return v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1.0 / 2.4) - 0.055; // IEC 61966-2-1
    case SF_GAMMA_NONE: break;
    }
    return v;
}

static void put(sf_Pixels *p, size_t at, double value)
{
    if (p->depth == 8)
        p->data[at] = (uint8_t)floor(value * 255.0 + 0.5);
    else
        ((uint16_t *)(void *)p->data)[at] = (uint16_t)floor(value * 65535.0 + 0.5);
}

static sf_Status sample(const sf_Scene *s, const sf_Field *light, sf_Pixels *p, sf_Error *err)
{
    static const double tint[3] = { 1.0, 0.985, 0.95 };
    const size_t colours = s->colour == SF_COLOUR_RGB || s->colour == SF_COLOUR_RGBA ? 3 : 1;
    *p = (sf_Pixels){ .columns = light->columns, .rows = light->rows, .depth = s->depth == 16 ? 16 : 8 };
    p->channels = colours + (s->colour == SF_COLOUR_RGBA ? 1 : 0);
    p->data = sf_alloc(p->rows, sf_pixels_row_bytes(p));
    if (!p->data)
        return SF_FAIL(err, SF_E_MEMORY, "", "no memory to code the picture");
    sf_Dice dice;
    sf_dice_seed(&dice, (uint64_t)s->seed ^ 0x4015eu);
    size_t at = 0;
    for (size_t i = 0; i < p->columns * p->rows; i++) {
        const double v = s->body == SF_BODY_NOISE ? sf_dice_between(&dice, 0, 1) : light->value[i];
        for (size_t c = 0; c < colours; c++) {
            const double n = s->noise > 0.0 ? s->noise * sf_dice_normal(&dice) : 0.0;
            put(p, at++, coded(s, v * (colours == 3 ? tint[c] : 1.0) + n));
        }
        if (s->colour == SF_COLOUR_RGBA)
            put(p, at++, 1.0);
    }
    return SF_OK;
}

sf_Status sf_encode_scene(const sf_Scene *s, const sf_Field *light, const char *path, sf_Error *err)
{
    sf_Pixels p = { 0 };
    sf_Status status = SF_OK;
    SF_TRY_DONE(sample(s, light, &p, err));
    switch ((sf_SceneFormat)s->format) {
    case SF_FORMAT_PNG: status = sf_encode_png(s, &p, path, err); break;
    case SF_FORMAT_JPEG: status = sf_encode_jpeg(s, &p, path, err); break;
    case SF_FORMAT_TIFF: status = sf_encode_tiff(s, &p, path, err); break;
    }
done:
    sf_free(p.data);
    return status;
}
