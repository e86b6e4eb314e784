// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/units.h"
#include "harness/tap.h"
#include "num/quadrature.h"
#include "num/sparse.h"

#include <math.h>

// The second-difference matrix of a line of n points with both ends held: its inverse is known in closed form.
static sf_Status line_matrix(sf_Sparse **sparse, size_t n, size_t room, bool held, sf_Error *err)
{
    SF_TRY(sf_sparse_create(sparse, n, room, err));
    for (size_t i = 0; i < n; i++) {
        bool end = i == 0 || i + 1 == n;
        sf_sparse_add(*sparse, i, i, end && !held ? 1 : 2);
        if (i + 1 < n)
            sf_sparse_add(*sparse, i, i + 1, -1); // upper triangle on purpose: either order must do
    }
    return SF_OK;
}

TAP_CASE(two_right_sides_match_the_closed_inverse)
{
    enum { N = 50 };
    static double b[2 * N], x[2 * N];
    sf_Sparse *sparse = NULL;
    double residual = NAN;
    TAP_OK(line_matrix(&sparse, N, 4, true, NULL)); // room for 4: it has to grow
    TAP_OK(sf_sparse_factor(sparse, NULL));
    b[9] = 1;
    b[N + 30] = 3;
    TAP_OK(sf_sparse_solve(sparse, b, x, 2, &residual, NULL));
    // inverse (i, j) = (i + 1)(n - j) / (n + 1) for i <= j, counted from 0
    for (size_t i = 0; i < N; i++) {
        size_t low = i < 9 ? i : 9, high = i < 9 ? 9 : i;
        TAP_NEAR(x[i], (double)((low + 1) * (N - high)) / (N + 1), TAP_TIGHT, TAP_CLOSED_FORM);
        low = i < 30 ? i : 30, high = i < 30 ? 30 : i;
        TAP_NEAR(x[N + i], 3.0 * (double)((low + 1) * (N - high)) / (N + 1), TAP_TIGHT, TAP_CLOSED_FORM);
    }
    TAP_TRUE(residual < 1e-13, "residual %g", residual);
    TAP_TRUE(residual > 0, "residual is measured, not set");
    sf_sparse_destroy(&sparse);
    TAP_TRUE(sparse == NULL);
}

TAP_CASE(a_free_line_is_called_singular)
{
    sf_Sparse *sparse = NULL;
    sf_Error err;
    TAP_OK(line_matrix(&sparse, 40, 100, false, &err));
    TAP_STATUS(sf_sparse_factor(sparse, &err), SF_E_SINGULAR);
    TAP_HOLDS(err.text, "no single answer");
    sf_sparse_destroy(&sparse);
}

TAP_CASE(an_indefinite_matrix_is_called_singular)
{
    sf_Sparse *sparse = NULL;
    TAP_OK(sf_sparse_create(&sparse, 2, 3, NULL));
    sf_sparse_add(sparse, 0, 0, 1);
    sf_sparse_add(sparse, 1, 0, 3);
    sf_sparse_add(sparse, 1, 1, 1);
    TAP_STATUS(sf_sparse_factor(sparse, NULL), SF_E_SINGULAR);
    sf_sparse_destroy(&sparse);
}

TAP_CASE(entries_named_twice_add_up)
{
    sf_Sparse *sparse = NULL;
    double b = 10, x = 0;
    TAP_OK(sf_sparse_create(&sparse, 1, 1, NULL));
    sf_sparse_add(sparse, 0, 0, 1);
    sf_sparse_add(sparse, 0, 0, 3);
    TAP_OK(sf_sparse_factor(sparse, NULL));
    TAP_OK(sf_sparse_solve(sparse, &b, &x, 1, NULL, NULL));
    TAP_NEAR(x, 2.5, TAP_ROUNDING, TAP_CLOSED_FORM);
    sf_sparse_destroy(&sparse);
}

static sf_Status whole_solve(void *context)
{
    (void)context;
    double b[20] = { [3] = 1 }, x[20];
    sf_Sparse *sparse = NULL;
    sf_Status status = line_matrix(&sparse, 20, 2, true, NULL);
    if (status == SF_OK)
        status = sf_sparse_factor(sparse, NULL);
    if (status == SF_OK)
        status = sf_sparse_solve(sparse, b, x, 1, NULL, NULL);
    sf_sparse_destroy(&sparse);
    return status;
}

TAP_CASE(every_allocation_may_fail)
{
    tap_every_allocation(whole_solve, NULL, 500, "sparse solve");
}

TAP_CASE(gauss_rules_are_exact_to_their_degree)
{
    for (size_t n = 1; n <= SF_GAUSS_MAX; n++) {
        const sf_Gauss *rule = sf_gauss_rule(n);
        for (unsigned degree = 0; degree <= 2 * n; degree++) {
            double sum = 0, exact = degree % 2 ? 0 : 2.0 / (degree + 1);
            for (size_t i = 0; i < n; i++)
                sum += rule->w[i] * pow(rule->x[i], degree);
            if (degree < 2 * n)
                TAP_NEAR(sum, exact, TAP_TIGHT, TAP_CLOSED_FORM);
            else
                TAP_TRUE(fabs(sum - exact) > 1e-4, "degree %u must be too much for %zu points", degree, n);
        }
    }
}

TAP_MAIN(TAP_RUN(two_right_sides_match_the_closed_inverse), TAP_RUN(a_free_line_is_called_singular),
         TAP_RUN(an_indefinite_matrix_is_called_singular), TAP_RUN(entries_named_twice_add_up),
         TAP_RUN(every_allocation_may_fail), TAP_RUN(gauss_rules_are_exact_to_their_degree))
