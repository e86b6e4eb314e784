// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // readlink, access

#include "cli/command.h"

#include "base/alloc.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const sf_Command sf_commands[] = {
    { "fasten", "LIMB.json", "torque, screw places, and the ways out when it must move", sf_fasten_command },
    { "form", "PLAN.json", "the wall that a sheet will leave, or the sheet for a wanted wall", sf_form_command },
    { "growth", "LIMB.json", "forecast growth, due dates and spacer stacks", sf_growth_command },
    { "length", "LIMB.json", "where to saw, and how far that may be off", sf_length_command },
    { "limb", "LIMB.json", "what is known of a limb and what is missing, drawn to scale", sf_sight_command },
    { "mass", "LIMB.json", "mass, balance and inertia beside an intact shank", sf_mass_command },
    { "parts", "LIMB.json", "each foot with each adapter of the shop's list, side by side", sf_parts_command },
    { "report", "LIMB.json", "release, traveller, care sheet and the wrap to drill by, as PDF", sf_report_command },
    { "ring", "PICTURE [PICTURE ...]", "measure a cut-off ring from a scan or from caliper readings", sf_ring_command },
    { "section", "OUTLINE.csv", "section properties of an outline", sf_section_command },
    { "squeeze", "RING.json", "a ring pressed across a diameter: modulus, and proof of its seam", sf_squeeze_command },
    { "demo", "", "fill a new store with an invented shop, to look around in", sf_demo_command },
    { "serve", "", "the page and its interface, for the shop's tablets", sf_serve_command },
    { "strength", "LIMB.json", "how far the pylon is from first yield, and what governs", sf_strength_command },
    { "vent", "LIMB.json", "whether a vent may be drilled, how large and where", sf_vent_command },
    { "align", "LIMB.json", "what a change at the clamp does to the socket and its moments", sf_align_command },
    { "advise", "TRIALS.json", "what to change next, from the walks so far", sf_advise_command },
    { "steps", "FILE.csv", "step times, symmetry and variation from footfalls or an acceleration", sf_steps_command },
    { "store", "verify|backup|restore|...", "prove, back up, restore, export and import the store", sf_store_command },
};
const size_t sf_command_count = sizeof sf_commands / sizeof *sf_commands;

sf_Status sf_command_print_json(sf_Json **json, sf_Error *err)
{
    char *text = NULL;
    sf_Status status = sf_json_text(*json, 10, &text, err);
    sf_json_destroy(json);
    if (status != SF_OK)
        return status;
    if (puts(text) == EOF)
        status = SF_FAIL(err, SF_E_STORE, NULL, "the result could not be written out");
    sf_free(text);
    return status;
}

// The data of an installed program lies beside it, wherever the prefix was moved to: PREFIX/bin, PREFIX/share/standfast.
static const char *data_beside_program(char *path, size_t size)
{
    ssize_t length = readlink("/proc/self/exe", path, size - 1);
    if (length <= 0)
        return NULL;
    path[length] = '\0';
    char *name = strrchr(path, '/');
    if (!name || (size_t)(name - path) + sizeof "/../share/standfast" > size)
        return NULL;
    strcpy(name, "/../share/standfast");
    return path;
}

const char *sf_command_data(const char *name)
{
    static char path[4096];
    char beside[4096];
    const char *folders[] = { getenv("STANDFAST_DATA"), data_beside_program(beside, sizeof beside), SF_SOURCE_DATA,
                              SF_INSTALLED_DATA };
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        if (!folders[i])
            continue;
        snprintf(path, sizeof path, "%s/%s", folders[i], name);
        if (access(path, R_OK) == 0)
            break;
    }
    return path;
}
