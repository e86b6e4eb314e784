// SPDX-License-Identifier: GPL-3.0-or-later
// What a call that can fail returns, and the sentence that goes with it.
#pragma once

#include <stddef.h>

/// Outcome of a call. The numbers are pinned: logs and exit codes rely on them.
typedef enum sf_Status {
    SF_OK = 0,

    SF_E_USAGE = 10, ///< the command line is wrong

    SF_E_INPUT = 20,   ///< outside input is wrong: a field, a file, a picture
    SF_E_PARSE = 21,   ///< the text is not what its format says
    SF_E_MISSING = 22, ///< a field or file that is needed is not there
    SF_E_RANGE = 23,   ///< a value lies outside its physical range

    SF_E_GEOMETRY = 30, ///< outlines cross, are open or enclose nothing

    SF_E_SINGULAR = 40,   ///< the equations have no single answer
    SF_E_CONVERGE = 41,   ///< an iteration did not settle
    SF_E_INACCURATE = 42, ///< the residual is larger than its named limit

    SF_E_MEMORY = 50,    ///< out of memory
    SF_E_LIMIT = 51,     ///< a bound that protects the machine was reached
    SF_E_CANCELLED = 52, ///< the person stopped the work

    SF_E_STORE = 60,    ///< the store or a file could not be read or written
    SF_E_CONFLICT = 61, ///< somebody else changed it since it was read

    SF_E_INTERNAL = 90 ///< broken promise inside the program
} sf_Status;

enum { SF_ERROR_TEXT = 4096, SF_ERROR_PATH = 128 };

/// What went wrong, for a person. A caller that does not care passes NULL.
typedef struct sf_Error {
    sf_Status status;
    char text[SF_ERROR_TEXT]; ///< what is wrong and what to do, one sentence
    char path[SF_ERROR_PATH]; ///< the field or file it concerns, or ""
    const char *file;         ///< source place, for the developer
    int line;
} sf_Error;

#define SF_MUST_USE          __attribute__((warn_unused_result))
#define SF_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))

/// Fills `err` (NULL allowed) and returns `status`. Use through SF_FAIL.
sf_Status sf_error_set(sf_Error *err, sf_Status status, const char *file, int line, const char *path,
                       const char *format, ...) SF_PRINTF(6, 7);

/// The exit code of the command line for a status: 0, 2, 3, 4 or 5.
int sf_status_exit_code(sf_Status status);

/// A short fixed word for a status, for logs and error bodies.
const char *sf_status_word(sf_Status status);

/// Sets the error and yields its status: `return SF_FAIL(err, SF_E_INPUT, "dpi", "...")`.
#define SF_FAIL(err, status, path, ...) sf_error_set((err), (status), __FILE__, __LINE__, (path), __VA_ARGS__)

/// Runs `expr`; on failure hands its status to the caller at once. Only where there is nothing to clean up.
#define SF_TRY(expr)                                                                                                   \
    do {                                                                                                               \
        sf_Status sf_try_status_ = (expr);                                                                             \
        if (sf_try_status_ != SF_OK)                                                                                   \
            return sf_try_status_;                                                                                     \
    } while (0)

/// Runs `expr` into the local `status`; on failure jumps to the one cleanup exit `done`.
#define SF_TRY_DONE(expr)                                                                                              \
    do {                                                                                                               \
        status = (expr);                                                                                               \
        if (status != SF_OK)                                                                                           \
            goto done;                                                                                                 \
    } while (0)
