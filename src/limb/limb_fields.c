// SPDX-License-Identifier: GPL-3.0-or-later
// The fields of standfast-limb/1, field for field as docs/limb.schema.json says; a test holds the two together.
#include "limb/limb.h"

#include "base/units.h"

#include <math.h>

#define WORDS(name, ...) static const char *const name[] = { __VA_ARGS__ }
#define COUNT(array)     (sizeof(array) / sizeof *(array))

// `file` is the field's name in the file, `member` its place in the struct T that is being described.
#define NUMBER(need, file, member, lowest, highest, unit)                                                              \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_NUMBER, .required = need, .offset = offsetof(T, member), .low = lowest,          \
        .high = highest, .factor = unit                                                                                \
    }
#define WHOLE(need, file, member, lowest, highest)                                                                     \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_WHOLE, .required = need, .offset = offsetof(T, member), .low = lowest,           \
        .high = highest                                                                                                \
    }
#define FLAG(file, member)                                                                                             \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_FLAG, .offset = offsetof(T, member)                                              \
    }
#define TEXT(file, member, least_length, most_length)                                                                  \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_TEXT, .offset = offsetof(T, member), .low = least_length, .high = most_length    \
    }
#define WORD(need, file, member, list)                                                                                 \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_WORD, .required = need, .offset = offsetof(T, member), .words = list,            \
        .word_count = COUNT(list)                                                                                      \
    }
#define DATE(need, file, member)                                                                                       \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_DATE, .required = need, .offset = offsetof(T, member)                            \
    }
#define PAIR(need, file, member, lowest, highest, unit)                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_PAIR, .required = need, .offset = offsetof(T, member), .low = lowest,            \
        .high = highest, .factor = unit                                                                                \
    }
#define OBJECT(need, file, member, its_shape)                                                                          \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_OBJECT, .required = need, .offset = offsetof(T, member), .shape = &(its_shape)   \
    }
#define LIST(file, member, counter, at_most, its_shape)                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_LIST, .offset = offsetof(T, member), .count_offset = offsetof(T, counter),       \
        .most = at_most, .shape = &(its_shape)                                                                         \
    }
#define SHAPE(table) sizeof(T), table, COUNT(table)

enum { NO = 0, YES = 1 };

WORDS(format_word, "standfast-limb/1");
WORDS(side_words, "left", "right");
WORDS(other_words, "sound", "prosthetic");
WORDS(sex_words, "female", "male");
WORDS(volume_words, "stable", "changing");
WORDS(activity_words, "low", "moderate", "high");
WORDS(landmark_words, "medial-tibial-plateau", "knee-top-seated");
WORDS(suspension_words, "shuttle-lock", "suction", "valve", "vacuum", "sleeve", "cuff", "supracondylar");
WORDS(dryness_words, "dry", "damp", "wet");
WORDS(face_words, "limb-side", "foot-side");
WORDS(hole_words, "planned", "fitted", "old-hole", "vent");
WORDS(setting_words, "toe_out_deg", "foot_forward_mm", "foot_outset_mm", "dorsiflexion_deg", "eversion_deg");
WORDS(hold_words, "clamp", "holding-screw");
WORDS(screw_words, "fitted", "removed", "left");
WORDS(fixing_words, "pinch-band", "through-screws");
WORDS(stuff_words, "steel", "stainless-steel", "titanium", "aluminium", "polyamide", "acetal", "polypropylene",
      "polyethylene", "polyurethane-rubber", "wood", "carbon-fibre-laminate");
WORDS(adhesive_words, "cyanoacrylate", "acrylic", "epoxy", "polyurethane", "contact");
WORDS(cover_words, "none", "foam", "shell");

#define T sf_LimbLevellingBlock
static const sf_Field block_fields[] = {
    DATE(YES, "date", date),
    NUMBER(YES, "block_mm", block, -60, 60, SF_MM),
};
static const sf_Shape block_shape = { SHAPE(block_fields), NULL };
#undef T

#define T sf_LimbStatureReading
static const sf_Field stature_fields[] = {
    DATE(YES, "date", date),
    NUMBER(YES, "stature_mm", stature, 400, 2500, SF_MM),
    NUMBER(NO, "reading_sd_mm", reading_sd, 0.1, 50, SF_MM),
};
static const sf_Shape stature_shape = { SHAPE(stature_fields), NULL };
#undef T

