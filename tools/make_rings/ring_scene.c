// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_scene.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

typedef struct NumberField {
    const char *key;
    size_t at;
    double low, high;
} NumberField;

#define NUMBER(field, low, high)                                                                                       \
    {                                                                                                                  \
#field, offsetof(sf_Scene, field), low, high                                                                   \
    }

static const NumberField NUMBERS[] = {
    NUMBER(outer_diameter_mm, 1, 300),
    NUMBER(wall_mm, 0.2, 60),
    NUMBER(oval_mm, -5, 5),
    NUMBER(oval_deg, -360, 720),
    NUMBER(square_mm, -3, 3),
    NUMBER(square_deg, -360, 720),
    NUMBER(outer_wave_mm, -3, 3),
    NUMBER(outer_wave_deg, -360, 720),
    NUMBER(bump_mm, -3, 3),
    NUMBER(bump_width_mm, 0.5, 20),
    NUMBER(eccentricity_mm, 0, 10),
    NUMBER(eccentricity_deg, -360, 720),
    NUMBER(wave2_mm, -3, 3),
    NUMBER(wave2_deg, -360, 720),
    NUMBER(wave3_mm, -3, 3),
    NUMBER(wave3_deg, -360, 720),
    NUMBER(wave5_mm, -3, 3),
    NUMBER(wave5_deg, -360, 720),
    NUMBER(groove_mm, 0, 8),
    NUMBER(groove_width_mm, 0.1, 10),
    NUMBER(seam_deg, -360, 720),
    NUMBER(line_mm, -1, 15),
    NUMBER(line_width_mm, 0.02, 2),
    NUMBER(line_end_width_mm, 0, 2),
    NUMBER(line_slant_deg, -45, 45),
    NUMBER(line_bend_mm, -2, 2),
    NUMBER(dpi, 20, 10000),
    NUMBER(width_mm, 2, 500),
    NUMBER(height_mm, 2, 500),
    NUMBER(centre_x_mm, -200, 600),
    NUMBER(centre_y_mm, -200, 600),
    NUMBER(stretch_x, 0.9, 1.1),
    NUMBER(face, 0, 1),
    NUMBER(ground, 0, 1),
    NUMBER(edge_loss, 0, 0.5),
    NUMBER(edge_glow, 0, 0.5),
    NUMBER(edge_reach_mm, 0.02, 5),
    NUMBER(blur_px, 0, 20),
    NUMBER(saw, 0, 0.5),
    NUMBER(saw_pitch_mm, 0.05, 10),
    NUMBER(saw_deg, -360, 720),
    NUMBER(uneven, 0, 0.9),
    NUMBER(uneven_deg, -360, 720),
    NUMBER(noise, 0, 0.5),
};

typedef struct WordField {
    const char *key;
    size_t at;
    const char *words[6];
} WordField;

#define WORDS(field, ...)                                                                                              \
    {                                                                                                                  \
#field, offsetof(sf_Scene, field),                                                                             \
        {                                                                                                              \
            __VA_ARGS__, NULL                                                                                          \
        }                                                                                                              \
    }

static const WordField CHOICES[] = {
    WORDS(groove_form, "gauss", "cosine", "vee"), WORDS(body, "ring", "blank", "noise", "disc", "two"),
    WORDS(format, "png", "jpeg", "tiff"),         WORDS(colour, "grey", "rgb", "palette", "rgba"),
    WORDS(gamma, "none", "gamma", "srgb"),        WORDS(density, "inch", "cm", "exif", "none", "aspect"),
    WORDS(packing, "none", "lzw", "deflate"),     WORDS(spoil, "none", "truncated", "not-an-image", "huge"),
};

typedef struct FlagField {
    const char *key;
    size_t at;
} FlagField;

#define FLAG(field)                                                                                                    \
    {                                                                                                                  \
#field, offsetof(sf_Scene, field)                                                                              \
    }

static const FlagField FLAGS[] = { FLAG(tag),   FLAG(ruler),      FLAG(pencil),        FLAG(hair),      FLAG(smudge),
                                   FLAG(tiles), FLAG(interlaced), FLAG(white_is_zero), FLAG(big_endian) };

enum {
    NUMBER_COUNT = sizeof NUMBERS / sizeof *NUMBERS,
    CHOICE_COUNT = sizeof CHOICES / sizeof *CHOICES,
    FLAG_COUNT = sizeof FLAGS / sizeof *FLAGS
};

void sf_scene_defaults(sf_Scene *scene)
{
    *scene = (sf_Scene){ .name = "ring",
                         .outer_diameter_mm = 44,
                         .wall_mm = 5.5,
                         .bump_width_mm = 3,
                         .groove_width_mm = 1.2,
                         .seam_deg = 270,
                         .line_width_mm = 0.2,
                         .line_end_width_mm = 0.1,
                         .dpi = 600,
                         .width_mm = 60,
                         .height_mm = 60,
                         .centre_x_mm = 30,
                         .centre_y_mm = 30,
                         .stretch_x = 1,
                         .face = 0.82,
                         .ground = 0.08,
                         .edge_reach_mm = 0.2,
                         .saw_pitch_mm = 0.6,
                         .saw_deg = 15,
                         .depth = 8,
                         .quality = 95,
                         .seed = 1 };
}

