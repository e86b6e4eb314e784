// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/status.h"

#include <stdarg.h>
#include <stdio.h>

sf_Status sf_error_set(sf_Error *err, sf_Status status, const char *file, int line, const char *path,
                       const char *format, ...)
{
    if (!err)
        return status;
    err->status = status;
    err->file = file;
    err->line = line;
    snprintf(err->path, sizeof err->path, "%s", path ? path : "");
    va_list args;
    va_start(args, format);
    vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    return status;
}

int sf_status_exit_code(sf_Status status)
{
    switch (status) {
    case SF_OK: return 0;
    case SF_E_USAGE: return 2;
    case SF_E_INPUT:
    case SF_E_PARSE:
    case SF_E_MISSING:
    case SF_E_RANGE:
    case SF_E_GEOMETRY: return 3;
    case SF_E_STORE:
    case SF_E_CONFLICT: return 5;
    default: return 4;
    }
}

const char *sf_status_word(sf_Status status)
{
    switch (status) {
    case SF_OK: return "ok";
    case SF_E_USAGE: return "usage";
    case SF_E_INPUT: return "input";
    case SF_E_PARSE: return "parse";
    case SF_E_MISSING: return "missing";
    case SF_E_RANGE: return "range";
    case SF_E_GEOMETRY: return "geometry";
    case SF_E_SINGULAR: return "singular";
    case SF_E_CONVERGE: return "not-converged";
    case SF_E_INACCURATE: return "inaccurate";
    case SF_E_MEMORY: return "memory";
    case SF_E_LIMIT: return "limit";
    case SF_E_CANCELLED: return "cancelled";
    case SF_E_STORE: return "store";
    case SF_E_CONFLICT: return "conflict";
    case SF_E_INTERNAL: return "internal";
    }
    return "unknown";
}
