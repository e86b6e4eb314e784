// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_picture.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "draw/pylon_sheet.h"
#include "study/strength_beyond.h"
#include "study/strength_study.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { NOTE_TEXT = 300 };

static const double TEMPERATURES_C[SF_PYLON_TEMPERATURES] = { 0, 23, 50 }; // as in the result's temperatures[]
static const char *const CONDITIONS[SF_PYLON_CURVES] = { "I", "II" };

// What the picture is gathered in.
typedef struct Gathering {
    sf_StrengthInput input;
    sf_StrengthCases cases; ///< at the temperature of the curves
    sf_StrengthCases other; ///< at another one
    sf_StrengthAsk ask;
    sf_Actions actions[SF_STATION_MAX];
    sf_Peak peaks[SF_PYLON_CURVES][SF_STATION_MAX];
    sf_StrengthBands bands;
    double used[SF_STATION_MAX], used_band[SF_STATION_MAX][2];
    sf_Outline section;
    char notes[SF_PYLON_NOTES][NOTE_TEXT];
    char program[64];
    sf_PylonSheet sheet;
    sf_Result scratch; ///< takes the assumptions; the result itself has them
} Gathering;

sf_Status sf_strength_picture_check(const char *path, sf_Error *err)
{
    sf_SheetKind kind;
    return sf_sheet_kind(&kind, path, err);
}

// The three temperatures, one of them the one asked for, rising.
static void choose_temperatures(sf_PylonSheet *s, double asked_c)
{
    memcpy(s->temperatures_c, TEMPERATURES_C, sizeof TEMPERATURES_C);
    s->temperature_c = isnan(asked_c) ? TEMPERATURES_C[1] : asked_c;
    int place = s->temperature_c <= TEMPERATURES_C[0] ? 0 : s->temperature_c >= TEMPERATURES_C[2] ? 2 : 1;
    s->temperatures_c[place] = s->temperature_c;
}

static const sf_StrengthCase *worse_case(const sf_StrengthCases *cases, const char *level, sf_ForceKind kind)
{
    const sf_StrengthCase *one = sf_strength_case_find(cases, level, CONDITIONS[0], kind);
    const sf_StrengthCase *two = sf_strength_case_find(cases, level, CONDITIONS[1], kind);
    return !one || (two && two->factor < one->factor) ? two : one;
}

static sf_Status gather_factors(Gathering *g, sf_Error *err)
{
    sf_PylonSheet *s = &g->sheet;
    for (int t = 0; t < SF_PYLON_TEMPERATURES; t++) {
        bool asked = s->temperatures_c[t] == s->temperature_c;
        sf_StrengthCases *cases = asked ? &g->cases : &g->other;
        SF_TRY(sf_strength_cases_solve(cases, &g->input, &g->ask, s->temperatures_c[t], err));
        s->yields[t] = cases->state.yield;
        for (int k = 0; k < SF_FORCE_COUNT; k++) {
            const sf_StrengthCase *at = worse_case(cases, s->level, (sf_ForceKind)k);
            s->factors[k][t] = at ? at->factor : NAN;
            if (asked && at)
                s->forces[k] = at->force;
        }
    }
    return SF_OK;
}

// Strength used along the height under the governing case, and its collapse. The actions are those of the case.
static sf_Status gather_use(Gathering *g, const sf_StrengthCase *at, const sf_LoadLine *line, sf_Error *err)
{
    sf_PylonSheet *s = &g->sheet;
    const sf_StrengthBeyond beyond = { &g->input, &g->ask, &g->cases, NULL, &g->bands };
    SF_TRY(sf_strength_used(g->used, g->used_band, &beyond, g->actions, line, err));
    s->used = g->used;
    s->used_band = (const double(*)[2])g->used_band;
    s->collapse_factor = at->collapse_factor;
    s->collapse_by = sf_mechanism_phrase(at->mechanism);
    for (int k = 0; k < 2 && at->banded; k++)
        s->collapse_band[k] = at->collapse_band[k];
    return SF_OK;
}

static sf_Status gather_curves(Gathering *g, sf_Error *err)
{
    sf_PylonSheet *s = &g->sheet;
    const sf_StrengthCase *worst = worse_case(&g->cases, s->level, SF_FORCE_PROOF);
    for (int i = 0; i < SF_PYLON_CURVES; i++) {
        sf_PylonCurve *c = &s->curves[i];
        const sf_StrengthCase *at = sf_strength_case_find(&g->cases, s->level, CONDITIONS[i], SF_FORCE_PROOF);
        if (!at)
            return SF_FAIL(err, SF_E_INTERNAL, NULL, "the level %s has no condition %s", s->level, CONDITIONS[i]);
        const sf_LoadLevel *level =
            at->scaled ? &g->input.levels->levels[0] : sf_load_level_find(g->input.levels, at->level);
        double share;
        *c = (sf_PylonCurve){ .condition = CONDITIONS[i],
                              .force = at->force,
                              .balanced = at->balanced,
                              .governs = at == worst,
                              .peaks = g->peaks[i] };
        SF_TRY(sf_strength_line(&c->line, &share, &g->input, level, i, at->scaled, err));
        if (at->balanced)
            SF_TRY(sf_strength_along(g->actions, g->peaks[i], &g->input, &g->ask, &g->cases, at, err));
        if (at == worst && at->balanced) {
            SF_TRY(sf_strength_outline_at(&g->section, &g->input, at->station, err));
            s->section = &g->section;
            s->peak_actions = at->actions;
            SF_TRY(gather_use(g, at, &c->line, err));
        }
    }
    return SF_OK;
}

