// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/trials.h"

#include "base/units.h"
#include "study/adapter_travel.h"

#include <math.h>
#include <string.h>

enum { TRIALS_ARENA = 16 * 1024 * 1024, MOST_NOTE = 2000 };

// Where the limb is not known: a foot and a clamp to socket height of the middle (judgement, named in the result).
static const double FOOT_LENGTH = 0.260, SOCKET_OVER_CLAMP = 0.180;

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char *const SUPPORTS[] = { "bars", "stick", "free" };
static const char *const SKINS[] = { "clear", "fades", "stays", "broken" };
static const char *const WITNESSES[] = { "unbroken", "broken" };
static const char *const SIDES[] = { "prosthetic", "sound" };

// Whether what the sound side shows says nothing of this limb's settings: a sign that would move one.
static bool of_other_side(const sf_SignTable *table, const sf_TrialSign *sign, size_t side)
{
    const sf_Sign *s = &table->signs[sign->sign];
    return side == 1 && (s->sagittal || s->coronal || s->toe_out || s->sole);
}

// False: the sign is of the sound side, and is only counted.
static bool read_sign(sf_Trials *t, sf_DocNode node, sf_TrialSign *sign)
{
    static const char *const known[] = { "sign", "phase", "strength", "side" };
    if (!sf_doc_expect_object(node)) {
        sf_doc_need(node, "a trial");
        return true;
    }
    sf_doc_only(node, known, COUNT(known));
    const char *name = NULL;
    size_t side = 0;
    int64_t strength = 2;
    sf_DocNode word = sf_doc_member(node, "sign");
    if (sf_doc_need(word, "an observation") && sf_doc_text(word, 200, &name)) {
        sign->sign = sf_sign_find(&t->table, name);
        if (sign->sign == t->table.sign_count) {
            sf_doc_problem(word, "is '%.40s', which is no sign of the list: see `standfast advise --signs`", name);
            sign->sign = 0;
        }
    }
    sign->phase = t->table.signs[sign->sign].phases[0];
    sf_doc_word(sf_doc_member(node, "phase"), t->table.phases, t->table.phase_count, &sign->phase);
    sf_doc_word(sf_doc_member(node, "side"), SIDES, COUNT(SIDES), &side);
    sf_doc_whole(sf_doc_member(node, "strength"), 1, 3, &strength);
    sign->strength = (int)strength;
    bool other = of_other_side(&t->table, sign, side);
    t->sound_signs += other;
    return !other;
}

static sf_Status read_settings(sf_DocNode node, sf_Arena *arena, const sf_Settings *start, sf_Settings *out,
                               sf_Error *err)
{
    sf_LimbAlignment alignment;
    sf_shape_clear(&sf_limb_alignment_shape, &alignment);
    if (sf_doc_expect_object(node)) {
        SF_TRY(sf_shape_read(&sf_limb_alignment_shape, node, &alignment, arena, err));
        alignment.there = true;
    }
    *out = sf_adapter_settings(&alignment, start);
    return SF_OK;
}

static double number_or_nan(sf_DocNode node, double low, double high)
{
    double value = NAN;
    sf_doc_number(node, low, high, &value);
    return value;
}

