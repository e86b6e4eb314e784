// SPDX-License-Identifier: GPL-3.0-or-later
#define _GNU_SOURCE
#include "num/blas.h"

#include <dlfcn.h>
#include <stdio.h>
#include <string.h>

void dgemm_(void); // only its address is asked for

// The library that answers for dgemm_, and OpenBLAS's own word of how it was built, where it is OpenBLAS.
typedef char *(*ConfigFunction)(void);
typedef int (*ParallelFunction)(void);
typedef void (*ThreadsFunction)(int);

static void *find(const char *name)
{
    return dlsym(RTLD_DEFAULT, name);
}

static int parallel_kind(void)
{
    ParallelFunction parallel;
    void *symbol = find("openblas_get_parallel");
    memcpy(&parallel, &symbol, sizeof parallel);
    return parallel ? parallel() : -1;
}

const char *sf_blas_description(void)
{
    static char text[512];
    static const char *const kinds[] = { "serial", "pthread", "openmp" };
    ConfigFunction config;
    void *symbol = find("openblas_get_config");
    memcpy(&config, &symbol, sizeof config);
    Dl_info where = { 0 };
    void (*function)(void) = dgemm_;
    void *address;
    memcpy(&address, &function, sizeof address);
    const char *file = dladdr(address, &where) && where.dli_fname ? where.dli_fname : "unknown library";
    int kind = parallel_kind();
    if (config && kind >= 0 && kind <= 2)
        snprintf(text, sizeof text, "%s, %s", config(), kinds[kind]);
    else
        snprintf(text, sizeof text, "%s", file);
    return text;
}

bool sf_blas_is_expected(void)
{
    return parallel_kind() == 1;
}

void sf_blas_set_threads(int threads)
{
    ThreadsFunction set;
    void *symbol = find("openblas_set_num_threads");
    memcpy(&set, &symbol, sizeof set);
    if (set)
        set(threads);
}