#define T sf_LimbKneeReading
static const sf_Field knee_fields[] = {
    DATE(YES, "date", date),
    NUMBER(YES, "knee_height_mm", knee_height, 100, 800, SF_MM),
    WORD(NO, "landmark", landmark, landmark_words),
};
static const sf_Shape knee_shape = { SHAPE(knee_fields), NULL };
#undef T

#define T sf_LimbPerson
static const sf_Field person_fields[] = {
    TEXT("label", label, 0, 200),
    WORD(YES, "side", side, side_words),
    WORD(NO, "other_side", other_side, other_words),
    WORD(NO, "sex", sex, sex_words),
    DATE(NO, "birth_date", birth_date),
    NUMBER(YES, "body_mass_kg", body_mass, 3, 300, 1),
    NUMBER(NO, "habitual_load_kg", habitual_load, 0, 150, 1),
    NUMBER(NO, "stature_mm", stature, 400, 2500, SF_MM),
    NUMBER(NO, "contracture_deg", contracture, 0, 90, SF_DEG),
    WORD(NO, "volume", volume, volume_words),
    WORD(NO, "activity", activity, activity_words),
    NUMBER(NO, "foot_length_mm", foot_length, 80, 400, SF_MM),
    NUMBER(NO, "sound_knee_height_mm", sound_knee_height, 100, 800, SF_MM),
    NUMBER(NO, "target_difference_mm", target_difference, -60, 60, SF_MM),
    NUMBER(NO, "prosthesis_knee_height_mm", prosthesis_knee_height, 100, 800, SF_MM),
    DATE(NO, "prosthesis_set_date", prosthesis_set_date),
    LIST("levelling_block_history", blocks, block_count, 100, block_shape),
    LIST("stature_history", statures, stature_count, 400, stature_shape),
    LIST("knee_height_history", knees, knee_count, 400, knee_shape),
};
const sf_Shape sf_limb_person_shape = { SHAPE(person_fields), NULL };
#undef T

#define T sf_LimbSocket
static const sf_Field socket_fields[] = {
    NUMBER(NO, "distal_end_height_mm", distal_end_height, 60, 700, SF_MM),
    NUMBER(NO, "flexion_deg", flexion, -45, 60, SF_DEG),
    NUMBER(NO, "adduction_deg", adduction, -45, 45, SF_DEG),
    NUMBER(NO, "mass_g", mass, 0, 10000, 1e-3),
    WORD(NO, "suspension", suspension, suspension_words),
    NUMBER(NO, "suspension_max_user_mass_kg", suspension_max_user_mass, 10, 300, 1),
    NUMBER(NO, "end_clearance_mm", end_clearance, 0, 60, SF_MM),
    NUMBER(NO, "pumped_volume_ml", pumped_volume, 0, 500, 1e-6),
    NUMBER(NO, "pump_time_s", pump_time, 0.05, 5, 1),
    PAIR(NO, "base_offset_mm", base_offset, -60, 60, SF_MM),
};
static const sf_Shape socket_shape = { SHAPE(socket_fields), NULL };
#undef T

#define T sf_LimbForming
static const sf_Field forming_fields[] = {
    NUMBER(NO, "sheet_mm", sheet, 1, 25, SF_MM),
    NUMBER(NO, "oven_c", oven_c, 80, 300, 1),
    NUMBER(NO, "vacuum_s", vacuum_time, 0, 3600, 1),
    WORD(NO, "model", model, dryness_words),
    TEXT("by", by, 0, 200),
    DATE(NO, "date", date),
};
static const sf_Shape forming_shape = { SHAPE(forming_fields), NULL };
#undef T

#define T sf_LimbShopReadings
static const sf_Field readings_fields[] = {
    NUMBER(NO, "modulus_mpa", modulus, 50, 20000, SF_MPA),
    NUMBER(NO, "yield_mpa", yield, 1, 500, SF_MPA),
    NUMBER(NO, "seam_factor", seam_factor, 0.01, 1, 1),
    TEXT("by", by, 0, 200),
};
static const sf_Shape readings_shape = { SHAPE(readings_fields), NULL };
#undef T

