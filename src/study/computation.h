// SPDX-License-Identifier: GPL-3.0-or-later
// Every computation by name: a request document in, the result document or a drawing out. The command of that name
// gives the same result. One table feeds the server's routes, its list for the page, and the jobs.
#pragma once

#include "base/doc.h"
#include "base/progress.h"

enum { SF_COMPUTE_MOST_LIMBS = 20, SF_COMPUTE_MOST_OPTIONS = 16 };

typedef enum sf_OptionTakes { SF_TAKES_FLAG, SF_TAKES_NUMBER, SF_TAKES_TEXT, SF_TAKES_WORD } sf_OptionTakes;

/// One option, named as the command's without dashes and with underscores.
typedef struct sf_ComputeOption {
    const char *name;
    sf_OptionTakes takes;
    double low, high;         ///< numbers
    const char *const *words; ///< words, closed by NULL
    const char *help;
} sf_ComputeOption;

/// Where a computation finds what a request only names. Functions may be NULL: then nothing can be named.
typedef struct sf_ComputeSource {
    void *context;
    /// Path of a stored file by its hash (64 hexadecimal digits, checked), into `path` of `room` bytes. SF_E_MISSING.
    sf_Status (*file)(void *context, const char *hash, char *path, size_t room, sf_Error *err);
    /// Text of a stored limb document (free with sf_free). SF_E_MISSING.
    sf_Status (*limb)(void *context, const char *id, char **text, sf_Error *err);
} sf_ComputeSource;

/// Told how far the work is; says whether to go on. May be NULL.
typedef sf_ProgressWatch sf_ComputeWatch;

/// What comes out: `json` of a run, or the bytes of a drawing (SVG).
typedef struct sf_ComputeAnswer {
    sf_Json *json;
    unsigned char *drawing;
    size_t drawing_size;
} sf_ComputeAnswer;

typedef struct sf_ComputeCall sf_ComputeCall;

typedef struct sf_Computation {
    const char *name, *takes, *help; ///< `takes`: "limb", "limbs", "trials", "table", "ring", "gauge",
                                     ///< "plan", "squeeze", "outline", "nothing"
    const sf_ComputeOption *options;
    size_t option_count;
    bool draws;
    sf_Status (*run)(sf_ComputeCall *call, sf_Error *err);
} sf_Computation;

/// Computation number `index` in the order of their names, NULL past the end.
const sf_Computation *sf_computation_at(size_t index);

/// By name, NULL when there is none.
const sf_Computation *sf_computation_find(const char *name);

/// Runs one on a request object: what it takes, and "options". With `draw` the answer is a drawing. Nothing that the
/// request names is read from the machine's files, but through `source`. SF_E_INPUT and SF_E_MISSING with the path in
/// the request, SF_E_CANCELLED, and every failure of the studies. The caller frees the answer.
sf_Status sf_computation_run(sf_ComputeAnswer *answer, const sf_Computation *computation, sf_DocNode request, bool draw,
                             const sf_ComputeSource *source, const sf_ComputeWatch *watch, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_compute_answer_free(sf_ComputeAnswer *answer);

/// The list of all of them with their options, for a page to build its forms from (destroy with sf_json_destroy).
sf_Json *sf_computation_list(void);

/// Checks a limb document that is to be kept: its fields, and that files which it names are files of the store.
/// SF_E_INPUT with every problem and its path.
sf_Status sf_computation_limb_check(sf_DocNode document, const sf_ComputeSource *source, sf_Error *err) SF_MUST_USE;

struct sf_Limb;

/// The limb of a document whose files are of the store: sf_computation_limb_check, and the limb (limb/limb.h).
sf_Status sf_computation_limb_read(struct sf_Limb **limb, sf_DocNode document, const sf_ComputeSource *source,
                                   sf_Error *err) SF_MUST_USE;

/// Whether `text` is a hash as files of the store are named: 64 lower-case hexadecimal digits.
bool sf_compute_is_hash(const char *text);
