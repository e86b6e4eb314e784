// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast limb LIMB.json`: what is known of a limb and what is missing, in words and drawn to scale.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/command.h"
#include "cli/limb_command.h"
#include "study/limb_picture.h"

#include <stdio.h>

static sf_Status sight_work(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err)
{
    const char *picture = ask;
    if (picture) {
        sf_SheetKind kind;
        unsigned char *bytes = NULL;
        size_t size = 0;
        SF_TRY(sf_sheet_kind(&kind, picture, err));
        SF_TRY(sf_limb_picture(&bytes, &size, limb, kind, err));
        sf_Status status = sf_file_write(picture, bytes, size, err);
        sf_free(bytes);
        if (status != SF_OK)
            return status;
    }
    sf_limb_sight(result, limb);
    return SF_OK;
}

sf_Status sf_sight_command(int argc, char **argv, int first, sf_Error *err)
{
    const char *picture = NULL;
    const sf_Option options[] = {
        { "--picture", SF_OPTION_TEXT, &picture, 0, 0, NULL, "draw the limb to scale: OUT.png, .svg or .pdf" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 1, err));
    if (arguments.help) {
        printf("standfast limb LIMB.json\n\nWhat is known of a limb and what is missing; side and body mass are enough "
               "to begin with.\n\n");
        sf_arguments_print_help(options, 1);
        return SF_OK;
    }
    sf_SheetKind kind;
    if (picture)
        SF_TRY(sf_sheet_kind(&kind, picture, err));
    return sf_limb_command_run("limb", &arguments, sight_work, picture, err);
}