static sf_Status read_trial(sf_Trials *t, sf_DocNode node, const sf_Settings *start, sf_Trial *trial, sf_Error *err)
{
    static const char *const known[] = {
        "settings",          "settings_after", "observations", "support", "assistant", "witness",
        "holding_torque_nm", "insensate",      "sock_ply",     "skin",    "pain",      "minutes_since_donning",
        "comfort",           "date",           "by",           "note",    "steps_file"
    };
    if (!sf_doc_expect_object(node)) {
        sf_doc_need(node, "the list of trials");
        return SF_OK;
    }
    sf_doc_only(node, known, COUNT(known));
    SF_TRY(read_settings(sf_doc_member(node, "settings"), t->arena, start, &trial->settings, err));
    SF_TRY(read_settings(sf_doc_member(node, "settings_after"), t->arena, &trial->settings, &trial->after, err));
    sf_DocNode signs = sf_doc_member(node, "observations");
    if (sf_doc_need(signs, "a trial") && sf_doc_expect_array(signs, SF_TRIAL_MOST_SIGNS))
        for (size_t i = 0; i < sf_doc_length(signs); i++)
            trial->sign_count += read_sign(t, sf_doc_item(signs, i), &trial->signs[trial->sign_count]);
    size_t support = 0, skin = 0, witness = 0;
    sf_DocNode support_node = sf_doc_member(node, "support"), skin_node = sf_doc_member(node, "skin");
    sf_DocNode pain_node = sf_doc_member(node, "pain");
    if (sf_doc_need(support_node, "a trial"))
        sf_doc_word(support_node, SUPPORTS, COUNT(SUPPORTS), &support);
    if (sf_doc_need(skin_node, "a trial"))
        sf_doc_word(skin_node, SKINS, COUNT(SKINS), &skin);
    sf_doc_word(sf_doc_member(node, "witness"), WITNESSES, COUNT(WITNESSES), &witness);
    sf_doc_flag(sf_doc_member(node, "assistant"), &trial->assistant);
    sf_doc_flag(sf_doc_member(node, "insensate"), &trial->insensate);
    if (!trial->insensate)
        sf_doc_need(pain_node, "a trial of a person who feels the limb");
    trial->pain = number_or_nan(pain_node, 0, 10);
    trial->support = (sf_Support)support;
    trial->skin = (sf_Skin)skin;
    trial->witness_broken = witness == 1;
    trial->holding_torque = number_or_nan(sf_doc_member(node, "holding_torque_nm"), 0, 200);
    trial->sock_ply = number_or_nan(sf_doc_member(node, "sock_ply"), 0, 40);
    trial->minutes_since_donning = number_or_nan(sf_doc_member(node, "minutes_since_donning"), 0, 1440);
    trial->comfort = number_or_nan(sf_doc_member(node, "comfort"), 0, 10);
    static const char *const texts[] = { "date", "by", "note", "steps_file" };
    const char *unused;
    for (size_t i = 0; i < COUNT(texts); i++)
        sf_doc_text(sf_doc_member(node, texts[i]), MOST_NOTE, &unused);
    return SF_OK;
}

// A person here may be known in part only: the list of trials does not need mass and side.
static sf_Status read_part(const sf_Shape *whole, sf_DocNode node, void *object, sf_Arena *arena, sf_Error *err)
{
    sf_shape_clear(whole, object);
    if (!sf_doc_expect_object(node))
        return SF_OK;
    sf_Field *fields = sf_arena_alloc(arena, whole->count, sizeof *fields);
    if (!fields)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while reading the trials");
    memcpy(fields, whole->fields, whole->count * sizeof *fields);
    for (size_t i = 0; i < whole->count; i++)
        fields[i].required = false;
    sf_Shape part = *whole;
    part.fields = fields;
    SF_TRY(sf_shape_read(&part, node, object, arena, err));
    *(bool *)object = true; // every such struct begins with `there`
    return SF_OK;
}

static void read_excluded(sf_Trials *t, sf_DocNode node)
{
    const char *names[SF_SIGN_MOST_CHECKS];
    for (size_t i = 0; i < t->table.check_count; i++)
        names[i] = t->table.checks[i].check;
    if (!sf_doc_expect_array(node, SF_SIGN_MOST_CHECKS))
        return;
    for (size_t i = 0; i < sf_doc_length(node); i++) {
        size_t check = 0;
        if (sf_doc_word(sf_doc_item(node, i), names, t->table.check_count, &check))
            t->set.excluded[check] = true;
    }
}