// Heights of what stands round the pylon, as far as the document knows them.
static void gather_heights(Gathering *g)
{
    const sf_LimbData *d = &g->input.limb->data;
    sf_PylonSheet *s = &g->sheet;
    double heel = isnan(d->shoe.heel) ? 0 : d->shoe.heel;
    double difference = isnan(d->person.target_difference) ? 0 : d->person.target_difference;
    bool sound = isfinite(d->person.sound_knee_height);
    s->knee_level = sound ? d->person.sound_knee_height + heel + difference : d->person.prosthesis_knee_height + heel;
    double stack = 0;
    for (size_t i = 0; i < d->spacer_count; i++)
        stack += d->spacers[i].thickness;
    s->mounting_face = g->input.pylon.cut - d->adapter.build_height - stack;
    s->foot_length = d->foot.length;
    s->rim = d->adapter.rim;
}

SF_PRINTF(2, 3)
static void add_note(Gathering *g, const char *format, ...)
{
    sf_PylonSheet *s = &g->sheet;
    if (s->note_count == SF_PYLON_NOTES)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(g->notes[s->note_count], NOTE_TEXT, format, args);
    va_end(args);
    s->notes[s->note_count] = g->notes[s->note_count];
    s->note_count++;
}

static void gather_notes(Gathering *g)
{
    sf_PylonSheet *s = &g->sheet;
    const sf_StrengthCase *worst = worse_case(&g->cases, s->level, SF_FORCE_PROOF);
    if (worst && worst->balanced)
        add_note(g, "At the proof force of %s, condition %s, %s dominates the peak at %.0f mm above the floor.",
                 s->level, worst->condition, sf_peak_cause_word(worst->peak.cause), worst->station / SF_MM);
    if (s->comparison_only)
        add_note(g, "For more than 100 kg no level is held: this one is for comparison only.");
    if (g->input.provisional)
        add_note(
            g, "Provisional, not for release: something that release needs was assumed; the result names the fields.");
    if (worst && worst->scaled)
        add_note(g, "P3-scaled lies outside the standard: force by mass, offsets by length.");
    add_note(
        g,
        "A wedge marks a factor below 1: the pylon yields before that force is reached. Holes count with their stress "
        "raised (rings in the chart) and by the section that they leave; the seam's own weakness does not.");
    add_note(g, "Yield at other temperatures by the card's law (%s).",
             sf_confidence_word(g->input.card->temperature.confidence));
}

static sf_Status gather(Gathering *g, const sf_Limb *limb, const sf_StrengthAsk *ask, sf_Error *err)
{
    sf_PylonSheet *s = &g->sheet;
    SF_TRY(sf_result_begin(&g->scratch, err));
    SF_TRY(sf_strength_input_make(&g->input, limb, ask, &g->scratch, err));
    const sf_LoadLevel *own = sf_load_level_for_mass(g->input.levels, g->input.mass);
    g->ask = *ask;
    if (!g->ask.level)
        g->ask.level = (own ? own : &g->input.levels->levels[SF_LEVEL_COUNT - 1])->level;
    snprintf(g->program, sizeof g->program, "standfast %s", sf_version());
    *s = (sf_PylonSheet){ .label = limb->data.person.label && *limb->data.person.label ? limb->data.person.label : "",
                          .program = g->program,
                          .safety = sf_strength_safety(),
                          .level = g->ask.level,
                          .card = g->input.card->name,
                          .comparison_only = own == NULL,
                          .mass = g->input.mass,
                          .pylon = &g->input.pylon,
                          .seam = g->input.seam,
                          .collapse_factor = NAN,
                          .collapse_band = { NAN, NAN } };
    choose_temperatures(s, ask->temperature_c);
    SF_TRY(gather_factors(g, err));
    SF_TRY(sf_strength_bands_find(&g->bands, &g->cases, &g->input, &g->ask, g->ask.level, &g->scratch, err));
    SF_TRY(gather_curves(g, err));
    gather_heights(g);
    gather_notes(g);
    return SF_OK;
}

sf_Status sf_strength_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const sf_Limb *limb,
                                   const sf_StrengthAsk *ask, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    *bytes = NULL;
    Gathering *g = sf_alloc(1, sizeof *g);
    if (!g)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY_DONE(gather(g, limb, ask, err));
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_pylon_sheet_paint(sheet, &g->sheet, err));
    SF_TRY_DONE(sf_sheet_finish(&sheet, bytes, size, err));
done:
    sf_sheet_destroy(&sheet);
    sf_outline_free(&g->section);
    sf_strength_bands_free(&g->bands);
    sf_strength_input_free(&g->input);
    sf_result_drop(&g->scratch);
    sf_free(g);
    return status;
}

sf_Status sf_strength_picture_write(const char *path, const sf_Limb *limb, const sf_StrengthAsk *ask, sf_Error *err)
{
    sf_SheetKind kind;
    unsigned char *bytes = NULL;
    size_t size = 0;
    SF_TRY(sf_sheet_kind(&kind, path, err));
    SF_TRY(sf_strength_picture_draw(&bytes, &size, kind, limb, ask, err));
    sf_Status status = sf_file_write(path, bytes, size, err);
    sf_free(bytes);
    return status;
}
