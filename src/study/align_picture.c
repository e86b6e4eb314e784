// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/align_picture.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/align_sheet.h"
#include "study/limb_body.h"
#include "study/result.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { NOTE = 400 };

static const double SOLE_TOLD = 0.05 * SF_DEG; // a smaller tilt of the sole is not worth a line

typedef struct Gathering {
    sf_Limb *limb;
    sf_AlignInput input;
    sf_Stance stance;
    sf_LimbBody body;
    sf_StanceCurves before, after;
    sf_AlignSheet sheet;
    char change[200], program[64], notes[SF_ALIGN_SHEET_NOTES][NOTE];
} Gathering;

void sf_align_picture_change(char *text, size_t room, const sf_Settings *before, const sf_Settings *after)
{
    size_t used = 0;
    snprintf(text, room, "nothing changed");
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        double step = (after->value[i] - before->value[i]) / sf_setting_factor((sf_Setting)i);
        if (fabs(step) < 1e-9 || used >= room)
            continue;
        used += (size_t)snprintf(text + used, room - used, "%s%s %g%s", used ? ", " : "",
                                 sf_setting_move_words((sf_Setting)i, step), round(fabs(step) * 100) / 100,
                                 strcmp(sf_setting_unit((sf_Setting)i), "deg") == 0 ? "\u00b0" : " mm");
    }
}

// The body that the alignment computed with: the drawing's heights are the chain's.
static sf_LimbBody body_of(const sf_Limb *limb, const sf_AlignInput *in)
{
    sf_LimbBody b = sf_limb_body(limb);
    b.mounting_face += in->chain.heel_height - b.chain.heel_height;
    b.mounting_face = fmin(b.mounting_face, in->chain.cut_height - 0.001);
    b.chain = in->chain;
    b.foot_length = in->foot_length;
    b.barefoot |= in->chain.heel_height <= 0;
    b.knee_level = fmax(b.knee_level, b.chain.socket_height + 0.02);
    b.pylon_top = fmin(fmax(b.pylon_top, b.chain.cut_height + 0.005), b.chain.socket_height);
    b.grip_depth = fmin(b.grip_depth, b.pylon_top - b.chain.cut_height);
    return b;
}

static void gather_poses(Gathering *g)
{
    sf_Pose a = sf_chain_pose(&g->input.chain, &g->before.settings);
    sf_Pose b = sf_chain_pose(&g->input.chain, &g->after.settings);
    const sf_AlignFigure poses[] = {
        { "ahead of the ankle, mm", a.socket_f / SF_MM, b.socket_f / SF_MM },
        { "outside the ankle, mm", a.socket_o / SF_MM, b.socket_o / SF_MM },
        { "flexion, \u00b0", a.socket_flexion / SF_DEG, b.socket_flexion / SF_DEG },
        { "adduction, \u00b0", a.socket_adduction / SF_DEG, b.socket_adduction / SF_DEG },
        { "toe-out on the floor, \u00b0", a.toe_out / SF_DEG, b.toe_out / SF_DEG },
    };
    g->sheet.pose_count = sizeof poses / sizeof *poses;
    memcpy(g->sheet.poses, poses, sizeof poses);
}

SF_PRINTF(2, 3)
static void add_note(Gathering *g, const char *format, ...)
{
    size_t n = g->sheet.note_count;
    if (n == SF_ALIGN_SHEET_NOTES)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(g->notes[n], NOTE, format, args);
    va_end(args);
    g->sheet.notes[g->sheet.note_count++] = g->notes[n];
}

// Names the settings that were moved and that this adapter cannot bring there: motions it lacks, or beyond its travel.
static void note_travel(Gathering *g, bool lacking, const char *what)
{
    char names[NOTE / 2];
    size_t used = 0;
    for (int i = 0; i < SF_SETTING_COUNT && g->input.travel.known; i++) {
        double to = g->after.settings.value[i];
        bool wanted = lacking ? !g->input.travel.moves[i]
                              : g->input.travel.moves[i] && !sf_travel_reaches(&g->input.travel, (sf_Setting)i, to);
        if (to != g->before.settings.value[i] && wanted && used < sizeof names)
            used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", used ? ", " : "",
                                     sf_setting_words((sf_Setting)i));
    }
    if (used)
        add_note(g, "%s %s: drawn is what a wedge or a new forming would do.", what, names);
}

