// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/sparse.h"

#include "base/alloc.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <string.h>

#include <suitesparse/cholmod.h>

// Of OpenBLAS and of OpenMP's run time, which CHOLMOD brings along: their headers are not needed for these.
extern void openblas_set_num_threads(int count);
extern int openblas_get_num_threads(void);
extern void omp_set_max_active_levels(int levels);
extern int omp_get_max_active_levels(void);

/// Below this many rows the fronts are too small to share: waking threads costs more than it saves, and on a busy
/// machine waiting for them costs ten times the solve (measured: docs/theory/torsion.md).
enum { ONE_THREAD_BELOW = 20000 };

/// Least (smallest over largest diagonal of the factor)^2 that is not taken for rounding of a zero pivot.
static const double SINGULAR_RATIO = 1e-15;

struct sf_Sparse {
    size_t n;
    cholmod_common common;
    cholmod_triplet *entries; // until factored
    cholmod_sparse *matrix;   // afterwards; lower triangle
    cholmod_factor *factor;
    bool out_of_memory;
};

// CHOLMOD gets over some failed allocations by itself, so its status does not tell of every one.
static _Thread_local bool door_failed;

static void *remember(void *block)
{
    if (!block)
        door_failed = true;
    return block;
}

static void *door_malloc(size_t size)
{
    return remember(sf_alloc(1, size));
}

static void *door_calloc(size_t count, size_t size)
{
    return remember(sf_alloc(count, size));
}

static void *door_realloc(void *block, size_t size)
{
    return remember(sf_realloc(block, 1, size));
}

// Same values every time, so a second thread doing the same does no harm.
static void use_the_door(void)
{
    SuiteSparse_config.malloc_func = door_malloc;
    SuiteSparse_config.calloc_func = door_calloc;
    SuiteSparse_config.realloc_func = door_realloc;
    SuiteSparse_config.free_func = sf_free;
}

sf_Status sf_sparse_create(sf_Sparse **sparse, size_t n, size_t room, sf_Error *err)
{
    assert(n >= 1);
    if (n > INT_MAX / 2 || room > INT_MAX / 2)
        return SF_FAIL(err, SF_E_LIMIT, "", "%zu equations are more than the solver takes", n);
    sf_Sparse *made = sf_alloc(1, sizeof *made);
    if (!made)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory for %zu equations", n);
    use_the_door();
    cholmod_start(&made->common);
    made->n = n;
    made->common.print = 0;
    made->common.supernodal = CHOLMOD_SUPERNODAL;
    if (n < ONE_THREAD_BELOW) {
        made->common.nmethods = 1;
        made->common.method[0].ordering = CHOLMOD_AMD;
        made->common.postorder = 1;
    }
    made->entries = cholmod_allocate_triplet(n, n, room ? room : 1, -1, CHOLMOD_REAL, &made->common);
    if (!made->entries) {
        sf_sparse_destroy(&made);
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory for %zu equations", n);
    }
    *sparse = made;
    return SF_OK;
}

void sf_sparse_destroy(sf_Sparse **sparse)
{
    if (!sparse || !*sparse)
        return;
    sf_Sparse *s = *sparse;
    cholmod_free_triplet(&s->entries, &s->common);
    cholmod_free_sparse(&s->matrix, &s->common);
    cholmod_free_factor(&s->factor, &s->common);
    cholmod_finish(&s->common);
    sf_free(s);
    *sparse = NULL;
}

void sf_sparse_add(sf_Sparse *sparse, size_t row, size_t column, double value)
{
    cholmod_triplet *t = sparse->entries;
    assert(t && row < sparse->n && column < sparse->n);
    if (t->nnz == t->nzmax) {
        if (sparse->out_of_memory || t->nzmax > INT_MAX / 4 ||
            !cholmod_reallocate_triplet(t->nzmax * 2, t, &sparse->common)) {
            sparse->out_of_memory = true;
            return;
        }
    }
    ((int *)t->i)[t->nnz] = (int)(row > column ? row : column);
    ((int *)t->j)[t->nnz] = (int)(row > column ? column : row);
    ((double *)t->x)[t->nnz] = value;
    t->nnz++;
}

typedef struct Threads {
    bool held;
    int blas, levels;
} Threads;

