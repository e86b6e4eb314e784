// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/spacer_stack.h"

#include "base/alloc.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { UNREACHED = 255 };

/// fewest[t]: pieces of the kinds seen so far that make t steps; used[kind][t]: how many of that kind.
typedef struct Table {
    size_t width; ///< highest total + 1
    uint8_t *fewest, *used;
} Table;

static void add_kind(Table *table, size_t kind, size_t steps, int count)
{
    uint8_t *used = table->used + kind * table->width;
    // From the top down, so that what is read still belongs to the kinds before.
    for (size_t t = table->width; t-- > 0;) {
        unsigned best = table->fewest[t];
        uint8_t of_it = 0;
        for (int k = 1; k <= count && (size_t)k * steps <= t; k++) {
            unsigned before = table->fewest[t - (size_t)k * steps];
            if (before != UNREACHED && before + (unsigned)k < best && before + (unsigned)k <= SF_STACK_MAX_PIECES) {
                best = before + (unsigned)k;
                of_it = (uint8_t)k;
            }
        }
        table->fewest[t] = (uint8_t)best;
        used[t] = of_it;
    }
}

static void sort_thick_first(sf_SpacerStack *stack)
{
    for (size_t i = 1; i < stack->pieces; i++)
        for (size_t j = i; j > 0 && stack->piece[j] > stack->piece[j - 1]; j--) {
            double swap = stack->piece[j];
            stack->piece[j] = stack->piece[j - 1];
            stack->piece[j - 1] = swap;
        }
}

static void take(const Table *table, const sf_SpacerKind *stock, const size_t *steps, size_t kinds, size_t total,
                 double needed, sf_SpacerStack *stack)
{
    size_t t = total;
    for (size_t kind = kinds; kind-- > 0;) {
        uint8_t count = table->used[kind * table->width + t];
        for (uint8_t k = 0; k < count; k++) {
            stack->piece[stack->pieces++] = stock[kind].thickness;
            stack->total += stock[kind].thickness;
        }
        t -= count * steps[kind];
    }
    stack->found = true;
    stack->error = stack->total - needed;
    sort_thick_first(stack);
}

sf_Status sf_spacer_stack_find(const sf_SpacerKind *stock, size_t kinds, double needed, double below, double above,
                               sf_SpacerStack *stack, sf_Error *err)
{
    *stack = (sf_SpacerStack){ 0 };
    size_t steps[SF_STACK_MAX_KINDS];
    if (kinds > SF_STACK_MAX_KINDS)
        return SF_FAIL(err, SF_E_LIMIT, "stock", "more than %d kinds of spacers", SF_STACK_MAX_KINDS);
    for (size_t i = 0; i < kinds; i++) {
        if (!(stock[i].thickness >= SF_STACK_STEP))
            return SF_FAIL(err, SF_E_RANGE, "stock", "a spacer's thickness must be above 0");
        steps[i] = (size_t)lround(stock[i].thickness / SF_STACK_STEP);
    }
    double low = fmax(needed - below, 0), high = fmin(needed + above, SF_STACK_HIGHEST);
    if (high < low)
        return SF_OK; // nothing can be taken away below no spacer at all, nor stacked above the highest
    Table table = { .width = (size_t)floor(high / SF_STACK_STEP + 1e-6) + 1 };
    table.fewest = sf_alloc(table.width * (kinds + 1), 1);
    if (!table.fewest)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the spacer stacks");
    table.used = table.fewest + table.width;
    memset(table.fewest, UNREACHED, table.width);
    table.fewest[0] = 0;
    for (size_t i = 0; i < kinds; i++)
        add_kind(&table, i, steps[i], stock[i].count);
    size_t best = table.width;
    for (size_t t = (size_t)ceil(low / SF_STACK_STEP - 1e-6); t < table.width; t++) {
        if (table.fewest[t] == UNREACHED)
            continue;
        double error = fabs((double)t * SF_STACK_STEP - needed);
        if (best == table.width || table.fewest[t] < table.fewest[best] ||
            (table.fewest[t] == table.fewest[best] &&
             error < fabs((double)best * SF_STACK_STEP - needed) - SF_STACK_STEP / 2))
            best = t;
    }
    if (best < table.width)
        take(&table, stock, steps, kinds, best, needed, stack);
    sf_free(table.fewest);
    return SF_OK;
}

double sf_spacer_stock_height(const sf_SpacerKind *stock, size_t kinds)
{
    double sum = 0;
    for (size_t i = 0; i < kinds; i++)
        sum += stock[i].count * stock[i].thickness;
    return fmin(sum, SF_STACK_HIGHEST);
}
