// SPDX-License-Identifier: GPL-3.0-or-later
// From code values to linear light: the sRGB curve against the standard's own encoding rule turned round, ICC profiles
// made by hand, and profiles that lie about their size.
#include "harness/tap.h"

#include "image/tone.h"

#include <math.h>
#include <string.h>

enum { PROFILE_ROOM = 1024, TAG_TABLE = 128, ELEMENT = 200 };

#define SRGB_SOURCE TAP_SOURCE("IEC 61966-2-1, equations of the encoding: 12.92 L, 1.055 L^(1/2.4) - 0.055")
#define PRINTED     TAP_TOLERANCE("the standard's printed constants meet to 1e-7 only", 0, 3e-7)
#define FIXED       TAP_TOLERANCE("parameters in sixteenths of a thousandth (s15Fixed16)", 0, 4e-5)

static sf_Tone srgb(void)
{
    return (sf_Tone){ .kind = SF_TONE_SRGB };
}

// ---- the curves ------------------------------------------------------------------------------------------------

TAP_CASE(srgb_undoes_the_standards_encoding)
{
    sf_Tone tone = srgb();
    for (int i = 0; i <= 1000; i++) {
        double light = i / 1000.0;
        double value = light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1 / 2.4) - 0.055;
        if (!TAP_NEAR(sf_tone_light(&tone, value), light, PRINTED, SRGB_SOURCE))
            return;
    }
    TAP_NEAR(sf_tone_light(&tone, 0.04045), 0.0031308, PRINTED, SRGB_SOURCE);
}

TAP_CASE(lightness_50_is_srgb_119)
{
    sf_Tone tone = srgb();
    double y = sf_tone_light(&tone, 119 / 255.0);
    TAP_NEAR(116 * cbrt(y) - 16, 50, TAP_TOLERANCE("one code of 255 is 0.4 of lightness", 0, 0.25),
             TAP_SOURCE("CIE 15, L* = 116 (Y/Yn)^(1/3) - 16; the middle grey of L* 50"));
}

