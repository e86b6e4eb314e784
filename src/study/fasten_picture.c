// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/fasten_picture.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "draw/screw_map.h"
#include "study/fasten_study.h"
#include "study/figures.h"
#include "study/limb_ring.h"
#include "study/wrap_study.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

typedef struct Gathering {
    sf_WrapStudy wrap;
    sf_ScrewMap map;
    sf_Figures figures;
    sf_Result scratch;
    sf_Outline section;
    char program[64];
} Gathering;

SF_PRINTF(3, 4)
static void add_line(char (*lines)[SF_MAP_LINE], size_t *count, const char *format, ...)
{
    if (*count == SF_MAP_LINES)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(lines[(*count)++], SF_MAP_LINE, format, args);
    va_end(args);
}

static void set_doubt(Gathering *g)
{
    const sf_Figures *f = &g->figures;
    sf_ScrewMap *m = &g->map;
    double low = sf_figures_number(f, "doubt.preload_n[0]"), high = sf_figures_number(f, "doubt.preload_n[1]");
    double thread = sf_figures_number(f, "doubt.thread_strength_n");
    double tip_low = sf_figures_number(f, "doubt.tip_pressure_mpa[0]"),
           tip_high = sf_figures_number(f, "doubt.tip_pressure_mpa[1]");
    double slip_low = sf_figures_number(f, "doubt.band_slip_nm[0]"),
           slip_high = sf_figures_number(f, "doubt.band_slip_nm[1]");
    if (isfinite(low))
        add_line(m->doubt, &m->doubt_count, "The screw pulls with %.0f to %.0f N (lubricated to dry).", low, high);
    if (isfinite(thread))
        add_line(m->doubt, &m->doubt_count, "Its thread in the shank strips at about %.0f N: count on half of it.",
                 thread);
    if (isfinite(tip_low))
        add_line(m->doubt, &m->doubt_count,
                 "The holding screw's tip presses with %.0f to %.0f MPa and sinks until %.0f to %.0f are left.",
                 tip_low, tip_high, sf_figures_number(f, "doubt.tip_pressure_limit_mpa[0]"),
                 sf_figures_number(f, "doubt.tip_pressure_limit_mpa[1]"));
    if (isfinite(slip_low))
        add_line(m->doubt, &m->doubt_count, "The band slips at a torque about the pylon of %.0f to %.0f N\u00b7m.",
                 slip_low, slip_high);
}

static void set_lines(Gathering *g)
{
    const sf_Figures *f = &g->figures;
    sf_ScrewMap *m = &g->map;
    char path[60];
    for (size_t i = 0; i < sf_figures_length(f, "rescues"); i++) {
        snprintf(path, sizeof path, "rescues[%zu].rescue", i);
        const char *name = sf_figures_text(f, path);
        snprintf(path, sizeof path, "rescues[%zu].possible", i);
        bool possible = sf_figures_flag(f, path);
        snprintf(path, sizeof path, "rescues[%zu].margin", i);
        double margin = sf_figures_number(f, path);
        snprintf(path, sizeof path, "rescues[%zu].unit", i);
        const char *unit = sf_figures_text(f, path);
        snprintf(path, sizeof path, "rescues[%zu].text", i);
        const char *text = sf_figures_text(f, path);
        char figure[40] = "";
        if (isfinite(margin))
            snprintf(figure, sizeof figure, ", margin %.1f %s", margin, unit ? unit : "");
        add_line(m->rescues, &m->rescue_count, "%s%s%s: %.300s.", name ? name : "", possible ? "" : " (NOT POSSIBLE)",
                 figure, text ? text : "");
    }
    if (sf_figures_length(f, "warnings") > 0)
        add_line(m->remarks, &m->remark_count, "A '!' stands where a hole is nearer than the least distance.");
    const char *holding = sf_figures_text(f, "holding_screw.text");
    if (holding)
        add_line(m->remarks, &m->remark_count, "Holding screw: %.300s.", holding);
    for (size_t i = 0; i < g->wrap.sheet.note_count; i++)
        add_line(m->remarks, &m->remark_count, "%s", g->wrap.sheet.notes[i]);
}

/// The ring nearest to the cut, as the section that is drawn.
static sf_Status set_section(Gathering *g, const sf_Limb *limb, sf_Error *err)
{
    const sf_LimbPylon *p = &limb->data.pylon;
    size_t best = 0;
    sf_LimbRingNews news = { 0 };
    g->map.inner_radius = isfinite(limb->data.adapter.shank) ? limb->data.adapter.shank / 2 : NAN;
    if (p->ring_count == 0)
        return SF_OK;
    for (size_t i = 1; i < p->ring_count; i++)
        if (fabs(p->rings[i].height - p->cut_height) < fabs(p->rings[best].height - p->cut_height))
            best = i;
    SF_TRY(sf_limb_ring_outline(&g->section, &news, limb, best, err));
    g->map.section = &g->section;
    g->map.inner_radius = sqrt(sf_polygon_area(&g->section.inner) / SF_PI);
    return SF_OK;
}

static sf_Status gather(Gathering *g, const sf_Limb *limb, bool inch, sf_Error *err)
{
    static const char *const fixings[] = { NULL, "a pinch band", "screws through the wall" };
    sf_Error none = { 0 };
    SF_TRY(sf_result_begin(&g->scratch, err));
    SF_TRY(sf_wrap_study(&g->wrap, &g->scratch, limb, err));
    sf_result_drop(&g->scratch);
    SF_TRY(sf_result_begin(&g->scratch, err));
    SF_TRY(sf_fasten_study(&g->scratch, limb, err));
    SF_TRY(sf_figures_take(&g->figures, &g->scratch, SF_OK, &none, err));
    snprintf(g->program, sizeof g->program, "standfast %s", sf_version());
    g->wrap.sheet.label = limb->data.person.label ? limb->data.person.label : "";
    g->wrap.sheet.program = g->program;
    g->wrap.sheet.safety = sf_safety_sentence();
    g->wrap.sheet.inch = inch;
    g->map.wrap = &g->wrap.sheet;
    g->map.torque = limb->data.adapter.permanent_torque;
    g->map.fixing = fixings[limb->data.adapter.permanent_fixing];
    SF_TRY(set_section(g, limb, err));
    set_doubt(g);
    set_lines(g);
    return SF_OK;
}

sf_Status sf_fasten_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const sf_Limb *limb, bool inch,
                                 sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    Gathering *g = sf_alloc(1, sizeof *g);
    if (!g)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the screw map");
    SF_TRY_DONE(gather(g, limb, inch, err));
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_screw_map_paint(sheet, &g->map, err));
    status = sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    sf_outline_free(&g->section);
    sf_figures_free(&g->figures);
    sf_result_drop(&g->scratch);
    sf_free(g);
    return status;
}

sf_Status sf_fasten_picture_write(const char *path, const sf_Limb *limb, bool inch, sf_Error *err)
{
    sf_SheetKind kind;
    unsigned char *bytes = NULL;
    size_t size = 0;
    SF_TRY(sf_sheet_kind(&kind, path, err));
    SF_TRY(sf_fasten_picture_draw(&bytes, &size, kind, limb, inch, err));
    sf_Status status = sf_file_write(path, bytes, size, err);
    sf_free(bytes);
    return status;
}