static sf_Status read_list(sf_Trials *t, sf_DocNode list, sf_Error *err)
{
    if (!sf_doc_need(list, "advise") || !sf_doc_expect_array(list, SF_TRIAL_MOST))
        return SF_OK;
    t->set.count = sf_doc_length(list);
    if (t->set.count == 0)
        sf_doc_problem(list, "is empty: write down at least one walk, with its signs, skin, pain and support");
    t->trials = sf_arena_alloc(t->arena, t->set.count + 1, sizeof *t->trials);
    if (!t->trials)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while reading the trials");
    t->set.trials = t->trials;
    sf_Settings start = { 0 };
    t->start_given = t->set.count > 0 && sf_doc_there(sf_doc_member(sf_doc_item(list, 0), "settings"));
    for (size_t i = 0; i < t->set.count; i++) {
        SF_TRY(read_trial(t, sf_doc_item(list, i), &start, &t->trials[i], err));
        start = t->trials[i].after;
    }
    return SF_OK;
}

static sf_Status read_root(sf_Trials *t, sf_DocNode root, sf_Error *err)
{
    static const char *const known[] = { "format",
                                         "person",
                                         "adapter",
                                         "trials",
                                         "foot_length_mm",
                                         "socket_base_above_clamp_mm",
                                         "excluded",
                                         "permanent_fixing_done",
                                         "long_worn_misalignment",
                                         "note" };
    static const char *const formats[] = { "standfast-trials/1" };
    size_t format = 0;
    const char *note;
    if (!sf_doc_is_object(root)) {
        sf_doc_problem(root, "must be an object { ... }");
        return SF_OK;
    }
    sf_doc_only(root, known, COUNT(known));
    sf_DocNode format_node = sf_doc_member(root, "format");
    if (sf_doc_need(format_node, "every trials file"))
        sf_doc_word(format_node, formats, 1, &format);
    sf_doc_text(sf_doc_member(root, "note"), MOST_NOTE, &note);
    SF_TRY(read_part(&sf_limb_person_shape, sf_doc_member(root, "person"), &t->person, t->arena, err));
    SF_TRY(read_part(&sf_limb_adapter_shape, sf_doc_member(root, "adapter"), &t->adapter, t->arena, err));
    t->set.travel = sf_adapter_travel(&t->adapter);
    t->set.foot_length = FOOT_LENGTH / SF_MM;
    t->set.socket_over_clamp = SOCKET_OVER_CLAMP / SF_MM;
    t->foot_length_given = sf_doc_number(sf_doc_member(root, "foot_length_mm"), 80, 400, &t->set.foot_length);
    t->socket_over_clamp_given =
        sf_doc_number(sf_doc_member(root, "socket_base_above_clamp_mm"), 20, 600, &t->set.socket_over_clamp);
    t->set.foot_length *= SF_MM;
    t->set.socket_over_clamp *= SF_MM;
    sf_doc_flag(sf_doc_member(root, "permanent_fixing_done"), &t->fixing_done);
    sf_doc_flag(sf_doc_member(root, "long_worn_misalignment"), &t->long_worn);
    read_excluded(t, sf_doc_member(root, "excluded"));
    return read_list(t, sf_doc_member(root, "trials"), err);
}

sf_Status sf_trials_read(sf_Trials *t, const char *name, const char *text, size_t size, sf_Error *err)
{
    *t = (sf_Trials){ 0 };
    sf_Doc *doc = NULL;
    sf_Status status = SF_OK;
    SF_TRY_DONE(sf_sign_table_load(&t->table, err));
    SF_TRY_DONE(sf_doc_parse(&doc, name, text, size, err));
    t->arena = sf_arena_create(TRIALS_ARENA);
    if (!t->arena) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
        goto done;
    }
    SF_TRY_DONE(read_root(t, sf_doc_root(doc), err));
    SF_TRY_DONE(sf_doc_verdict(doc, err));
done:
    sf_doc_destroy(&doc);
    if (status != SF_OK)
        sf_trials_free(t);
    return status;
}

void sf_trials_free(sf_Trials *t)
{
    sf_sign_table_free(&t->table);
    sf_arena_destroy(&t->arena);
    *t = (sf_Trials){ 0 };
}
