// SPDX-License-Identifier: GPL-3.0-or-later
// What a measured ring means for the limb: reject, measure again, accept with a limit, accept; with the reasons, the
// likely causes and what would sharpen it. An aid to a licensed prosthetist, not a certificate.
#pragma once

#include "section/ring_limits.h"
#include "section/ring_measure.h"

typedef enum sf_Verdict { ///< from mild to hard; the overall verdict is the hardest
    SF_VERDICT_ACCEPT,
    SF_VERDICT_LIMIT,
    SF_VERDICT_AGAIN,
    SF_VERDICT_REJECT
} sf_Verdict;

typedef enum sf_Proof { SF_PROOF_NONE, SF_PROOF_PASSED, SF_PROOF_FAILED } sf_Proof; ///< squeeze proof of the seam
typedef enum sf_User { SF_USER_UNKNOWN, SF_USER_ADULT, SF_USER_CHILD } sf_User;
typedef enum sf_Model { SF_MODEL_UNKNOWN, SF_MODEL_DRY, SF_MODEL_DAMP, SF_MODEL_WET } sf_Model;
typedef enum sf_RingSource { SF_RING_PICTURE, SF_RING_CALIPER, SF_RING_OUTLINE } sf_RingSource;

/// How far the pylon with this section is from first yield under this person; computed elsewhere.
typedef struct sf_RingLoad {
    char level[16];          ///< such as "P4", "P3-scaled"
    double proof_factor;     ///< first yield over the level's proof force, the worse condition, 23 C
    double walking_factor;   ///< first yield over ordinary walking, the worse condition, 23 C
    double heat_factor;      ///< the same at the worst temperature
    double heat_temperature; ///< that temperature, deg C
    double mass;             ///< body mass and what is habitually carried, kg
    bool scaled;             ///< outside the standard: below its lightest person
    bool comparison_only;    ///< heavier than any level that is held
} sf_RingLoad;

/// What is known beside the measures. Start from SF_RING_CONTEXT_EMPTY.
typedef struct sf_RingContext {
    sf_RingSource source;
    double nominal_wall; ///< expected formed wall (never the sheet), m; NaN when not known
    sf_User user;
    double body_mass; ///< kg; NaN when not known
    sf_Proof proof;
    bool proof_required;     ///< new lot, oven setting or person, where the caller knows
    sf_Model model;          ///< dryness of the model when it was formed
    double oven_c;           ///< NaN when not recorded
    double vacuum_s;         ///< time under vacuum; NaN when not recorded
    double shank, rim;       ///< adapter's diameters, m; NaN when none
    const char *proof_words; ///< what the squeeze showed, one sentence; NULL: the usual one. Borrowed
    const sf_RingLoad *load; ///< NULL: strength was not computed. Borrowed
} sf_RingContext;

#define SF_RING_CONTEXT_EMPTY                                                                                          \
    ((sf_RingContext){                                                                                                 \
        .nominal_wall = NAN, .body_mass = NAN, .oven_c = NAN, .vacuum_s = NAN, .shank = NAN, .rim = NAN })

enum { SF_REASON_TEXT = 240, SF_DECISION_WORDS = 360, SF_MAX_REASONS = 16, SF_MAX_CAUSES = 8, SF_MAX_SHARPEN = 8 };

/// One line of evidence. `value` and `limit` are in `unit`; NaN where there is no number.
typedef struct sf_Reason {
    const char *code; ///< such as "least-wall-off-seam"; a fixed word
    sf_Verdict verdict;
    double value, limit;
    const char *unit; ///< "mm", "%" or ""
    char text[SF_REASON_TEXT];
} sf_Reason;

typedef struct sf_Cause {
    const char *code;
    const char *likelihood; ///< "likely", "possible", "less likely"
    double weight;          ///< what the list is sorted by, largest first
    char text[SF_REASON_TEXT];
} sf_Cause;

typedef struct sf_RingDecision {
    sf_Verdict verdict;
    char words[SF_DECISION_WORDS];     ///< for the person, such as "accept, by picture only"
    const char *basis;                 ///< "shop-limits" or "shop-limits+strength"
    const char *evidence;              ///< "picture", "picture+squeeze", "caliper", ...
    sf_Reason reasons[SF_MAX_REASONS]; ///< hardest first
    size_t reason_count;
    sf_Cause causes[SF_MAX_CAUSES]; ///< likeliest first
    size_t cause_count;
    char sharpen[SF_MAX_SHARPEN][SF_REASON_TEXT]; ///< what would sharpen the decision, one line each
    size_t sharpen_count;
    bool proof_required;              ///< a squeeze proof of the seam is needed before body weight
    bool body_weight;                 ///< false: no body weight on the limb, not even between bars
    bool no_heat;                     ///< heat would bring ordinary walking to first yield
    char limit_words[SF_REASON_TEXT]; ///< for SF_VERDICT_LIMIT: which mass, activity, interval; else ""
    sf_ClampFit clamp;
} sf_RingDecision;

/// Judges the ring. Cannot fail: what is not known is said.
void sf_ring_decide(sf_RingDecision *decision, const sf_RingMeasure *measure, const sf_RingContext *context,
                    const sf_RingLimits *limits);

/// "accept", "accept-with-limit", "measure-again", "reject".
const char *sf_verdict_word(sf_Verdict verdict);