// A ring is known in one way only.
static void check_ring_form(sf_DocNode node, const void *object)
{
    (void)object;
    bool outer = sf_doc_there(sf_doc_member(node, "outer_diameter_mm"));
    bool inner = sf_doc_there(sf_doc_member(node, "inner_diameter_mm"));
    int forms = (sf_doc_there(sf_doc_member(node, "image")) ? 1 : 0) +
                (sf_doc_there(sf_doc_member(node, "outline")) ? 1 : 0) +
                (sf_doc_there(sf_doc_member(node, "outline_csv")) ? 1 : 0) +
                (sf_doc_there(sf_doc_member(node, "caliper")) ? 1 : 0) + (outer || inner ? 1 : 0);
    if (forms != 1)
        sf_doc_problem(node,
                       "must be known in one way: 'image', 'outline', 'outline_csv', 'caliper', or 'outer_diameter_mm' "
                       "with 'inner_diameter_mm'; here are %d",
                       forms);
    if (outer != inner)
        sf_doc_problem(sf_doc_member(node, outer ? "inner_diameter_mm" : "outer_diameter_mm"),
                       "is missing: the other diameter is given");
}

#define T sf_LimbRing
static const sf_Field ring_fields[] = {
    NUMBER(YES, "height_mm", height, -100, 700, SF_MM),
    TEXT("image", image, 1, 500),
    TEXT("outline", outline, 1, 500),
    TEXT("outline_csv", outline_csv, 1, 200000),
    TEXT("caliper", caliper, 1, 500),
    NUMBER(NO, "dpi", dpi, 50, 4800, 1),
    WORD(NO, "face", face, face_words),
    NUMBER(NO, "posterior_deg", posterior, -360, 360, SF_DEG),
    TEXT("calibration", calibration, 1, 500),
    NUMBER(NO, "outer_diameter_mm", outer_diameter, 10, 120, SF_MM),
    NUMBER(NO, "inner_diameter_mm", inner_diameter, 5, 118, SF_MM),
    PAIR(NO, "offset_mm", offset, -30, 30, SF_MM),
    NUMBER(NO, "groove_depth_mm", groove_depth, 0, 15, SF_MM),
    NUMBER(NO, "groove_width_mm", groove_width, 0, 60, SF_MM),
    NUMBER(NO, "seam_deg", seam, -360, 360, SF_DEG),
    NUMBER(NO, "unjoined_depth_mm", unjoined_depth, 0, 15, SF_MM),
};
static const sf_Shape ring_shape = { SHAPE(ring_fields), check_ring_form };
#undef T

#define T sf_LimbHole
static const sf_Field hole_fields[] = {
    NUMBER(YES, "angle_deg", angle, -360, 360, SF_DEG),
    NUMBER(YES, "height_mm", height, -100, 700, SF_MM),
    NUMBER(YES, "diameter_mm", diameter, 0.5, 20, SF_MM),
    WORD(YES, "state", state, hole_words),
};
static const sf_Shape hole_shape = { SHAPE(hole_fields), NULL };
#undef T

#define T sf_LimbPylon
static const sf_Field pylon_fields[] = {
    TEXT("material", material, 1, 100),
    NUMBER(NO, "cut_height_mm", cut_height, 20, 600, SF_MM),
    NUMBER(NO, "top_height_mm", top_height, 30, 700, SF_MM),
    TEXT("sheet_lot", sheet_lot, 0, 200),
    NUMBER(NO, "expected_wall_mm", expected_wall, 1, 20, SF_MM),
    OBJECT(NO, "forming", forming, forming_shape),
    OBJECT(NO, "measured", measured, readings_shape),
    LIST("rings", rings, ring_count, 40, ring_shape),
    LIST("holes", holes, hole_count, 60, hole_shape),
};
static const sf_Shape pylon_shape = { SHAPE(pylon_fields), NULL };
#undef T

#define T sf_LimbAdapterMotion
static const sf_Field motion_fields[] = {
    WORD(YES, "setting", setting, setting_words),
    PAIR(YES, "range", range, -90, 90, 1),
};
static const sf_Shape motion_shape = { SHAPE(motion_fields), NULL };
#undef T

