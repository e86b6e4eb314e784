// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "draw/sheet.h"

/// The head of a sheet of this width: `kind` and `label` to the left (a kind of "" is left out), `about` to the right,
/// a rule below. A label that is too long for the room is cut between two characters and ends in "...".
void sf_sheet_head(sf_Sheet *sheet, sf_PaperMm margin, sf_PaperMm width, const char *kind, const char *label,
                   const char *about);
