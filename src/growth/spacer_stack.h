// SPDX-License-Identifier: GPL-3.0-or-later
// Spacer stacks out of a stock: fewest pieces, then least error (docs/theory/growth.md, 5). Lengths in m.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { SF_STACK_MAX_KINDS = 60, SF_STACK_MAX_PIECES = 40 };

/// Step in which thicknesses are counted, m: exact for hundredths of a millimetre and for sixteenths of an inch.
#define SF_STACK_STEP 2.5e-6
/// Highest stack looked at, m (judgement: far beyond what a foot bolt takes).
#define SF_STACK_HIGHEST 0.12
/// How far a stack may lie from what is needed, m (judgement: the limit of Friberg 1984 below the knee).
#define SF_STACK_TOLERANCE 0.005

typedef struct sf_SpacerKind {
    double thickness;
    int count; ///< pieces there are
} sf_SpacerKind;

typedef struct sf_SpacerStack {
    bool found;
    size_t pieces;
    double piece[SF_STACK_MAX_PIECES]; ///< thickness of each, thickest first
    double total, error;               ///< error = total - needed: + makes the limb long
} sf_SpacerStack;

/// The stack with total in [needed - below, needed + above], of fewest pieces, then least error, then the lower total.
/// `found` is false when the stock makes none. Bounded dynamic programming, exact in SF_STACK_STEP.
/// SF_E_RANGE for a thickness that is not above 0, SF_E_LIMIT, SF_E_MEMORY.
sf_Status sf_spacer_stack_find(const sf_SpacerKind *stock, size_t kinds, double needed, double below, double above,
                               sf_SpacerStack *stack, sf_Error *err) SF_MUST_USE;

/// Height of all pieces together, at most SF_STACK_HIGHEST.
double sf_spacer_stock_height(const sf_SpacerKind *stock, size_t kinds);