static void read_voids(sf_DocNode list, sf_Scene *scene)
{
    static const char *const known[] = { "angle_deg", "share", "long_mm", "short_mm", "tilt_deg" };
    sf_doc_expect_array(list, SF_SCENE_VOIDS);
    const size_t count = sf_doc_length(list);
    scene->void_count = 0;
    for (size_t i = 0; i < count && i < SF_SCENE_VOIDS; i++) {
        sf_DocNode item = sf_doc_item(list, i);
        sf_SceneVoid *v = &scene->voids[scene->void_count++];
        *v = (sf_SceneVoid){ .share = 0.5, .long_mm = 1, .short_mm = 1 };
        sf_doc_only(item, known, sizeof known / sizeof *known);
        sf_doc_number(sf_doc_member(item, "angle_deg"), -360, 720, &v->angle_deg);
        sf_doc_number(sf_doc_member(item, "share"), 0.05, 0.95, &v->share);
        sf_doc_number(sf_doc_member(item, "long_mm"), 0.05, 10, &v->long_mm);
        sf_doc_number(sf_doc_member(item, "short_mm"), 0.05, 10, &v->short_mm);
        sf_doc_number(sf_doc_member(item, "tilt_deg"), -360, 720, &v->tilt_deg);
    }
}

void sf_scene_read(sf_DocNode node, sf_Scene *scene)
{
    enum { EXTRA = 7 };
    const char *known[NUMBER_COUNT + CHOICE_COUNT + FLAG_COUNT + EXTRA] = { "name",  "refuse",  "voids", "dust",
                                                                            "depth", "quality", "seed" };
    size_t count = EXTRA;
    char *base = (char *)scene;
    sf_scene_defaults(scene);
    for (size_t i = 0; i < NUMBER_COUNT; i++) {
        known[count++] = NUMBERS[i].key;
        sf_doc_number(sf_doc_member(node, NUMBERS[i].key), NUMBERS[i].low, NUMBERS[i].high,
                      (double *)(void *)(base + NUMBERS[i].at));
    }
    for (size_t i = 0; i < CHOICE_COUNT; i++) {
        size_t words = 0;
        while (CHOICES[i].words[words])
            words++;
        known[count++] = CHOICES[i].key;
        sf_doc_word(sf_doc_member(node, CHOICES[i].key), CHOICES[i].words, words,
                    (size_t *)(void *)(base + CHOICES[i].at));
    }
    for (size_t i = 0; i < FLAG_COUNT; i++) {
        known[count++] = FLAGS[i].key;
        sf_doc_flag(sf_doc_member(node, FLAGS[i].key), (bool *)(base + FLAGS[i].at));
    }
    const char *name = NULL;
    if (sf_doc_text(sf_doc_member(node, "name"), SF_SCENE_NAME - 1, &name))
        snprintf(scene->name, sizeof scene->name, "%s", name);
    if (sf_doc_text(sf_doc_member(node, "refuse"), SF_SCENE_NAME - 1, &name))
        snprintf(scene->refuse, sizeof scene->refuse, "%s", name);
    if (strchr(scene->name, '/'))
        sf_doc_problem(sf_doc_member(node, "name"), "a picture's name must not hold a slash");
    sf_doc_whole(sf_doc_member(node, "dust"), 0, 5000, &scene->dust);
    sf_doc_whole(sf_doc_member(node, "depth"), 8, 16, &scene->depth);
    sf_doc_whole(sf_doc_member(node, "quality"), 30, 100, &scene->quality);
    sf_doc_whole(sf_doc_member(node, "seed"), 0, INT64_C(1) << 52, &scene->seed);
    if (sf_doc_there(sf_doc_member(node, "voids")))
        read_voids(sf_doc_member(node, "voids"), scene);
    sf_doc_only(node, known, count);
}

const char *sf_scene_format_word(const sf_Scene *scene)
{
    static const char *const words[] = { "png", "jpg", "tif" };
    return words[scene->format];
}

const char *sf_scene_groove_word(const sf_Scene *scene)
{
    static const char *const words[] = { "gauss", "cosine", "vee" };
    return words[scene->groove_form];
}

size_t sf_scene_columns(const sf_Scene *scene)
{
    return (size_t)floor(scene->width_mm / 25.4 * scene->dpi + 0.5);
}

size_t sf_scene_rows(const sf_Scene *scene)
{
    return (size_t)floor(scene->height_mm / 25.4 * scene->dpi + 0.5);
}

bool sf_scene_states_dpi(const sf_Scene *scene)
{
    return scene->density != SF_DENSITY_NONE && scene->density != SF_DENSITY_ASPECT;
}

double sf_scene_stated_dpi(const sf_Scene *scene)
{
    if (!sf_scene_states_dpi(scene))
        return scene->dpi;
    if (scene->format == SF_FORMAT_PNG)
        return floor(scene->dpi / 0.0254 + 0.5) * 0.0254;
    if (scene->format == SF_FORMAT_JPEG && scene->density == SF_DENSITY_CM)
        return floor(scene->dpi / 2.54 + 0.5) * 2.54;
    return floor(scene->dpi + 0.5);
}
