// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/tone.h"

#include <math.h>
#include <string.h>

enum { ICC_HEADER = 128, ICC_MAX_TAGS = 200 };

static double srgb_light(double v)
{
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static double parametric_light(const double c[7], double v)
{
    return v >= c[4] ? pow(fmax(c[1] * v + c[2], 0), c[0]) + c[5] : c[3] * v + c[6];
}

static double table_light(const sf_Tone *tone, double v)
{
    double place = v * (double)(tone->table_count - 1);
    size_t i = (size_t)place;
    if (i + 1 >= tone->table_count)
        return tone->table[tone->table_count - 1] / 65535.0;
    double t = place - (double)i;
    return (tone->table[i] * (1 - t) + tone->table[i + 1] * t) / 65535.0;
}

double sf_tone_light(const sf_Tone *tone, double value)
{
    double light = value;
    switch (tone->kind) {
    case SF_TONE_UNSTATED: break;
    case SF_TONE_GAMMA: light = pow(value, tone->exponent); break;
    case SF_TONE_SRGB: light = srgb_light(value); break;
    case SF_TONE_CURVE: light = parametric_light(tone->curve, value); break;
    case SF_TONE_TABLE: light = table_light(tone, value); break;
    }
    return fmin(fmax(light, 0), 1);
}

void sf_tone_fill(const sf_Tone *tone, uint16_t *light, size_t count)
{
    for (size_t i = 0; i < count; i++)
        light[i] = (uint16_t)lround(65535 * sf_tone_light(tone, (double)i / (double)(count - 1)));
}

static uint32_t big32(const uint8_t *p)
{
    return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

static uint32_t big16(const uint8_t *p)
{
    return (uint32_t)p[0] << 8 | p[1];
}

// A 'curv' element: no entry = linear, one = exponent (8.8 fixed point), more = table.
static bool read_curv(sf_Tone *tone, const uint8_t *element, size_t size)
{
    uint32_t count = big32(element + 8);
    if (count > SF_TONE_TABLE_MAX || size < 12 + 2 * (size_t)count)
        return false;
    if (count <= 1) {
        double exponent = count ? big16(element + 12) / 256.0 : 1;
        if (!(exponent > 0))
            return false;
        tone->kind = SF_TONE_GAMMA;
        tone->exponent = exponent;
        return true;
    }
    tone->kind = SF_TONE_TABLE;
    tone->table_count = count;
    for (uint32_t i = 0; i < count; i++)
        tone->table[i] = (uint16_t)big16(element + 12 + 2 * i);
    return true;
}

// A 'para' element, function types 0 to 4, brought to the general form g a b c d e f.
static bool read_para(sf_Tone *tone, const uint8_t *element, size_t size)
{
    static const size_t parameters[] = { 1, 3, 4, 5, 7 };
    uint32_t type = big16(element + 8);
    if (type > 4 || size < 12 + 4 * parameters[type])
        return false;
    double p[7] = { 0 };
    for (size_t i = 0; i < parameters[type]; i++)
        p[i] = (double)(int32_t)big32(element + 12 + 4 * i) / 65536;
    if (p[0] <= 0)
        return false;
    double general[7] = { p[0], 1, 0, 0, -INFINITY, 0, 0 };
    if (type >= 1) {
        general[1] = p[1];
        general[2] = p[2];
        general[4] = p[1] != 0 ? -p[2] / p[1] : 0;
    }
    if (type == 2) {
        general[5] = p[3];
        general[6] = p[3];
    }
    if (type >= 3) {
        general[3] = p[3];
        general[4] = p[4];
    }
    if (type == 4) {
        general[5] = p[5];
        general[6] = p[6];
    }
    tone->kind = SF_TONE_CURVE;
    memcpy(tone->curve, general, sizeof general);
    return true;
}

bool sf_tone_from_icc(sf_Tone *tone, const uint8_t *profile, size_t size)
{
    static const char *const wanted[] = { "kTRC", "gTRC" };
    if (size < ICC_HEADER + 4)
        return false;
    uint32_t tags = big32(profile + ICC_HEADER);
    if (tags > ICC_MAX_TAGS || size < ICC_HEADER + 4 + 12 * (size_t)tags)
        return false;
    for (size_t w = 0; w < 2; w++)
        for (uint32_t i = 0; i < tags; i++) {
            const uint8_t *tag = profile + ICC_HEADER + 4 + 12 * i;
            if (memcmp(tag, wanted[w], 4) != 0)
                continue;
            size_t offset = big32(tag + 4), length = big32(tag + 8);
            if (offset > size || length > size - offset || length < 14)
                return false;
            const uint8_t *element = profile + offset;
            if (memcmp(element, "curv", 4) == 0)
                return read_curv(tone, element, length);
            if (memcmp(element, "para", 4) == 0)
                return read_para(tone, element, length);
            return false;
        }
    return false;
}
