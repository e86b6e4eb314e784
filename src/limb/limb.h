// SPDX-License-Identifier: GPL-3.0-or-later
// The limb document, standfast-limb/1: everything about one limb. Values are SI whatever the file's unit; what the file
// left out is NaN, 0 of an enum, NULL or an empty list, and `there` of an object is false. Defaults are not filled in
// here: who needs one takes it and names it among the assumptions.
#pragma once

#include "base/shape.h"

typedef enum sf_LimbSide { SF_LIMB_SIDE_NONE = 0, SF_LIMB_SIDE_LEFT, SF_LIMB_SIDE_RIGHT } sf_LimbSide;
typedef enum sf_LimbOtherSide {
    SF_LIMB_OTHER_NONE = 0,
    SF_LIMB_OTHER_SOUND,
    SF_LIMB_OTHER_PROSTHETIC
} sf_LimbOtherSide;
typedef enum sf_LimbSex { SF_LIMB_SEX_NONE = 0, SF_LIMB_SEX_FEMALE, SF_LIMB_SEX_MALE } sf_LimbSex;
typedef enum sf_LimbVolume { SF_LIMB_VOLUME_NONE = 0, SF_LIMB_VOLUME_STABLE, SF_LIMB_VOLUME_CHANGING } sf_LimbVolume;
typedef enum sf_LimbActivity {
    SF_LIMB_ACTIVITY_NONE = 0,
    SF_LIMB_ACTIVITY_LOW,
    SF_LIMB_ACTIVITY_MODERATE,
    SF_LIMB_ACTIVITY_HIGH
} sf_LimbActivity;
typedef enum sf_LimbLandmark {
    SF_LIMB_LANDMARK_NONE = 0,
    SF_LIMB_LANDMARK_TIBIAL_PLATEAU,
    SF_LIMB_LANDMARK_KNEE_TOP_SEATED
} sf_LimbLandmark;
typedef enum sf_LimbSuspension {
    SF_LIMB_SUSPENSION_NONE = 0,
    SF_LIMB_SUSPENSION_SHUTTLE_LOCK,
    SF_LIMB_SUSPENSION_SUCTION,
    SF_LIMB_SUSPENSION_VALVE,
    SF_LIMB_SUSPENSION_VACUUM,
    SF_LIMB_SUSPENSION_SLEEVE,
    SF_LIMB_SUSPENSION_CUFF,
    SF_LIMB_SUSPENSION_SUPRACONDYLAR
} sf_LimbSuspension;
typedef enum sf_LimbDryness {
    SF_LIMB_DRYNESS_NONE = 0,
    SF_LIMB_DRYNESS_DRY,
    SF_LIMB_DRYNESS_DAMP,
    SF_LIMB_DRYNESS_WET
} sf_LimbDryness;
typedef enum sf_LimbRingFace { SF_LIMB_FACE_NONE = 0, SF_LIMB_FACE_LIMB_SIDE, SF_LIMB_FACE_FOOT_SIDE } sf_LimbRingFace;
typedef enum sf_LimbHoleState {
    SF_LIMB_HOLE_NONE = 0,
    SF_LIMB_HOLE_PLANNED,
    SF_LIMB_HOLE_FITTED,
    SF_LIMB_HOLE_OLD,
    SF_LIMB_HOLE_VENT
} sf_LimbHoleState;
typedef enum sf_LimbSettingName {
    SF_LIMB_SETTING_NONE = 0,
    SF_LIMB_SETTING_TOE_OUT,
    SF_LIMB_SETTING_FOOT_FORWARD,
    SF_LIMB_SETTING_FOOT_OUTSET,
    SF_LIMB_SETTING_DORSIFLEXION,
    SF_LIMB_SETTING_EVERSION
} sf_LimbSettingName;
typedef enum sf_LimbRotationHold { SF_LIMB_HOLD_NONE = 0, SF_LIMB_HOLD_CLAMP, SF_LIMB_HOLD_SCREW } sf_LimbRotationHold;
typedef enum sf_LimbScrewState {
    SF_LIMB_SCREW_NONE = 0,
    SF_LIMB_SCREW_FITTED,
    SF_LIMB_SCREW_REMOVED,
    SF_LIMB_SCREW_LEFT
} sf_LimbScrewState;
typedef enum sf_LimbFixing {
    SF_LIMB_FIXING_NONE = 0,
    SF_LIMB_FIXING_PINCH_BAND,
    SF_LIMB_FIXING_THROUGH_SCREWS
} sf_LimbFixing;
typedef enum sf_LimbStuff { ///< what a bought part is made of
    SF_LIMB_STUFF_NONE = 0,
    SF_LIMB_STUFF_STEEL,
    SF_LIMB_STUFF_STAINLESS_STEEL,
    SF_LIMB_STUFF_TITANIUM,
    SF_LIMB_STUFF_ALUMINIUM,
    SF_LIMB_STUFF_POLYAMIDE,
    SF_LIMB_STUFF_ACETAL,
    SF_LIMB_STUFF_POLYPROPYLENE,
    SF_LIMB_STUFF_POLYETHYLENE,
    SF_LIMB_STUFF_POLYURETHANE_RUBBER,
    SF_LIMB_STUFF_WOOD,
    SF_LIMB_STUFF_CARBON_LAMINATE
} sf_LimbStuff;
typedef enum sf_LimbAdhesive {
    SF_LIMB_ADHESIVE_NONE = 0,
    SF_LIMB_ADHESIVE_CYANOACRYLATE,
    SF_LIMB_ADHESIVE_ACRYLIC,
    SF_LIMB_ADHESIVE_EPOXY,
    SF_LIMB_ADHESIVE_POLYURETHANE,
    SF_LIMB_ADHESIVE_CONTACT
} sf_LimbAdhesive;
typedef enum sf_LimbCoverKind {
    SF_LIMB_COVER_UNSAID = 0,
    SF_LIMB_COVER_NONE,
    SF_LIMB_COVER_FOAM,
    SF_LIMB_COVER_SHELL
} sf_LimbCoverKind;

