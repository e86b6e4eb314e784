// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/status.h"

#include <libpq-fe.h>

// libpq brings two dozen libraries of its own along, which took a third of the time in which the program starts. So it
// is loaded when the first PostgreSQL store is opened, and no run without one pays for it (or needs it installed).
#define SF_LIBPQ_FUNCTIONS(F)                                                                                          \
    F(PQclear)                                                                                                         \
    F(PQcmdStatus)                                                                                                     \
    F(PQconnectdb)                                                                                                     \
    F(PQerrorMessage)                                                                                                  \
    F(PQexec)                                                                                                          \
    F(PQexecPrepared)                                                                                                  \
    F(PQfinish)                                                                                                        \
    F(PQftype)                                                                                                         \
    F(PQgetisnull)                                                                                                     \
    F(PQgetvalue)                                                                                                      \
    F(PQnfields)                                                                                                       \
    F(PQntuples)                                                                                                       \
    F(PQprepare)                                                                                                       \
    F(PQreset)                                                                                                         \
    F(PQresultErrorField)                                                                                              \
    F(PQresultStatus)                                                                                                  \
    F(PQsetNoticeProcessor)                                                                                            \
    F(PQstatus)

typedef struct sf_Libpq {
#define SF_LIBPQ_HOLD(name) __typeof__(&(name)) name;
    SF_LIBPQ_FUNCTIONS(SF_LIBPQ_HOLD)
#undef SF_LIBPQ_HOLD
} sf_Libpq;

/// libpq's functions, there once sf_libpq_load said SF_OK.
extern sf_Libpq sf_libpq;

/// Loads libpq at its first call, from any thread; it stays. SF_E_STORE when it is not installed.
sf_Status sf_libpq_load(sf_Error *err);
