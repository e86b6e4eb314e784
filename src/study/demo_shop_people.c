// SPDX-License-Identifier: GPL-3.0-or-later
// Who comes to the invented shop, and the plan of each limb. Every person, size and part here is made up.
#include "base/alloc.h"
#include "base/date.h"
#include "base/text.h"
#include "study/demo_shop_inside.h"

#include <math.h>
#include <string.h>

#define ADULT(number, side, sex, age, mass, stature, twist, started)                                                   \
    {                                                                                                                  \
        "invented adult " number, side, "sound", sex, "shuttle-lock", "moderate", age, mass, stature, twist, started,  \
            -1                                                                                                         \
    }
#define CHILD(number, side, sex, age, mass, stature, twist, started)                                                   \
    {                                                                                                                  \
        "invented child " number, side, "sound", sex, "sleeve", "high", age, mass, stature, twist, started, -1         \
    }

// In the order in which their limbs were begun.
const DemoPerson demo_people[DEMO_LIMBS] = {
    ADULT("01", "right", "male", 54, 82, 1765, DEMO_USUAL, 362),
    CHILD("02", "left", "female", 8, 26, 1275, DEMO_OUTGROWN, 355),
    ADULT("03", "left", "female", 47, 68, 1652, DEMO_USUAL, 347),
    ADULT("04", "right", "male", 61, 88, 1742, DEMO_CRACK, 339),
    ADULT("05", "left", "male", 38, 79, 1811, DEMO_USUAL, 330),
    CHILD("06", "right", "male", 10, 33, 1388, DEMO_USUAL, 322),
    ADULT("07", "right", "female", 66, 71, 1588, DEMO_OVERDUE, 313),
    ADULT("08", "left", "male", 58, 91, 1779, DEMO_GAINED, 305),
    CHILD("09", "left", "male", 12, 41, 1502, DEMO_SPACER, 288),
    ADULT("10", "left", "female", 52, 64, 1618, DEMO_USUAL, 279),
    ADULT("11", "right", "male", 49, 85, 1794, DEMO_FELL, 271),
    CHILD("12", "right", "female", 6, 21, 1164, DEMO_USUAL, 254),
    ADULT("13", "right", "female", 41, 70, 1667, DEMO_AGAINST_ADVICE, 245),
    ADULT("14", "left", "male", 35, 83, 1826, DEMO_USUAL, 236),
    ADULT("15", "right", "male", 63, 80, 1750, DEMO_RECALLED, 226),
    ADULT("16", "left", "female", 57, 66, 1604, DEMO_RECALLED, 217),
    CHILD("17", "left", "male", 14, 52, 1630, DEMO_USUAL, 208),
    ADULT("18", "right", "male", 46, 87, 1768, DEMO_VOLUME, 198),
    { "invented adult 19", "left", "prosthetic", "male", "shuttle-lock", "moderate", 51, 75, 1720, DEMO_USUAL, 189,
      19 },
    { "invented adult 19", "right", "prosthetic", "male", "shuttle-lock", "moderate", 51, 75, 1720, DEMO_USUAL, 189,
      18 },
    ADULT("20", "right", "male", 39, 78, 1788, DEMO_FORMED_AGAIN, 165),
    CHILD("21", "right", "female", 9, 29, 1322, DEMO_USUAL, 154),
    ADULT("22", "left", "male", 55, 84, 1757, DEMO_USUAL, 143),
    ADULT("23", "left", "male", 43, 90, 1803, DEMO_USUAL, 119),
    CHILD("24", "left", "female", 11, 37, 1441, DEMO_USUAL, 106),
    ADULT("25", "right", "male", 67, 81, 1727, DEMO_USUAL, 93),
    ADULT("26", "left", "female", 36, 69, 1698, DEMO_OVERDUE, 79),
    ADULT("27", "right", "male", 50, 86, 1772, DEMO_USUAL, 64),
    ADULT("28", "left", "male", 59, 77, 1739, DEMO_EARLY_SCREW, 38),
    ADULT("29", "right", "female", 45, 67, 1659, DEMO_REJECTED, 33),
    ADULT("30", "left", "male", 62, 104, 1816, DEMO_TOO_HEAVY, 30),
    ADULT("31", "right", "female", 51, 68, 1640, DEMO_AT_RELEASE, 29),
    ADULT("32", "left", "male", 47, 83, 1771, DEMO_AT_CHECK_OUT, 28),
    ADULT("33", "right", "male", 58, 79, 1736, DEMO_AT_FASTEN, 27),
    ADULT("34", "right", "male", 40, 80, 1781, DEMO_UNASSISTED, 25),
    CHILD("35", "right", "male", 7, 24, 1218, DEMO_USUAL, 24),
    CHILD("36", "left", "female", 10, 34, 1395, DEMO_AT_TRIALS, 22),
    ADULT("37", "left", "female", 53, 73, 1625, DEMO_PAINFUL, 21),
    ADULT("38", "left", "male", 65, 76, 1719, DEMO_AT_STANDING, 20),
    ADULT("39", "right", "female", 44, 70, 1662, DEMO_AT_FOOT, 19),
    ADULT("40", "right", "male", 64, 82, 1748, DEMO_SQUEEZE_WANTED, 18),
    ADULT("41", "left", "male", 37, 79, 1799, DEMO_UNSIGNED, 14),
    ADULT("42", "right", "female", 56, 65, 1611, DEMO_USUAL, 11),
    CHILD("43", "left", "male", 13, 46, 1556, DEMO_USUAL, 8),
    ADULT("44", "left", "male", 33, 81, 1804, DEMO_AT_SET_UP, 6),
    ADULT("45", "left", "male", 42, 84, 1762, DEMO_USUAL, 2),
};

