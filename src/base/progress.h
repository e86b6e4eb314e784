// SPDX-License-Identifier: GPL-3.0-or-later
// How far long work is, and whether it is to stop. Whoever starts the work watches its thread; the work tells, wherever
// it is, without knowing of whom. Where nobody watches, telling costs a look at one pointer.
#pragma once

#include "base/status.h"

#include <stdbool.h>

/// `go_on` hears the share that is done (0 to 1) and what was said; false asks the work to stop.
typedef struct sf_ProgressWatch {
    void *context;
    bool (*go_on)(void *context, double share, const char *said);
} sf_ProgressWatch;

/// Watches this thread; NULL ends it. Returns who watched before, to be handed back. The watch is borrowed.
const sf_ProgressWatch *sf_progress_watch(const sf_ProgressWatch *watch);

/// A part of the work: what is told inside runs from `from` to `to` of what is told outside.
typedef struct sf_ProgressPart {
    double from, width;
} sf_ProgressPart;

/// Begins a part; returns the one around it, which sf_progress_end() takes back, on failure as well.
sf_ProgressPart sf_progress_part(double from, double to);
void sf_progress_end(sf_ProgressPart outer);

/// Tells that `share` of the part is done; who hears it hears shares that only rise. SF_E_CANCELLED when the work is to stop: nothing that was begun is kept.
sf_Status sf_progress_tell(double share, const char *said, sf_Error *err) SF_MUST_USE;

/// The same for counted things ("1200 of 10000 samples"); tells at fifty of them, and asks no one in between.
sf_Status sf_progress_count(size_t done, size_t of, const char *things, sf_Error *err) SF_MUST_USE;
