// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/progress.h"

#include <math.h>
#include <stdio.h>

enum { COUNTED_STEPS = 50, SAID = 120 };

static _Thread_local const sf_ProgressWatch *watching;
static _Thread_local sf_ProgressPart part = { 0, 1 };
static _Thread_local double reached; // nothing that was told is taken back
static _Thread_local bool stopped;   // who was told to stop is not asked again, whatever went on meanwhile

const sf_ProgressWatch *sf_progress_watch(const sf_ProgressWatch *watch)
{
    const sf_ProgressWatch *before = watching;
    watching = watch;
    reached = 0;
    stopped = false;
    part = (sf_ProgressPart){ 0, 1 };
    return before;
}

sf_ProgressPart sf_progress_part(double from, double to)
{
    sf_ProgressPart outer = part;
    part = (sf_ProgressPart){ outer.from + from * outer.width, (to - from) * outer.width };
    return outer;
}

void sf_progress_end(sf_ProgressPart outer)
{
    part = outer;
}

sf_Status sf_progress_tell(double share, const char *said, sf_Error *err)
{
    if (!watching)
        return SF_OK;
    reached = fmax(reached, part.from + share * part.width);
    stopped = stopped || !watching->go_on(watching->context, reached, said);
    if (!stopped)
        return SF_OK;
    return SF_FAIL(err, SF_E_CANCELLED, NULL, "the work was stopped on request");
}

sf_Status sf_progress_count(size_t done, size_t of, const char *things, sf_Error *err)
{
    char said[SAID];
    size_t step = of / COUNTED_STEPS > 0 ? of / COUNTED_STEPS : 1;
    if (!watching || done % step != 0)
        return SF_OK;
    snprintf(said, sizeof said, "%zu of %zu %s", done, of, things);
    return sf_progress_tell(of > 0 ? (double)done / (double)of : 1, said, err);
}
