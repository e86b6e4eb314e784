// SPDX-License-Identifier: GPL-3.0-or-later
// From code values to linear light, where the file says how its values are coded. Internal to image.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { SF_TONE_TABLE_MAX = 4096 };

typedef enum sf_ToneKind {
    SF_TONE_UNSTATED, ///< the file says nothing: values are taken as proportional to light
    SF_TONE_GAMMA,    ///< light = value ^ exponent
    SF_TONE_SRGB,     ///< the curve of IEC 61966-2-1
    SF_TONE_CURVE,    ///< ICC parametric curve, types 1 to 4
    SF_TONE_TABLE     ///< light at equally spaced values
} sf_ToneKind;

typedef struct sf_Tone {
    sf_ToneKind kind;
    double exponent;
    double curve[7]; ///< g a b c d e f of the ICC parametric curve
    size_t table_count;
    uint16_t table[SF_TONE_TABLE_MAX];
} sf_Tone;

/// Light in [0,1] of a value in [0,1].
double sf_tone_light(const sf_Tone *tone, double value);

/// Reads the tone curve (kTRC, else gTRC) of an ICC profile (ICC.1:2010, sections 7 and 10); false when it has none
/// that is understood, leaving *tone alone.
bool sf_tone_from_icc(sf_Tone *tone, const uint8_t *profile, size_t size);

/// Fills `count` entries (256 or 65536): code value -> linear light, 0 to 65535.
void sf_tone_fill(const sf_Tone *tone, uint16_t *light, size_t count);