typedef struct sf_LimbLevellingBlock {
    bool there;
    const char *date;
    double block;
} sf_LimbLevellingBlock;

typedef struct sf_LimbStatureReading {
    bool there;
    const char *date;
    double stature, reading_sd;
} sf_LimbStatureReading;

typedef struct sf_LimbKneeReading {
    bool there;
    const char *date;
    double knee_height;
    sf_LimbLandmark landmark;
} sf_LimbKneeReading;

typedef struct sf_LimbPerson {
    bool there;
    const char *label;
    sf_LimbSide side;
    sf_LimbOtherSide other_side;
    sf_LimbSex sex;
    const char *birth_date;
    double body_mass, habitual_load, stature, contracture;
    sf_LimbVolume volume;
    sf_LimbActivity activity;
    double foot_length, sound_knee_height, target_difference, prosthesis_knee_height;
    const char *prosthesis_set_date;
    sf_LimbLevellingBlock *blocks;
    size_t block_count;
    sf_LimbStatureReading *statures;
    size_t stature_count;
    sf_LimbKneeReading *knees;
    size_t knee_count;
} sf_LimbPerson;

typedef struct sf_LimbSocket {
    bool there;
    double distal_end_height, flexion, adduction, mass;
    sf_LimbSuspension suspension;
    double suspension_max_user_mass, end_clearance;
    double pumped_volume, pump_time; ///< m^3, s
    double base_offset[2];           ///< outward, forward of the pylon's axis
} sf_LimbSocket;

typedef struct sf_LimbForming {
    bool there;
    double sheet;
    double oven_c; ///< degrees Celsius
    double vacuum_time;
    sf_LimbDryness model;
    const char *by, *date;
} sf_LimbForming;

typedef struct sf_LimbShopReadings {
    bool there;
    double modulus, yield, seam_factor;
    const char *by;
} sf_LimbShopReadings;

/// One ring: exactly one of image, outline, outline_csv, caliper or the two diameters is given.
typedef struct sf_LimbRing {
    bool there;
    double height;
    const char *image, *outline, *caliper; ///< files
    const char *outline_csv;               ///< the outline itself, text of such a file
    double dpi;
    sf_LimbRingFace face;
    double posterior;
    const char *calibration;
    double outer_diameter, inner_diameter;
    double offset[2]; ///< outward, forward: the bore's centre from the outer circle's
    double groove_depth, groove_width, seam, unjoined_depth;
    double outer_doubt; ///< standard deviation of the outer edge; of a ring that a plan expects, else 0 (not in the file)
} sf_LimbRing;

typedef struct sf_LimbHole {
    bool there;
    double angle, height, diameter;
    sf_LimbHoleState state;
} sf_LimbHole;

typedef struct sf_LimbPylon {
    bool there;
    const char *material;
    double cut_height, top_height;
    const char *sheet_lot;
    double expected_wall;
    sf_LimbForming forming;
    sf_LimbShopReadings measured;
    sf_LimbRing *rings;
    size_t ring_count;
    sf_LimbHole *holes;
    size_t hole_count;
} sf_LimbPylon;

typedef struct sf_LimbAdapterMotion {
    bool there;
    sf_LimbSettingName setting;
    double range[2]; ///< in the setting's own unit of the file: deg or mm
} sf_LimbAdapterMotion;

typedef struct sf_LimbHoldingScrew {
    bool there;
    double torque;
    sf_LimbScrewState state;
    double dent;
} sf_LimbHoldingScrew;

typedef struct sf_LimbFootBolt {
    bool there;
    double thread, pitch, length, torque, engagement, thread_depth, head_diameter, joint;
    sf_LimbStuff material;
} sf_LimbFootBolt;

