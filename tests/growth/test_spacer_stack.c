// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/spacer_stack.h"
#include "harness/tap.h"

#include <math.h>
#include <stdlib.h>

static const double INCH = 0.0254;

/// Fewest pieces and least error over every choice, by counting through all of them.
static void brute(const sf_SpacerKind *stock, size_t kinds, size_t kind, int pieces, double total, double needed,
                  double below, double above, int *best_pieces, double *best_error)
{
    if (kind == kinds) {
        double error = total - needed;
        if (error < -below - 1e-9 || error > above + 1e-9)
            return;
        if (*best_pieces < 0 || pieces < *best_pieces || (pieces == *best_pieces && fabs(error) < *best_error - 1e-9)) {
            *best_pieces = pieces;
            *best_error = fabs(error);
        }
        return;
    }
    for (int k = 0; k <= stock[kind].count; k++)
        brute(stock, kinds, kind + 1, pieces + k, total + k * stock[kind].thickness, needed, below, above, best_pieces,
              best_error);
}

TAP_CASE(every_sum_of_the_inch_pieces_is_found_with_the_fewest)
{
    // Three child sizes, several of each, and one adult piece: common practice, no source.
    const sf_SpacerKind stock[] = {
        { 3.0 / 16 * INCH, 3 }, { 5.0 / 16 * INCH, 3 }, { 7.0 / 16 * INCH, 2 }, { 0.5 * INCH, 1 }
    };
    size_t seen = 0, wrong = 0;
    for (int a = 0; a <= 3; a++)
        for (int b = 0; b <= 3; b++)
            for (int c = 0; c <= 2; c++)
                for (int d = 0; d <= 1; d++) {
                    double sum = a * stock[0].thickness + b * stock[1].thickness + c * stock[2].thickness +
                                 d * stock[3].thickness;
                    sf_SpacerStack stack;
                    int fewest = -1;
                    double error = 0;
                    brute(stock, 4, 0, 0, 0, sum, 1e-6, 1e-6, &fewest, &error);
                    TAP_STATUS(sf_spacer_stack_find(stock, 4, sum, 1e-6, 1e-6, &stack, NULL), SF_OK);
                    seen++;
                    wrong += !stack.found || (int)stack.pieces != fewest || fabs(stack.total - sum) > 1e-9;
                }
    TAP_NEAR((double)seen, 96, TAP_EXACT, TAP_PRACTICE);
    TAP_NEAR((double)wrong, 0, TAP_EXACT, TAP_PRACTICE);
}

TAP_CASE(starter_stock_agrees_with_counting_through_all)
{
    const sf_SpacerKind stock[] = { { 0.004, 2 }, { 0.006, 2 }, { 0.009, 1 }, { 0.013, 1 } };
    size_t wrong = 0;
    for (int half_mm = 0; half_mm < 110; half_mm++) {
        double needed = half_mm * 0.0005;
        for (int side = 0; side < 2; side++) {
            double above = side ? 0.005 : 0;
            int fewest = -1;
            double error = 0;
            sf_SpacerStack stack;
            brute(stock, 4, 0, 0, 0, needed, 0.005, above, &fewest, &error);
            TAP_STATUS(sf_spacer_stack_find(stock, 4, needed, 0.005, above, &stack, NULL), SF_OK);
            wrong += stack.found != (fewest >= 0);
            if (stack.found)
                wrong += (int)stack.pieces != fewest || fabs(fabs(stack.error) - error) > 1e-9;
        }
    }
    TAP_NEAR((double)wrong, 0, TAP_EXACT, TAP_INVENTED);
    TAP_NEAR(sf_spacer_stock_height(stock, 4), 0.042, TAP_ROUNDING, TAP_INVENTED);
}

TAP_CASE(fewest_pieces_go_before_least_error_and_short_before_long)
{
    const sf_SpacerKind stock[] = { { 0.004, 3 }, { 0.009, 1 } };
    sf_SpacerStack stack;
    TAP_OK(sf_spacer_stack_find(stock, 2, 0.012, 0.005, 0.005, &stack, NULL));
    TAP_TRUE(stack.found && stack.pieces == 1);
    TAP_NEAR(stack.total, 0.009, TAP_ROUNDING, TAP_INVENTED); // three of 4 would be exact
    TAP_OK(sf_spacer_stack_find(stock, 2, 0.0065, 0.005, 0.005, &stack, NULL));
    TAP_NEAR(stack.error, -0.0025, TAP_ROUNDING, TAP_INVENTED); // 9 would be as far on the long side
    TAP_OK(sf_spacer_stack_find(stock, 2, 0.002, 0.005, 0, &stack, NULL));
    TAP_TRUE(stack.found && stack.pieces == 0);
    TAP_OK(sf_spacer_stack_find(stock, 2, 0.040, 0.005, 0.005, &stack, NULL));
    TAP_TRUE(!stack.found);
    TAP_OK(sf_spacer_stack_find(stock, 2, -0.010, 0.005, 0.005, &stack, NULL));
    TAP_TRUE(!stack.found);
    sf_Error err = { 0 };
    TAP_STATUS(sf_spacer_stack_find(&(sf_SpacerKind){ 0, 1 }, 1, 0.01, 0, 0, &stack, &err), SF_E_RANGE);
    TAP_HOLDS(err.text, "above 0");
}

TAP_MAIN(TAP_RUN(every_sum_of_the_inch_pieces_is_found_with_the_fewest),
         TAP_RUN(starter_stock_agrees_with_counting_through_all),
         TAP_RUN(fewest_pieces_go_before_least_error_and_short_before_long))