// CHOLMOD names its number of threads in each parallel region, which only forbidding such regions overrules.
static Threads hold_threads(size_t n)
{
    Threads threads = { n < ONE_THREAD_BELOW, openblas_get_num_threads(), omp_get_max_active_levels() };
    if (threads.held) {
        omp_set_max_active_levels(0);
        if (threads.blas > 1)
            openblas_set_num_threads(1);
    }
    return threads;
}

static void release_threads(Threads threads)
{
    if (!threads.held)
        return;
    omp_set_max_active_levels(threads.levels);
    if (threads.blas > 1)
        openblas_set_num_threads(threads.blas);
}

static sf_Status factor_matrix(sf_Sparse *s, sf_Error *err)
{
    door_failed = false;
    s->factor = cholmod_analyze(s->matrix, &s->common);
    if (!s->factor || door_failed)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while ordering %zu equations", s->n);
    cholmod_factorize(s->matrix, s->factor, &s->common);
    if (door_failed || s->common.status == CHOLMOD_OUT_OF_MEMORY || s->common.status == CHOLMOD_TOO_LARGE)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while factoring %zu equations", s->n);
    if (s->common.status == CHOLMOD_NOT_POSDEF || s->factor->minor < s->n)
        return SF_FAIL(err, SF_E_SINGULAR, "", "the equations have no single answer: row %zu of %zu hangs free",
                       s->factor->minor + 1, s->n);
    double ratio = cholmod_rcond(s->factor, &s->common);
    if (!(ratio > SINGULAR_RATIO))
        return SF_FAIL(err, SF_E_SINGULAR, "", "the equations have no single answer within rounding (pivot ratio %.1e)",
                       ratio);
    return SF_OK;
}

sf_Status sf_sparse_factor(sf_Sparse *sparse, sf_Error *err)
{
    assert(sparse->entries);
    door_failed = sparse->out_of_memory;
    if (!sparse->out_of_memory)
        sparse->matrix = cholmod_triplet_to_sparse(sparse->entries, 0, &sparse->common);
    cholmod_free_triplet(&sparse->entries, &sparse->common);
    if (!sparse->matrix || door_failed)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory for %zu equations", sparse->n);
    Threads threads = hold_threads(sparse->n);
    sf_Status status = factor_matrix(sparse, err);
    release_threads(threads);
    return status;
}

static double norm(const double *x, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += x[i] * x[i];
    return sqrt(sum);
}

sf_Status sf_sparse_solve(sf_Sparse *sparse, const double *b, double *x, size_t count, double *residual, sf_Error *err)
{
    assert(sparse->factor && count >= 1);
    cholmod_common *c = &sparse->common;
    size_t n = sparse->n;
    sf_Status status = SF_OK;
    // All of the solve's room is taken beforehand: CHOLMOD 3 itself does not survive a failure to get it on the way.
    cholmod_dense *left = cholmod_allocate_dense(n, count, n, CHOLMOD_REAL, c);
    cholmod_dense *answer = cholmod_allocate_dense(n, count, n, CHOLMOD_REAL, c);
    cholmod_dense *turned = cholmod_allocate_dense(n, count, n, CHOLMOD_REAL, c);
    cholmod_dense *front = cholmod_allocate_dense(count, sparse->factor->maxesize, count, CHOLMOD_REAL, c);
    if (!left || !answer || !turned || !front) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while solving %zu equations", n);
        goto done;
    }
    memcpy(left->x, b, n * count * sizeof *b);
    Threads threads = hold_threads(n);
    int solved = cholmod_solve2(CHOLMOD_A, sparse->factor, left, NULL, &answer, NULL, &turned, &front, c);
    release_threads(threads);
    if (!solved) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while solving %zu equations", n);
        goto done;
    }
    memcpy(x, answer->x, n * count * sizeof *x);
    if (residual) {
        double minus_one[2] = { -1, 0 }, one[2] = { 1, 0 };
        cholmod_sdmult(sparse->matrix, 0, minus_one, one, answer, left, c);
        *residual = 0;
        for (size_t k = 0; k < count; k++) {
            double size = norm(b + k * n, n);
            double rest = norm((const double *)left->x + k * n, n);
            if (size > 0)
                *residual = fmax(*residual, rest / size);
        }
    }
done:
    cholmod_free_dense(&left, c);
    cholmod_free_dense(&answer, c);
    cholmod_free_dense(&turned, c);
    cholmod_free_dense(&front, c);
    return status;
}
