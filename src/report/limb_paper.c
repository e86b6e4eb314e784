// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/limb_paper.h"

#include "base/units.h"
#include "study/fasten_study.h"
#include "study/length_study.h"
#include "study/mass_study.h"
#include "study/strength_study.h"
#include "study/vent_study.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

enum { TURNS = 16, ROOM = 400 };

static const double LEAVE_LONG = 8 * SF_MM; // as the command `length` does
static const char UNKNOWN[] = "not known";

// ---- words ----------------------------------------------------------------------------------------------------------

const char *sf_paper_text(const char *format, ...)
{
    static _Thread_local char rooms[TURNS][ROOM];
    static _Thread_local int turn;
    char *text = rooms[turn = (turn + 1) % TURNS];
    va_list args;
    va_start(args, format);
    vsnprintf(text, ROOM, format, args);
    va_end(args);
    return text;
}

const char *sf_paper_length(const sf_LimbPaper *paper, double length)
{
    if (!isfinite(length))
        return UNKNOWN;
    return paper->ask->inch ? sf_paper_text("%.2f in", length / SF_INCH) : sf_paper_text("%.1f mm", length / SF_MM);
}

const char *sf_paper_mass(const sf_LimbPaper *paper, double mass)
{
    if (!isfinite(mass))
        return UNKNOWN;
    return paper->ask->inch ? sf_paper_text("%.1f lb", mass / SF_POUND)
           : mass < 10      ? sf_paper_text("%.2f kg", mass)
                            : sf_paper_text("%.0f kg", mass);
}

const char *sf_paper_torque(double torque)
{
    const double lbf_in = SF_POUND_FORCE * SF_INCH;
    if (!isfinite(torque))
        return UNKNOWN;
    return sf_paper_text("%.1f N\u00b7m (%.1f lbf\u00b7ft, %.0f lbf\u00b7in)", torque, torque / (12 * lbf_in),
                         torque / lbf_in);
}

const char *sf_paper_angle(double angle)
{
    return isfinite(angle) ? sf_paper_text("%+.1f\u00b0", angle / SF_DEG) : UNKNOWN;
}

const char *sf_paper_or_line(const char *text)
{
    return text && *text ? text : "____________________";
}

// ---- studies --------------------------------------------------------------------------------------------------------

static sf_Status run_strength(sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_StrengthAsk ask = SF_STRENGTH_ASK_EMPTY;
    return sf_strength_study(result, limb, &ask, err);
}

static sf_Status run_length(sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_LengthAsk ask = { LEAVE_LONG };
    return sf_length_study(result, limb, &ask, err);
}

static sf_Status take(sf_Figures *figures, const sf_Limb *limb,
                      sf_Status (*study)(sf_Result *result, const sf_Limb *limb, sf_Error *err), sf_Error *err)
{
    sf_Result result = { 0 };
    sf_Error why = { 0 };
    SF_TRY(sf_result_begin(&result, err));
    sf_Status status = study(&result, limb, &why);
    return sf_figures_take(figures, &result, status, &why, err);
}

static sf_Status take_mass(sf_LimbPaper *paper, sf_Error *err)
{
    sf_MassAsk ask = { paper->words->weighed, false };
    sf_Result result = { 0 };
    sf_Error why = { 0 };
    SF_TRY(sf_result_begin(&result, err));
    sf_Status status = sf_mass_study(&result, paper->limb, &ask, &why);
    return sf_figures_take(&paper->mass, &result, status, &why, err);
}

sf_Status sf_limb_paper_gather(sf_LimbPaper *paper, sf_Error *err)
{
    if (paper->ask->kind == SF_REPORT_CARE)
        return SF_OK;
    SF_TRY(take(&paper->length, paper->limb, run_length, err));
    SF_TRY(take(&paper->fasten, paper->limb, sf_fasten_study, err));
    SF_TRY(take(&paper->vent, paper->limb, sf_vent_study, err));
    if (paper->ask->kind == SF_REPORT_TRAVELLER)
        return SF_OK;
    SF_TRY(take(&paper->strength, paper->limb, run_strength, err));
    return take_mass(paper, err);
}

void sf_limb_paper_free(sf_LimbPaper *paper)
{
    sf_Figures *all[] = { &paper->strength, &paper->length, &paper->fasten, &paper->mass, &paper->vent };
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        sf_figures_free(all[i]);
    sf_pages_drop(&paper->pages);
}
