// SPDX-License-Identifier: GPL-3.0-or-later
// The commands of the program: one table feeds dispatch, help and errors.
#pragma once

#include "base/doc.h"

/// Runs a command on argv[first..]. On failure *err holds the sentence that main prints.
typedef sf_Status (*sf_CommandRun)(int argc, char **argv, int first, sf_Error *err);

typedef struct sf_Command {
    const char *name, *arguments, *summary;
    sf_CommandRun run;
} sf_Command;

extern const sf_Command sf_commands[];
extern const size_t sf_command_count;

/// Prints a finished result as JSON on stdout and destroys it. SF_E_MEMORY, SF_E_STORE.
sf_Status sf_command_print_json(sf_Json **json, sf_Error *err) SF_MUST_USE;

/// Where data files of the program lie: beside the source tree when run from the build folder, else where they were
/// installed. STANDFAST_DATA in the environment wins. Static storage, overwritten by the next call.
const char *sf_command_data(const char *name);

sf_Status sf_fasten_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_length_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_sight_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_mass_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_parts_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_report_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_vent_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_growth_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_ring_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_section_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_form_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_squeeze_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_strength_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_align_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_advise_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_steps_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_demo_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_serve_command(int argc, char **argv, int first, sf_Error *err);
sf_Status sf_store_command(int argc, char **argv, int first, sf_Error *err);
