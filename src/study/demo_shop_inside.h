// SPDX-License-Identifier: GPL-3.0-or-later
// Parts of the invented shop. Internal to demo_shop.
#pragma once

#include "study/demo_shop.h"
#include "study/limb_case_ring.h"

enum { DEMO_LIMBS = 46, DEMO_LINE = 4000 };

typedef enum DemoWho {
    DEMO_LICENSED,
    DEMO_PROSTHETIST,
    DEMO_TECHNICIAN,
    DEMO_OTHER_TECHNICIAN,
    DEMO_READER,
    DEMO_ADMIN,
    DEMO_STAFF
} DemoWho;

/// What is unusual about a limb.
typedef enum DemoTwist {
    DEMO_USUAL,
    DEMO_EARLY_SCREW,    ///< drilled during the walking trials
    DEMO_AGAINST_ADVICE, ///< released without weighing and statement
    DEMO_REJECTED,       ///< a line through the wall; stays rejected
    DEMO_FORMED_AGAIN,   ///< rejected, then formed once more
    DEMO_SQUEEZE_WANTED, ///< unjoined over a part of the wall: measure again
    DEMO_UNSIGNED,       ///< ring measured by a technician, signature waits
    DEMO_UNASSISTED,     ///< walked on a stick without an assistant before the fixing
    DEMO_PAINFUL,        ///< pain stops the walking
    DEMO_CRACK,          ///< found at the second inspection
    DEMO_RECALLED,       ///< quarantined with its lot
    DEMO_GAINED,         ///< heavier than the parts carry
    DEMO_OVERDUE,        ///< never came back
    DEMO_SPACER,         ///< a spacer for a grown child; standing and check-out wait
    DEMO_OUTGROWN,       ///< retired
    DEMO_FELL,           ///< an incident
    DEMO_TOO_HEAVY,      ///< from the start: the gates never open
    DEMO_VOLUME,         ///< settled while the limb's volume still changes
    DEMO_AT_SET_UP,      ///< these wait where they are
    DEMO_AT_FOOT,
    DEMO_AT_STANDING,
    DEMO_AT_TRIALS,
    DEMO_AT_FASTEN,
    DEMO_AT_CHECK_OUT,
    DEMO_AT_RELEASE
} DemoTwist;

typedef struct DemoPerson {
    const char *label, *side, *other, *sex, *suspension, *activity;
    int age;
    double mass, stature;
    DemoTwist twist;
    int started; ///< days before today
    int twin;    ///< index of the same person's other limb; -1: none
} DemoPerson;

extern const DemoPerson demo_people[DEMO_LIMBS];

typedef struct DemoLimb {
    const DemoPerson *person;
    int number;
    int64_t id, last; ///< in the store; its newest fact
    bool child, screws, measured_again;
    double cut_mm;
} DemoLimb;

typedef struct Demo {
    sf_Store *store;
    sf_StageTable *table;
    sf_Transaction *transaction; ///< of the visit at hand
    DemoWho actor;               ///< who the transaction is of
    DemoLimb limbs[DEMO_LIMBS];
    int64_t staff[DEMO_STAFF];
    long today, day; ///< days since 1970-01-01
    int minute;      ///< of the store's clock in the day
    sf_DemoShop *shop;
    sf_Error *err;
} Demo;

/// The limb document as the plan has it (free with sf_free).
sf_Status demo_document(const Demo *demo, const DemoLimb *limb, char **text);

/// Writes one fact down by someone, a few minutes after the one before; ' stands for " in the body.
sf_Status demo_say(Demo *demo, DemoLimb *limb, DemoWho who, const char *kind, const char *format, ...) SF_PRINTF(5, 6);

/// Draws, sends and measures the ring of a limb as it was formed on its day.
sf_Status demo_ring(Demo *demo, DemoLimb *limb, DemoWho who);

/// The time of the demo's day, so many minutes later.
void demo_time(const Demo *demo, int later, char text[SF_TIME_TEXT]);

/// Closes the visit's transaction, if one is open.
sf_Status demo_commit(Demo *demo);

/// Visit number `visit` of a limb, `after` days from its start; false when there is none.
bool demo_visit_day(const DemoLimb *limb, int visit, int *after);
sf_Status demo_visit(Demo *demo, DemoLimb *limb, int visit);

/// How the process has drifted on a day: 0 before, up to 1 at the end of the year.
double demo_drift(const Demo *demo, long day);

/// A number between -1 and 1 from limb and purpose, the same in every shop.
double demo_dice(int limb, int purpose);

/// Sheet lot and forming technician of a limb.
void demo_lot(const DemoLimb *limb, char lot[16]);
DemoWho demo_former(const DemoLimb *limb);
const char *demo_staff_name(DemoWho who);