#define T sf_LimbHoldingScrew
static const sf_Field holding_fields[] = {
    NUMBER(NO, "torque_nm", torque, 0, 50, 1),
    WORD(NO, "state", state, screw_words),
    NUMBER(NO, "dent_mm", dent, 0, 10, SF_MM),
};
static const sf_Shape holding_shape = { SHAPE(holding_fields), NULL };
#undef T

#define T sf_LimbFootBolt
static const sf_Field bolt_fields[] = {
    NUMBER(NO, "thread_mm", thread, 4, 20, SF_MM),
    NUMBER(NO, "pitch_mm", pitch, 0.3, 3, SF_MM),
    NUMBER(NO, "length_mm", length, 5, 200, SF_MM),
    NUMBER(NO, "torque_nm", torque, 0, 200, 1),
    NUMBER(NO, "engagement_mm", engagement, 0, 60, SF_MM),
    NUMBER(NO, "thread_depth_mm", thread_depth, 0, 80, SF_MM),
    NUMBER(NO, "head_diameter_mm", head_diameter, 4, 40, SF_MM),
    NUMBER(NO, "joint_mm", joint, 10, 120, SF_MM),
    WORD(NO, "material", material, stuff_words),
};
static const sf_Shape bolt_shape = { SHAPE(bolt_fields), NULL };
#undef T

#define T sf_LimbAdapter
static const sf_Field adapter_fields[] = {
    NUMBER(NO, "depth_mm", depth, 3, 150, SF_MM),
    NUMBER(NO, "build_height_mm", build_height, 0, 200, SF_MM),
    NUMBER(NO, "mass_g", mass, 0, 3000, 1e-3),
    NUMBER(NO, "shank_mm", shank, 5, 110, SF_MM),
    NUMBER(NO, "rim_mm", rim, 10, 130, SF_MM),
    NUMBER(NO, "shank_wall_mm", shank_wall, 0.5, 40, SF_MM),
    NUMBER(NO, "rim_wall_mm", rim_wall, 0.5, 40, SF_MM),
    WORD(NO, "material", material, stuff_words),
    NUMBER(NO, "max_user_mass_kg", max_user_mass, 10, 300, 1),
    WORD(NO, "activity", activity, activity_words),
    LIST("motions", motions, motion_count, 5, motion_shape),
    WORD(NO, "rotation_hold", rotation_hold, hold_words),
    OBJECT(NO, "holding_screw", holding_screw, holding_shape),
    WORD(NO, "permanent_fixing", permanent_fixing, fixing_words),
    NUMBER(NO, "screw_diameter_mm", screw_diameter, 1, 20, SF_MM),
    NUMBER(NO, "screw_length_mm", screw_length, 3, 80, SF_MM),
    WHOLE(NO, "screw_count", screw_count, 1, 12),
    NUMBER(NO, "pilot_hole_mm", pilot_hole, 0.5, 20, SF_MM),
    WORD(NO, "screw_material", screw_material, stuff_words),
    NUMBER(NO, "permanent_torque_nm", permanent_torque, 0, 100, 1),
    OBJECT(NO, "foot_bolt", foot_bolt, bolt_shape),
};
const sf_Shape sf_limb_adapter_shape = { SHAPE(adapter_fields), NULL };
#undef T

#define T sf_LimbSpacer
static const sf_Field spacer_fields[] = {
    NUMBER(YES, "thickness_mm", thickness, 0.2, 120, SF_MM),
    NUMBER(NO, "mass_g", mass, 0, 1000, 1e-3),
    WORD(NO, "material", material, stuff_words),
};
static const sf_Shape spacer_shape = { SHAPE(spacer_fields), NULL };
#undef T

#define T sf_LimbStockSpacer
static const sf_Field stock_fields[] = {
    NUMBER(YES, "thickness_mm", thickness, 0.2, 120, SF_MM),
    WHOLE(YES, "count", count, 0, 1000),
    WORD(NO, "material", material, stuff_words),
};
static const sf_Shape stock_shape = { SHAPE(stock_fields), NULL };
#undef T

