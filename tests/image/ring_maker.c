// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_maker.h"

#include "base/file.h"
#include "harness/tap.h"
#include "ring_encode.h"
#include "ring_paint.h"
#include "ring_spoil.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

void ring_make(const sf_Scene *scene, ring_Made *made)
{
    sf_Field light = { 0 };
    *made = (ring_Made){ 0 };
    const char *folder = getenv("TMPDIR");
    char path[512];
    snprintf(path, sizeof path, "%s/standfast_ring_%ld.%s", folder ? folder : "/tmp", (long)getpid(),
             sf_scene_format_word(scene));
    if (scene->body == SF_BODY_RING)
        TAP_OK(sf_truth_find(scene, &made->truth, NULL));
    TAP_OK(sf_paint_scene(scene, &light, NULL));
    TAP_OK(sf_encode_scene(scene, &light, path, NULL));
    TAP_OK(sf_spoil_file(scene, path, NULL));
    TAP_OK(sf_file_read(path, 1 << 28, &made->bytes, &made->size, NULL));
    sf_field_destroy(&light);
    remove(path);
}

sf_Scene ring_small(void)
{
    sf_Scene s;
    sf_scene_defaults(&s);
    s.outer_diameter_mm = 25;
    s.wall_mm = 3.4;
    s.dpi = 200;
    s.width_mm = s.height_mm = 32;
    s.centre_x_mm = 16.2;
    s.centre_y_mm = 15.9;
    s.blur_px = 0.9;
    s.noise = 0.006;
    return s;
}