typedef struct sf_LimbAdapter {
    bool there;
    double depth, build_height, mass, shank, rim, shank_wall, rim_wall;
    sf_LimbStuff material;
    double max_user_mass;
    sf_LimbActivity activity;
    sf_LimbAdapterMotion *motions; ///< empty list: not said
    size_t motion_count;
    sf_LimbRotationHold rotation_hold;
    sf_LimbHoldingScrew holding_screw;
    sf_LimbFixing permanent_fixing;
    double screw_diameter, screw_length;
    int screw_count; ///< -1 when not said
    double pilot_hole;
    sf_LimbStuff screw_material;
    double permanent_torque;
    sf_LimbFootBolt foot_bolt;
} sf_LimbAdapter;

typedef struct sf_LimbSpacer {
    bool there;
    double thickness, mass;
    sf_LimbStuff material;
} sf_LimbSpacer;

typedef struct sf_LimbStockSpacer {
    bool there;
    double thickness;
    int count;
    sf_LimbStuff material;
} sf_LimbStockSpacer;

typedef struct sf_LimbFoot {
    bool there;
    double length, build_height, heel_height, compression, mass, recess, max_user_mass;
    sf_LimbActivity activity;
    sf_LimbStuff material;
    double largest_length;
} sf_LimbFoot;

typedef struct sf_LimbShoe {
    bool there;
    double heel, sole, mass;
} sf_LimbShoe;

typedef struct sf_LimbGlueJoint {
    bool there;
    sf_LimbStuff first, second;
    double area;
    sf_Answer wet;
} sf_LimbGlueJoint;

typedef struct sf_LimbGlue {
    bool there;
    sf_LimbAdhesive adhesive;
    sf_Answer primer;
    sf_LimbGlueJoint *joints;
    size_t joint_count;
} sf_LimbGlue;

typedef struct sf_LimbCover {
    bool there;
    double mass, thickness;
    sf_LimbCoverKind kind;
} sf_LimbCover;

typedef struct sf_LimbAlignment {
    bool there;
    double toe_out, foot_forward, foot_outset, dorsiflexion, eversion;
} sf_LimbAlignment;

typedef struct sf_LimbData {
    bool there;
    sf_LimbPerson person;
    sf_LimbSocket socket;
    sf_LimbPylon pylon;
    sf_LimbAdapter adapter;
    sf_LimbSpacer *spacers;
    size_t spacer_count;
    sf_LimbStockSpacer *stock;
    size_t stock_count;
    sf_LimbFoot foot;
    sf_LimbShoe shoe;
    sf_LimbGlue glue;
    sf_LimbCover cover;
    sf_LimbAlignment alignment;
} sf_LimbData;

typedef struct sf_Limb {
    sf_LimbData data;
    const char *folder; ///< where relative file names of rings start; "" when the text came from no file
    sf_Arena *arena;    ///< owns all texts and lists
} sf_Limb;

extern const sf_Shape sf_limb_shape;         ///< of sf_LimbData
extern const sf_Shape sf_limb_person_shape;  ///< of sf_LimbPerson, for other documents that hold a person
extern const sf_Shape sf_limb_adapter_shape; ///< of sf_LimbAdapter
extern const sf_Shape sf_limb_foot_shape;    ///< of sf_LimbFoot, for a list of feet
extern const sf_Shape sf_limb_alignment_shape;

/// Reads a limb document. All problems come in one error: shape first (docs/limb.schema.json), and, when the shape is
/// good, sizes that contradict one another. SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY. Free with sf_limb_destroy.
sf_Status sf_limb_parse(sf_Limb **limb, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;

/// The same from a file; relative names inside start at its folder.
sf_Status sf_limb_read_file(sf_Limb **limb, const char *path, sf_Error *err) SF_MUST_USE;

/// The same from an object inside an open document; the caller asks sf_doc_verdict() of that document afterwards when
/// SF_OK came back with *limb NULL: problems were noted there.
sf_Status sf_limb_from_node(sf_Limb **limb, sf_DocNode node, sf_Error *err) SF_MUST_USE;

/// Frees and nulls; NULL and pointer to NULL are allowed.
void sf_limb_destroy(sf_Limb **limb);

/// The document as JSON in the file's units and order; fields left out stay out. Owned by the caller.
sf_Json *sf_limb_json(const sf_Limb *limb);

/// Whether a field such as "person.sound_knee_height_mm" is given.
bool sf_limb_has(const sf_Limb *limb, const char *path);

/// SF_OK when all `count` paths are given, else SF_E_MISSING that names every one that is not and who needs it.
sf_Status sf_limb_need(const sf_Limb *limb, const char *const *paths, size_t count, const char *command,
                       sf_Error *err) SF_MUST_USE;

/// A file named in the document, seen from where the program stands: folder and name joined, or the name alone when it
/// is absolute. Kept in the limb's arena; NULL when out of memory.
const char *sf_limb_path(const sf_Limb *limb, const char *name);

/// Notes in the document every size that contradicts another. Internal to the reader, open for its tests.
void sf_limb_check(sf_DocNode root, const sf_LimbData *data);