double demo_dice(int limb, int purpose)
{
    unsigned x = (unsigned)limb * 2654435761u + (unsigned)purpose * 40503u + 12345u;
    x ^= x >> 13;
    x *= 2246822519u;
    x ^= x >> 16;
    return (double)(x % 2001u) / 1000.0 - 1.0;
}

void demo_lot(const DemoLimb *limb, char lot[16])
{
    enum { LIMBS_OF_LOT = 10 };
    static const char *const lots[] = { "demo-lot-A", "demo-lot-B", "demo-lot-C", "demo-lot-D", "demo-lot-E" };
    strcpy(lot, lots[limb->number / LIMBS_OF_LOT]);
}

DemoWho demo_former(const DemoLimb *limb)
{
    return limb->number % 3 == 2 ? DEMO_OTHER_TECHNICIAN : DEMO_TECHNICIAN;
}

static void add_person(sf_Text *t, const Demo *demo, const DemoLimb *l)
{
    const DemoPerson *p = l->person;
    char birth[SF_DATE_TEXT], begun[SF_DATE_TEXT];
    double knee = round(0.274 * p->stature);
    sf_date_format(
        sf_date_from_days(demo->today - p->started - (long)(p->age * SF_DATE_YEAR_DAYS) - 40 - l->number * 7), birth);
    sf_date_format(sf_date_from_days(demo->today - p->started), begun);
    sf_text_format(
        t,
        "{\"format\":\"standfast-limb/1\",\"person\":{\"label\":\"%s\",\"side\":\"%s\",\"other_side\":\"%s\","
        "\"sex\":\"%s\",\"birth_date\":\"%s\",\"body_mass_kg\":%g,\"habitual_load_kg\":0,\"stature_mm\":%g,"
        "\"contracture_deg\":%d,\"volume\":\"%s\",\"activity\":\"%s\",\"sound_knee_height_mm\":%g,"
        "\"target_difference_mm\":0,\"stature_history\":[{\"date\":\"%s\",\"stature_mm\":%g,\"reading_sd_mm\":3}],"
        "\"knee_height_history\":[{\"date\":\"%s\",\"knee_height_mm\":%g,\"landmark\":"
        "\"medial-tibial-plateau\"}]},",
        p->label, p->side, p->other, p->sex, birth, p->mass, p->stature, l->number % 5 == 3 ? 5 : 0,
        p->twist == DEMO_VOLUME ? "changing" : "stable", p->activity, knee, begun, p->stature, begun, knee);
}