// Rounded as it is lettered, never minus nought.
static double tenths(double angle)
{
    return round(angle / SF_DEG * 10) / 10 + 0.0;
}

// A turn under a leaning pylon tilts the sole: how much, and what undoes it.
static void note_sole(Gathering *g)
{
    const sf_Settings *after = &g->after.settings;
    sf_SoleChange c = sf_chain_sole_change(&g->input.chain, &g->before.settings, after);
    if (hypot(c.sagittal, c.coronal) < SOLE_TOLD)
        return;
    char undo[NOTE / 2] = "";
    if (c.undone_by_tilt)
        snprintf(undo, sizeof undo, "; undone by dorsiflexion %+.1f\u00b0 and eversion %+.1f\u00b0",
                 tenths(c.dorsiflexion - after->value[SF_SETTING_DORSIFLEXION]),
                 tenths(c.eversion - after->value[SF_SETTING_EVERSION]));
    add_note(g, "Under the held socket the change tilts the sole: toe up %+.1f\u00b0, outer edge up %+.1f\u00b0%s.",
             tenths(c.sagittal), tenths(c.coronal), undo);
}

static void gather_notes(Gathering *g)
{
    note_travel(g, true, "This adapter has no motion for");
    note_travel(g, false, "Beyond this adapter's travel:");
    note_sole(g);
    add_note(
        g, "Mechanical effect with the gait held fixed: a person adapts, and the real change may be smaller. No moment "
           "is a mark to reach.");
    sf_SocketMoment early = g->after.moment[sf_stance_curves_at(&g->after, 30)];
    add_note(g,
             "Coronal at 30 %%, per kg: %+.3f here; %+.3f (SD %.3f) measured on other people (%s): a comparison only.",
             early.coronal / g->input.body_mass, g->stance.measured_coronal_at_30, g->stance.measured_coronal_at_30_sd,
             g->stance.measured_source);
}

static sf_Status gather(Gathering *g, const char *name, const char *text, size_t length,
                        const double steps[SF_SETTING_COUNT], sf_Error *err)
{
    SF_TRY(sf_limb_parse(&g->limb, name, text, length, err));
    SF_TRY(sf_align_input(&g->input, g->limb, err));
    sf_AlignInput *in = &g->input;
    sf_Settings after = in->settings;
    bool moved = false;
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        after.value[i] += steps[i] * sf_setting_factor((sf_Setting)i);
        moved |= steps[i] != 0;
    }
    SF_TRY(sf_chain_check(&in->chain, &after, err));
    SF_TRY(sf_stance_load(&g->stance, err));
    sf_stance_curves(&g->before, &g->stance, &in->chain, &in->settings, in->body_weight, in->foot_length);
    sf_stance_curves(&g->after, &g->stance, &in->chain, &after, in->body_weight, in->foot_length);
    g->body = body_of(g->limb, in);
    sf_align_picture_change(g->change, sizeof g->change, &in->settings, &after);
    snprintf(g->program, sizeof g->program, "standfast %s", sf_version());
    const char *label = g->limb->data.person.label;
    g->sheet =
        (sf_AlignSheet){ .label = label ? label : "",
                         .program = g->program,
                         .safety = sf_safety_sentence(),
                         .body_mass = in->body_mass,
                         .change = g->change,
                         .views = { &g->body, moved ? &g->before : NULL, &g->after, true, NULL, SF_SETTING_COUNT, 0 } };
    gather_poses(g);
    gather_notes(g);
    return SF_OK;
}

sf_Status sf_align_picture_paint(sf_Sheet *sheet, const char *name, const char *text, size_t length,
                                 const double steps[SF_SETTING_COUNT], sf_Error *err)
{
    sf_Status status;
    Gathering *g = sf_alloc(1, sizeof *g);
    if (!g)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing an alignment");
    SF_TRY_DONE(gather(g, name, text, length, steps, err));
    SF_TRY_DONE(sf_align_sheet_paint(sheet, &g->sheet, err));
done:
    sf_limb_destroy(&g->limb);
    sf_free(g);
    return status;
}

sf_Status sf_align_picture(unsigned char **bytes, size_t *size, const char *name, const char *text, size_t length,
                           const double steps[SF_SETTING_COUNT], sf_SheetKind kind, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_align_picture_paint(sheet, name, text, length, steps, err));
    return sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}