TAP_CASE(gamma_and_plain_values)
{
    sf_Tone tone = { .kind = SF_TONE_GAMMA, .exponent = 2.2 };
    TAP_NEAR(sf_tone_light(&tone, 0.5), exp(2.2 * log(0.5)), TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(sf_tone_light(&tone, 1), 1, TAP_EXACT, TAP_CLOSED_FORM);
    sf_Tone plain = { .kind = SF_TONE_UNSTATED };
    TAP_NEAR(sf_tone_light(&plain, 0.37), 0.37, TAP_EXACT, TAP_CLOSED_FORM);
}

TAP_CASE(codes_are_filled_end_to_end)
{
    static uint16_t light[65536];
    sf_Tone plain = { .kind = SF_TONE_UNSTATED }, curved = srgb();
    sf_tone_fill(&plain, light, 256);
    size_t wrong = 0;
    for (size_t i = 0; i < 256; i++)
        wrong += light[i] != i * 257;
    TAP_TRUE(wrong == 0, "(8 bit)");
    sf_tone_fill(&plain, light, 65536);
    for (size_t i = 0; i < 65536; i++)
        wrong += light[i] != i;
    TAP_TRUE(wrong == 0, "(16 bit)");
    sf_tone_fill(&curved, light, 65536);
    TAP_TRUE(light[0] == 0 && light[65535] == 65535);
    for (size_t i = 1; i < 65536; i++)
        wrong += light[i] < light[i - 1];
    TAP_TRUE(wrong == 0, "(rises)");
}

// ---- ICC profiles made by hand ---------------------------------------------------------------------------------

static void put32(uint8_t *p, uint32_t v)
{
    p[0] = (uint8_t)(v >> 24);
    p[1] = (uint8_t)(v >> 16);
    p[2] = (uint8_t)(v >> 8);
    p[3] = (uint8_t)v;
}

static void put16(uint8_t *p, uint32_t v)
{
    p[0] = (uint8_t)(v >> 8);
    p[1] = (uint8_t)v;
}

typedef struct Profile {
    uint8_t bytes[PROFILE_ROOM];
    size_t size;
} Profile;

/// A header, one tag and room for its element of `length` bytes.
static uint8_t *begin(Profile *p, const char *tag, const char *type, size_t length)
{
    memset(p, 0, sizeof *p);
    p->size = ELEMENT + length;
    put32(p->bytes, (uint32_t)p->size);
    memcpy(p->bytes + 36, "acsp", 4);
    put32(p->bytes + TAG_TABLE, 1);
    memcpy(p->bytes + TAG_TABLE + 4, tag, 4);
    put32(p->bytes + TAG_TABLE + 8, ELEMENT);
    put32(p->bytes + TAG_TABLE + 12, (uint32_t)length);
    memcpy(p->bytes + ELEMENT, type, 4);
    return p->bytes + ELEMENT;
}

static void make_curv(Profile *p, const char *tag, const uint16_t *entries, size_t count)
{
    uint8_t *element = begin(p, tag, "curv", 12 + 2 * count + (count == 0 ? 2 : 0));
    put32(element + 8, (uint32_t)count);
    for (size_t i = 0; i < count; i++)
        put16(element + 12 + 2 * i, entries[i]);
}

static void make_para(Profile *p, uint32_t type, const double *parameters, size_t count)
{
    uint8_t *element = begin(p, "gTRC", "para", 12 + 4 * count);
    put16(element + 8, type);
    for (size_t i = 0; i < count; i++)
        put32(element + 12 + 4 * i, (uint32_t)(int32_t)lround(parameters[i] * 65536));
}

static sf_Tone read_good(const Profile *p)
{
    sf_Tone tone = { 0 };
    TAP_TRUE(sf_tone_from_icc(&tone, p->bytes, p->size), "(profile read)");
    return tone;
}

TAP_CASE(icc_curve_elements)
{
    Profile p;
    make_curv(&p, "kTRC", NULL, 0);
    sf_Tone tone = read_good(&p);
    const tap_Origin icc = TAP_SOURCE("ICC.1:2010, 10.5 curveType: no entry = identity, one = u8Fixed8 exponent");
    TAP_NEAR(sf_tone_light(&tone, 0.3), 0.3, TAP_ROUNDING, icc);
    const uint16_t exponent = 0x0233; // 2 + 51/256
    make_curv(&p, "gTRC", &exponent, 1);
    tone = read_good(&p);
    TAP_NEAR(sf_tone_light(&tone, 0.5), pow(0.5, 2 + 51.0 / 256), TAP_ROUNDING, icc);
    const uint16_t table[] = { 0, 6554, 32768, 65535 };
    make_curv(&p, "kTRC", table, 4);
    tone = read_good(&p);
    TAP_NEAR(sf_tone_light(&tone, 1 / 3.0), 6554 / 65535.0, TAP_TIGHT, icc);
    TAP_NEAR(sf_tone_light(&tone, 0.5), 0.5 * (6554 + 32768) / 65535.0, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_tone_light(&tone, 1), 1, TAP_EXACT, icc);
}

TAP_CASE(icc_parametric_elements)
{
    const tap_Origin icc = TAP_SOURCE("ICC.1:2010, 10.16 parametricCurveType, table of function types");
    Profile p;
    make_para(&p, 0, (double[]){ 1.8 }, 1);
    sf_Tone tone = read_good(&p);
    TAP_NEAR(sf_tone_light(&tone, 0.4), pow(0.4, 1.8), FIXED, icc);
    make_para(&p, 1, (double[]){ 2.0, 1.25, -0.25 }, 3);
    tone = read_good(&p);
    TAP_NEAR(sf_tone_light(&tone, 0.6), 0.5 * 0.5, FIXED, icc);
    TAP_NEAR(sf_tone_light(&tone, 0.1), 0, TAP_EXACT, icc);
    make_para(&p, 2, (double[]){ 2.0, 1.25, -0.25, 0.125 }, 4);
    tone = read_good(&p);
    TAP_NEAR(sf_tone_light(&tone, 0.6), 0.25 + 0.125, FIXED, icc);
    TAP_NEAR(sf_tone_light(&tone, 0.1), 0.125, FIXED, icc);
    make_para(&p, 4, (double[]){ 2.0, 0.8, 0.1, 0.5, 0.25, 0.0625, 0.03125 }, 7);
    tone = read_good(&p);
    TAP_NEAR(sf_tone_light(&tone, 0.5), 0.25 + 0.0625, FIXED, icc);
    TAP_NEAR(sf_tone_light(&tone, 0.2), 0.5 * 0.2 + 0.03125, FIXED, icc);
    // Type 3 with the constants of sRGB is sRGB.
    make_para(&p, 3, (double[]){ 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045 }, 5);
    tone = read_good(&p);
    sf_Tone wanted = srgb();
    for (int i = 0; i <= 100; i++)
        if (!TAP_NEAR(sf_tone_light(&tone, i / 100.0), sf_tone_light(&wanted, i / 100.0), FIXED, icc))
            return;
}

TAP_CASE(grey_curve_wins_over_green)
{
    // Two tags, green first: the picture is taken as light, which a grey profile states in kTRC.
    Profile p;
    const uint16_t two = 0x0200;
    make_curv(&p, "gTRC", &two, 1);
    uint8_t *second = p.bytes + TAG_TABLE + 16;
    put32(p.bytes + TAG_TABLE, 2);
    memcpy(second, "kTRC", 4);
    put32(second + 4, ELEMENT + 40);
    put32(second + 8, 14);
    memcpy(p.bytes + ELEMENT + 40, "curv", 4);
    put32(p.bytes + ELEMENT + 48, 1);
    put16(p.bytes + ELEMENT + 52, 0x0300);
    p.size = ELEMENT + 54;
    sf_Tone tone = read_good(&p);
    TAP_NEAR(tone.exponent, 3, TAP_EXACT, TAP_INVENTED);
}

// ---- profiles that are wrong -----------------------------------------------------------------------------------

static void refuse(const Profile *p, const char *what)
{
    sf_Tone tone = { .kind = SF_TONE_UNSTATED, .exponent = 7 };
    bool taken = sf_tone_from_icc(&tone, p->bytes, p->size);
    TAP_TRUE(!taken && tone.kind == SF_TONE_UNSTATED && tone.exponent == 7, "(%s)", what);
}

TAP_CASE(wrong_profiles_leave_the_tone_alone)
{
    Profile p;
    const uint16_t two = 0x0200, none = 0;
    make_curv(&p, "gTRC", &two, 1);
    p.size = 100;
    refuse(&p, "shorter than its header");
    make_curv(&p, "gTRC", &two, 1);
    put32(p.bytes + TAG_TABLE, 0xffffffff);
    refuse(&p, "more tags than there is room for");
    make_curv(&p, "gTRC", &two, 1);
    put32(p.bytes + TAG_TABLE + 8, 0xfffffff0);
    refuse(&p, "an element beyond the end");
    make_curv(&p, "gTRC", &two, 1);
    put32(p.bytes + ELEMENT + 8, 0x80000001);
    refuse(&p, "a table longer than the profile");
    make_curv(&p, "gTRC", &none, 1);
    refuse(&p, "an exponent of nought");
    make_curv(&p, "rTRC", &two, 1);
    refuse(&p, "no green or grey curve");
    make_para(&p, 5, (double[]){ 1, 1, 1, 1, 1, 1, 1 }, 7);
    refuse(&p, "a parametric type that does not exist");
    make_para(&p, 0, (double[]){ -1 }, 1);
    refuse(&p, "a negative exponent");
    make_para(&p, 4, (double[]){ 2, 1, 0 }, 3);
    refuse(&p, "fewer parameters than its type has");
}

/// Any bytes at all: no crash, and whatever was read gives light between 0 and 1.
TAP_CASE(mutated_profiles)
{
    uint64_t dice = 88172645463325252u;
    size_t bad = 0, read = 0;
    for (int round = 0; round < 20000; round++) {
        Profile p;
        const uint16_t table[] = { 0, 500, 9000, 65535 };
        if (round % 2)
            make_curv(&p, "kTRC", table, 4);
        else
            make_para(&p, (uint32_t)(round / 2 % 5), (double[]){ 2.4, 0.95, 0.05, 0.08, 0.04, 0.01, 0.01 }, 7);
        for (int i = 0; i < 3; i++) {
            dice ^= dice << 13, dice ^= dice >> 7, dice ^= dice << 17; // Marsaglia 2003, xorshift
            size_t at = dice % 2 ? TAG_TABLE + dice / 2 % 16 : ELEMENT + dice / 2 % (p.size - ELEMENT);
            p.bytes[at] = (uint8_t)(dice >> 40);
        }
        sf_Tone tone = { 0 };
        if (!sf_tone_from_icc(&tone, p.bytes, p.size))
            continue;
        read++;
        for (int i = 0; i <= 4; i++) {
            double light = sf_tone_light(&tone, i / 4.0);
            bad += !(light >= 0 && light <= 1);
        }
    }
    TAP_TRUE(bad == 0 && read > 1000, "(%zu of %zu readable profiles give light outside 0..1)", bad, read);
}

TAP_MAIN(TAP_RUN(srgb_undoes_the_standards_encoding), TAP_RUN(lightness_50_is_srgb_119),
         TAP_RUN(gamma_and_plain_values), TAP_RUN(codes_are_filled_end_to_end), TAP_RUN(icc_curve_elements),
         TAP_RUN(icc_parametric_elements), TAP_RUN(grey_curve_wins_over_green),
         TAP_RUN(wrong_profiles_leave_the_tone_alone), TAP_RUN(mutated_profiles))
