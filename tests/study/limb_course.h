// SPDX-License-Identifier: GPL-3.0-or-later
// A limb's course for tests: facts said one after another, an hour apart, by invented people.
#pragma once

#include "study/stage_rules.h"

enum { COURSE_MOST = 400, COURSE_CHANGES = 15 };

typedef enum Who { LICENSED, PROSTHETIST, TECHNICIAN, READER, LOCKED_OUT, WHO_COUNT } Who;

typedef struct Course {
    sf_StageTable *table;
    sf_Doc *limb;
    sf_Doc *bodies[COURSE_MOST];
    char times[COURSE_MOST][25], recorded[COURSE_MOST][25];
    sf_StageFact facts[COURSE_MOST];
    size_t count;
    long minutes; ///< since 2026-01-05, of the next fact
    sf_StageAround around;
    sf_LimbState *state;
} Course;

/// Parts of the limb document that the rules look at.
typedef struct CourseLimb {
    double mass, carried, foot_most, adapter_most, lock_most;
    const char *activity, *part_activity, *other_side, *birth_date, *suspension, *hold;
} CourseLimb;

#define COURSE_LIMB                                                                                                    \
    ((CourseLimb){ .mass = 78,                                                                                         \
                   .foot_most = 100,                                                                                   \
                   .adapter_most = 100,                                                                                \
                   .lock_most = 125,                                                                                   \
                   .activity = "moderate",                                                                             \
                   .part_activity = "moderate",                                                                        \
                   .other_side = "sound",                                                                              \
                   .birth_date = "1981-03-01",                                                                         \
                   .suspension = "shuttle-lock",                                                                       \
                   .hold = "holding-screw" })

void course_begin(Course *course, CourseLimb limb);
void course_end(Course *course);
void course_limb(Course *course, CourseLimb limb); ///< replaces the document

/// Adds a fact an hour after the one before and gives its id; bodies are written with ' for ".
int64_t course_say(Course *course, Who who, const char *kind, const char *body);
int64_t course_withdraw(Course *course, Who who, int64_t fact);
int64_t course_sign(Course *course, Who who, int64_t fact);

/// The usual way, up to and with the stage named; see limb_course.c.
void course_through(Course *course, const char *stage);
void course_between(Course *course, const char *after, const char *stage); ///< the same from the stage after that one

/// Works the state out a minute after the last fact, or `days` later.
const sf_LimbState *course_state(Course *course, double days);

const char *course_status(Course *course, const char *stage); ///< "shut", "open", "done", "again"

/// Whether any stage that puts weight on the limb is open, done, or to be gone through again with nothing in its way.
bool course_weight(Course *course);

/// Every later change that sends standing and check-out back: kind and body.
extern const char *const course_changes[COURSE_CHANGES][2];