#define T sf_LimbFoot
static const sf_Field foot_fields[] = {
    NUMBER(NO, "length_mm", length, 80, 400, SF_MM),
    NUMBER(NO, "build_height_mm", build_height, 10, 300, SF_MM),
    NUMBER(NO, "heel_height_mm", heel_height, 0, 120, SF_MM),
    NUMBER(NO, "compression_mm", compression, 0, 40, SF_MM),
    NUMBER(NO, "mass_g", mass, 0, 3000, 1e-3),
    NUMBER(NO, "recess_mm", recess, 0, 60, SF_MM),
    NUMBER(NO, "max_user_mass_kg", max_user_mass, 10, 300, 1),
    WORD(NO, "activity", activity, activity_words),
    WORD(NO, "material", material, stuff_words),
    NUMBER(NO, "largest_length_mm", largest_length, 80, 400, SF_MM),
};
const sf_Shape sf_limb_foot_shape = { SHAPE(foot_fields), NULL };
#undef T

#define T sf_LimbShoe
static const sf_Field shoe_fields[] = {
    NUMBER(NO, "heel_mm", heel, 0, 150, SF_MM),
    NUMBER(NO, "sole_mm", sole, 0, 100, SF_MM),
    NUMBER(NO, "mass_g", mass, 0, 3000, 1e-3),
};
static const sf_Shape shoe_shape = { SHAPE(shoe_fields), NULL };
#undef T

#define T sf_LimbGlueJoint
static const sf_Field joint_fields[] = {
    WORD(YES, "first", first, stuff_words),
    WORD(YES, "second", second, stuff_words),
    NUMBER(NO, "area_mm2", area, 1, 20000, SF_MM2),
    FLAG("wet", wet),
};
static const sf_Shape joint_shape = { SHAPE(joint_fields), NULL };
#undef T

#define T sf_LimbGlue
static const sf_Field glue_fields[] = {
    WORD(NO, "adhesive", adhesive, adhesive_words),
    FLAG("primer", primer),
    LIST("joints", joints, joint_count, 20, joint_shape),
};
static const sf_Shape glue_shape = { SHAPE(glue_fields), NULL };
#undef T

#define T sf_LimbCover
static const sf_Field cover_fields[] = {
    NUMBER(NO, "mass_g", mass, 0, 5000, 1e-3),
    NUMBER(NO, "thickness_mm", thickness, 0, 100, SF_MM),
    WORD(NO, "kind", kind, cover_words),
};
static const sf_Shape cover_shape = { SHAPE(cover_fields), NULL };
#undef T

#define T sf_LimbAlignment
static const sf_Field alignment_fields[] = {
    NUMBER(NO, "toe_out_deg", toe_out, -45, 45, SF_DEG),
    NUMBER(NO, "foot_forward_mm", foot_forward, -80, 80, SF_MM),
    NUMBER(NO, "foot_outset_mm", foot_outset, -80, 80, SF_MM),
    NUMBER(NO, "dorsiflexion_deg", dorsiflexion, -30, 30, SF_DEG),
    NUMBER(NO, "eversion_deg", eversion, -30, 30, SF_DEG),
};
const sf_Shape sf_limb_alignment_shape = { SHAPE(alignment_fields), NULL };
#undef T

#define T sf_LimbData
static const sf_Field limb_fields[] = {
    { .key = "format", .kind = SF_FIELD_CONST, .required = true, .words = format_word, .word_count = 1 },
    OBJECT(YES, "person", person, sf_limb_person_shape),
    OBJECT(NO, "socket", socket, socket_shape),
    OBJECT(NO, "pylon", pylon, pylon_shape),
    OBJECT(NO, "adapter", adapter, sf_limb_adapter_shape),
    LIST("spacers", spacers, spacer_count, 20, spacer_shape),
    LIST("stock", stock, stock_count, 60, stock_shape),
    OBJECT(NO, "foot", foot, sf_limb_foot_shape),
    OBJECT(NO, "shoe", shoe, shoe_shape),
    OBJECT(NO, "glue", glue, glue_shape),
    OBJECT(NO, "cover", cover, cover_shape),
    OBJECT(NO, "alignment", alignment, sf_limb_alignment_shape),
};
const sf_Shape sf_limb_shape = { SHAPE(limb_fields), NULL };
#undef T
