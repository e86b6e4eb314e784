// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/libpq_on_demand.h"

#include <dlfcn.h>
#include <pthread.h>
#include <stdbool.h>
#include <string.h>

sf_Libpq sf_libpq;
static bool complete;

static void load(void)
{
    void *library = dlopen("libpq.so.5", RTLD_NOW | RTLD_LOCAL);
    if (!library)
        return;
    complete = true;
#define FIND(name)                                                                                                     \
    do {                                                                                                               \
        void *symbol = dlsym(library, #name);                                                                          \
        memcpy(&sf_libpq.name, &symbol, sizeof symbol);                                                                \
        complete = complete && symbol;                                                                                 \
    } while (0);
    SF_LIBPQ_FUNCTIONS(FIND)
#undef FIND
}

sf_Status sf_libpq_load(sf_Error *err)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, load);
    if (!complete)
        return SF_FAIL(err, SF_E_STORE, "--store",
                       "a store on PostgreSQL needs PostgreSQL's client library: install Debian's package libpq5");
    return SF_OK;
}
