// SPDX-License-Identifier: GPL-3.0-or-later
// What the computations of the table share while they run. Internal to study.
#pragma once

#include "limb/limb.h"
#include "study/computation.h"
#include "study/result.h"

/// One option as it was given.
typedef struct sf_ComputeValue {
    bool given, flag;
    double number;
    const char *text;
    size_t word;
} sf_ComputeValue;

struct sf_ComputeCall {
    const sf_Computation *computation;
    sf_DocNode request;
    bool draw;
    const sf_ComputeSource *source;
    sf_ComputeValue values[SF_COMPUTE_MOST_OPTIONS];
    sf_ComputeAnswer *answer;
};

/// The option called `name`; a name that the table lacks is a programmer's error.
const sf_ComputeValue *sf_call_option(const sf_ComputeCall *call, const char *name);
double sf_call_number(const sf_ComputeCall *call, const char *name, double otherwise);
bool sf_call_flag(const sf_ComputeCall *call, const char *name);
const char *sf_call_text(const sf_ComputeCall *call, const char *name); ///< NULL when not given
size_t sf_call_word(const sf_ComputeCall *call, const char *name);      ///< SIZE_MAX when not given

/// The limb at `node`, its texts' bytes added to the result. Files that it names must be hashes of the store; they are
/// turned into paths. SF_E_INPUT, SF_E_MISSING.
sf_Status sf_call_limb(sf_ComputeCall *call, sf_DocNode node, sf_Limb **limb, sf_Result *result,
                       sf_Error *err) SF_MUST_USE;

/// The request's own limb: "document", or the stored one that "limb" names.
sf_Status sf_call_own_limb(sf_ComputeCall *call, sf_Limb **limb, sf_Result *result, sf_Error *err) SF_MUST_USE;

/// Path of a stored file that a request names by its hash. SF_E_INPUT when it is no hash, SF_E_MISSING.
sf_Status sf_call_file(const sf_ComputeCall *call, const char *hash, char *path, size_t room,
                       sf_Error *err) SF_MUST_USE;

/// Notes a problem when a material card is named by a file: requests name cards only.
void sf_call_card(sf_DocNode node);

/// The node as text (free with sf_free), 17 digits.
sf_Status sf_call_node_text(sf_DocNode node, char **text, sf_Error *err) SF_MUST_USE;

extern const sf_Computation sf_limb_computations[]; ///< by name
extern const size_t sf_limb_computation_count;
extern const sf_Computation sf_ring_computations[];
extern const size_t sf_ring_computation_count;
extern const sf_Computation sf_walk_computations[];
extern const size_t sf_walk_computation_count;