static void add_pylon(sf_Text *t, const DemoLimb *l)
{
    double top = l->cut_mm + (l->child ? 120 : 180);
    sf_text_format(t,
                   "\"socket\":{\"distal_end_height_mm\":%g,\"flexion_deg\":5,\"adduction_deg\":5,\"mass_g\":%d,"
                   "\"suspension\":\"%s\",\"suspension_max_user_mass_kg\":%d,\"end_clearance_mm\":12},"
                   "\"pylon\":{\"material\":\"pp-copolymer\",\"cut_height_mm\":%g,\"top_height_mm\":%g,"
                   "\"expected_wall_mm\":%g,\"forming\":{\"sheet_mm\":%g},\"rings\":[],\"holes\":[]},",
                   top, l->child ? 380 : 650, l->person->suspension, l->child ? 60 : 125, l->cut_mm, top,
                   l->child ? 4.6 : 6.0, l->child ? 6.35 : 8.0);
}

static void add_parts(sf_Text *t, const DemoLimb *l)
{
    bool child = l->child;
    const char *activity = child ? "high" : "moderate";
    sf_text_format(
        t,
        "\"adapter\":{\"depth_mm\":%d,\"build_height_mm\":12,\"mass_g\":%d,\"shank_mm\":%g,\"rim_mm\":%g,"
        "\"shank_wall_mm\":8,\"rim_wall_mm\":4,\"material\":\"polyamide\",\"max_user_mass_kg\":%d,"
        "\"activity\":\"%s\",\"motions\":[{\"setting\":\"toe_out_deg\",\"range\":[-20,20]},{\"setting\":"
        "\"foot_forward_mm\",\"range\":[-10,10]},{\"setting\":\"foot_outset_mm\",\"range\":[-10,10]}],"
        "\"rotation_hold\":\"holding-screw\",\"holding_screw\":{\"torque_nm\":3.2,\"state\":\"fitted\"},"
        "\"permanent_fixing\":\"%s\",%s\"permanent_torque_nm\":5,"
        "\"foot_bolt\":{\"thread_mm\":%d,\"pitch_mm\":%g,\"length_mm\":40,\"torque_nm\":%d,\"engagement_mm\":%d,"
        "\"thread_depth_mm\":25,\"head_diameter_mm\":%d,\"joint_mm\":%d,\"material\":\"steel\"}},",
        child ? 25 : 30, child ? 80 : 120, child ? 29.6 : 37.4, child ? 40.6 : 50.6, child ? 60 : 100, activity,
        l->screws ? "through-screws" : "pinch-band",
        l->screws ? "\"screw_diameter_mm\":6,\"screw_length_mm\":16,\"screw_count\":2,\"pilot_hole_mm\":5,"
                    "\"screw_material\":\"steel\","
                  : "",
        child ? 8 : 10, child ? 1.25 : 1.5, child ? 18 : 30, child ? 12 : 15, child ? 13 : 16, child ? 45 : 55);
    sf_text_format(
        t,
        "\"spacers\":[{\"thickness_mm\":6,\"material\":\"polyamide\"}],\"stock\":[{\"thickness_mm\":4,"
        "\"count\":2},{\"thickness_mm\":6,\"count\":2},{\"thickness_mm\":9,\"count\":1},{\"thickness_mm\":13,"
        "\"count\":1}],\"foot\":{\"length_mm\":%g,\"build_height_mm\":%d,\"heel_height_mm\":10,"
        "\"compression_mm\":%d,\"mass_g\":%d,\"recess_mm\":0,\"max_user_mass_kg\":%d,\"activity\":\"%s\","
        "\"material\":\"polyurethane-rubber\"},\"shoe\":{\"heel_mm\":%d,\"sole_mm\":%d,\"mass_g\":%d},"
        "\"alignment\":{\"toe_out_deg\":6,\"foot_forward_mm\":0,\"foot_outset_mm\":0,\"dorsiflexion_deg\":0,"
        "\"eversion_deg\":0}}",
        round(0.15 * l->person->stature / 10) * 10, child ? 62 : 75, child ? 2 : 3, child ? 310 : 520, child ? 60 : 100,
        activity, child ? 15 : 20, child ? 9 : 10, child ? 200 : 300);
}

sf_Status demo_document(const Demo *demo, const DemoLimb *l, char **text)
{
    enum { MOST = 16000 };
    sf_Text t = sf_text_make(MOST);
    *text = NULL;
    add_person(&t, demo, l);
    add_pylon(&t, l);
    add_parts(&t, l);
    if (!t.broken)
        *text = sf_copy_text(sf_text_string(&t), t.length);
    sf_text_free(&t);
    return *text ? SF_OK : SF_FAIL(demo->err, SF_E_MEMORY, "", "out of memory while inventing a limb");
}
