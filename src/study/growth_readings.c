// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/growth_readings.h"

#include "base/units.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const double SAME_AGE = 1e-9;
static const double SAME_TIME = 0.1;        ///< years: growth between is below the reading error
static const double ANY_SHANK_SHARE = 0.25; ///< stands in for an unknown height; only differences leave the study

void sf_study_warn(sf_Json *warnings, const char *code, const char *format, ...)
{
    char text[SF_ERROR_TEXT];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    sf_Json *one = sf_json_object();
    sf_json_set_text(one, "code", code);
    sf_json_set_text(one, "text", text);
    sf_json_add(warnings, one);
}

static sf_Status read_dates(sf_GrowthReadings *out, const sf_Limb *limb, sf_Date as_of, sf_Error *err)
{
    static const char *const needed[] = { "person.sex", "person.birth_date" };
    SF_TRY(sf_limb_need(limb, needed, 2, "growth", err));
    const sf_LimbPerson *person = &limb->data.person;
    out->sex = person->sex == SF_LIMB_SEX_MALE ? SF_SEX_MALE : SF_SEX_FEMALE;
    SF_TRY(sf_date_parse(&out->birth, person->birth_date, "person.birth_date", err));
    out->as_of = as_of;
    out->age = sf_date_years_between(out->birth, as_of);
    if (out->age < 0)
        return SF_FAIL(err, SF_E_INPUT, "person.birth_date",
                       "the birth date %s lies after the day of asking: mend it, or give another --as-of",
                       person->birth_date);
    return SF_OK;
}

/// Whether an entry of that date counts, and its age.
static sf_Status entry_age(const sf_GrowthReadings *out, const char *date, const char *path, double *age, bool *counts,
                           sf_Error *err)
{
    sf_Date day;
    SF_TRY(sf_date_parse(&day, date, path, err));
    *counts = sf_date_days(day) <= sf_date_days(out->as_of);
    *age = sf_date_years_between(out->birth, day);
    if (*age < 0)
        return SF_FAIL(err, SF_E_INPUT, path, "a reading of %s lies before the birth date", date);
    return SF_OK;
}

static sf_Status gather_statures(sf_GrowthReadings *out, const sf_Limb *limb, const sf_GrowthModel *model,
                                 sf_Result *result, sf_Error *err)
{
    const sf_LimbPerson *person = &limb->data.person;
    double first = sf_stature_reference_first_age(&model->reference, out->sex);
    size_t later = 0, young = 0, unsaid = 0;
    for (size_t i = 0; i < person->stature_count; i++) {
        const sf_LimbStatureReading *r = &person->statures[i];
        double age;
        bool counts;
        SF_TRY(entry_age(out, r->date, "person.stature_history", &age, &counts, err));
        later += !counts;
        young += counts && age < first;
        if (!counts || age < first)
            continue;
        bool said = isfinite(r->reading_sd);
        unsaid += !said;
        out->statures[out->stature_count++] =
            (sf_StatureReading){ age, r->stature, said ? r->reading_sd : SF_STATURE_READING_SD };
    }
    if (unsaid)
        sf_result_assume(result, "%zu stature readings state no error: 3 mm taken (stature_history[].reading_sd_mm)",
                         unsaid);
    if (later)
        sf_result_note(result, "%zu stature readings are later than the day of asking and were left out", later);
    if (young)
        sf_result_note(result,
                       "%zu stature readings are from before the age of 2, where the reference begins, and "
                       "were left out",
                       young);
    if (out->stature_count == 0 && isfinite(person->stature) && out->age >= first) {
        out->statures[out->stature_count++] = (sf_StatureReading){ out->age, person->stature, SF_STATURE_READING_SD };
        sf_result_assume(result, "stature_mm without a date taken as read on the day of asking, to 3 mm "
                                 "(person.stature_history)");
    }
    return SF_OK;
}

static void add_knee(sf_GrowthReadings *out, sf_KneeReading reading, sf_Result *result)
{
    if (out->knee_count < SF_KNEE_MAX_READINGS) {
        out->knees[out->knee_count++] = reading;
        return;
    }
    size_t oldest = 0;
    for (size_t i = 1; i < out->knee_count; i++)
        if (out->knees[i].age < out->knees[oldest].age)
            oldest = i;
    if (out->knees[oldest].age < reading.age)
        out->knees[oldest] = reading;
    sf_result_note(result, "only the newest %d knee heights and blocks are used", SF_KNEE_MAX_READINGS);
}

static sf_Status gather_history(sf_GrowthReadings *out, const sf_Limb *limb, sf_Result *result, sf_Error *err)
{
    const sf_LimbPerson *person = &limb->data.person;
    size_t later = 0, unsaid = 0;
    for (size_t i = 0; i < person->knee_count; i++) {
        const sf_LimbKneeReading *r = &person->knees[i];
        double age;
        bool counts;
        SF_TRY(entry_age(out, r->date, "person.knee_height_history", &age, &counts, err));
        later += !counts;
        unsaid += r->landmark == SF_LIMB_LANDMARK_NONE;
        bool seated = r->landmark == SF_LIMB_LANDMARK_KNEE_TOP_SEATED;
        if (counts)
            add_knee(
                out,
                (sf_KneeReading){ age, r->knee_height, SF_KNEE_READING_SD, seated ? SF_KNEE_SEATED : SF_KNEE_PLATEAU },
                result);
    }
    if (later)
        sf_result_note(result, "%zu knee heights are later than the day of asking and were left out", later);
    if (unsaid)
        sf_result_assume(result,
                         "%zu knee heights name no landmark: the medial tibial plateau taken "
                         "(knee_height_history[].landmark)",
                         unsaid);
    return SF_OK;
}

/// Mean knee height at an age from the readings there are so far.
static sf_Status expected_knee(const sf_GrowthReadings *out, const sf_GrowthModel *model, const sf_KneeReading *knees,
                               size_t count, double age, double *mean, sf_Error *err)
{
    sf_KneePaths paths = { 0 };
    sf_Mixture mixture = { 0 };
    sf_Status status;
    SF_TRY_DONE(
        sf_knee_paths_create(&paths, model, out->sex, out->statures, out->stature_count, knees, count, &age, 1, err));
    SF_TRY_DONE(sf_knee_paths_at(&paths, 0, 0, &mixture, err));
    *mean = paths.has_level ? sf_mixture_mean(&mixture) : NAN;
done:
    sf_mixture_free(&mixture);
    sf_knee_paths_free(&paths);
    return status;
}

/// A prosthesis whose height no one wrote down, but under which blocks were read: its height follows from the newest
/// block and the knee height of that day; with no knee height either, only the difference of both sides is known.
static sf_Status height_from_block(sf_GrowthReadings *out, const sf_GrowthModel *model, double age, double block,
                                   sf_Result *result, sf_Error *err)
{
    double knee;
    SF_TRY(expected_knee(out, model, out->knees, out->knee_count, age, &knee, err));
    out->knee_known = isfinite(knee);
    if (!out->knee_known)
        knee = ANY_SHANK_SHARE * sf_stature_reference_at(&model->reference, out->sex, age).m;
    out->prosthesis_height = knee - block;
    out->prosthesis_sd = 0;
    if (out->knee_known)
        sf_result_assume(result,
                         "the prosthesis stands %.0f mm high, from the newest block and the knee height of that day "
                         "(person.prosthesis_knee_height_mm)",
                         out->prosthesis_height / SF_MM);
    return SF_OK;
}

static sf_Status gather_blocks(sf_GrowthReadings *out, const sf_Limb *limb, const sf_GrowthModel *model,
                               sf_Result *result, sf_Error *err)
{
    const sf_LimbPerson *person = &limb->data.person;
    sf_Date set = { 0 };
    bool dated = person->prosthesis_set_date != NULL;
    if (dated)
        SF_TRY(sf_date_parse(&set, person->prosthesis_set_date, "person.prosthesis_set_date", err));
    size_t older = 0, used = 0, newest = person->block_count;
    double ages[SF_PATHS_MAX_READINGS];
    for (size_t i = 0; i < person->block_count; i++) {
        bool counts;
        sf_Date day;
        SF_TRY(entry_age(out, person->blocks[i].date, "person.levelling_block_history", &ages[i], &counts, err));
        SF_TRY(sf_date_parse(&day, person->blocks[i].date, "person.levelling_block_history", err));
        bool old = dated && sf_date_days(day) < sf_date_days(set);
        older += old;
        if (old || !counts) {
            ages[i] = NAN;
            continue;
        }
        used++;
        if (newest == person->block_count || ages[i] >= ages[newest])
            newest = i;
    }
    if (older)
        sf_result_note(result,
                       "%zu levelling blocks are older than prosthesis_set_date: they are about another length "
                       "and were left out",
                       older);
    if (used && !dated)
        sf_result_assume(result, "all levelling blocks were read on the present length (person.prosthesis_set_date)");
    if (used && !isfinite(out->prosthesis_height))
        SF_TRY(height_from_block(out, model, ages[newest], person->blocks[newest].block, result, err));
    for (size_t i = 0; i < person->block_count; i++)
        if (isfinite(ages[i]))
            add_knee(out,
                     (sf_KneeReading){ ages[i], out->prosthesis_height + person->blocks[i].block, SF_BLOCK_READING_SD,
                                       SF_KNEE_BLOCK },
                     result);
    return SF_OK;
}

size_t sf_growth_level(const sf_GrowthReadings *readings)
{
    size_t best = readings->knee_count;
    for (size_t i = 0; i < readings->knee_count; i++) {
        const sf_KneeReading *k = &readings->knees[i];
        if (k->kind == SF_KNEE_SEATED)
            continue;
        if (best == readings->knee_count || k->age > readings->knees[best].age + SAME_AGE ||
            (fabs(k->age - readings->knees[best].age) <= SAME_AGE && k->kind == SF_KNEE_BLOCK))
            best = i;
    }
    return best;
}

sf_KneeSource sf_growth_level_source(const sf_GrowthReadings *readings, const sf_Limb *limb)
{
    size_t level = sf_growth_level(readings);
    if (level == readings->knee_count)
        return SF_KNEE_FROM_NOTHING;
    if (readings->knees[level].kind == SF_KNEE_BLOCK)
        return SF_KNEE_FROM_BLOCK;
    bool dated = false;
    for (size_t i = 0; i < limb->data.person.knee_count; i++)
        dated = dated || limb->data.person.knees[i].landmark != SF_LIMB_LANDMARK_KNEE_TOP_SEATED;
    return dated ? SF_KNEE_FROM_HISTORY : SF_KNEE_FROM_FIELD;
}

/// The field without a date is older than every dated entry: it serves only where there is none.
static void take_field(sf_GrowthReadings *out, const sf_Limb *limb, sf_Result *result)
{
    double field = limb->data.person.sound_knee_height;
    size_t newest = out->knee_count;
    for (size_t i = 0; i < out->knee_count; i++)
        if (out->knees[i].kind == SF_KNEE_PLATEAU &&
            (newest == out->knee_count || out->knees[i].age >= out->knees[newest].age))
            newest = i;
    if (!isfinite(field))
        return;
    if (newest < out->knee_count) {
        double off = out->knees[newest].height - field;
        if (fabs(off) > SF_GROWTH_DISAGREE)
            sf_study_warn(out->warnings, "sound-knee-height-differs",
                          "sound_knee_height_mm is %.0f, the newest knee height in the history is %.0f: the newest "
                          "entry is used; measure again if you do not know why they differ",
                          field / SF_MM, out->knees[newest].height / SF_MM);
        return;
    }
    if (sf_growth_level(out) < out->knee_count)
        return;
    add_knee(out, (sf_KneeReading){ out->age, field, SF_KNEE_READING_SD, SF_KNEE_PLATEAU }, result);
    sf_result_assume(result, "sound_knee_height_mm without a date taken as read on the day of asking "
                             "(person.knee_height_history)");
}

/// Warns when the newest entry of the level is not where the entries of one kind before it let expect it.
static sf_Status compare_with(sf_GrowthReadings *out, const sf_GrowthModel *model, size_t level, sf_KneeKind kind,
                              sf_Error *err)
{
    sf_KneeReading others[SF_KNEE_MAX_READINGS];
    size_t count = 0;
    for (size_t i = 0; i < out->knee_count; i++)
        if (i != level && out->knees[i].kind == kind)
            others[count++] = out->knees[i];
    if (count == 0)
        return SF_OK;
    double expected;
    SF_TRY(expected_knee(out, model, others, count, out->knees[level].age, &expected, err));
    if (fabs(out->knees[level].height - expected) > SF_GROWTH_DISAGREE)
        sf_study_warn(
            out->warnings, kind == SF_KNEE_BLOCK ? "newest-entry-off-blocks" : "newest-entry-off-knee-heights",
            "the newest entry puts the sound knee at %.0f mm, the %s before it let expect %.0f: the newest is "
            "used; measure again",
            out->knees[level].height / SF_MM, kind == SF_KNEE_BLOCK ? "blocks" : "knee heights", expected / SF_MM);
    return SF_OK;
}

/// Warns when a block and a knee height of about the same day tell different lengths.
static void compare_same_days(sf_GrowthReadings *out)
{
    double newest = -1, off = 0;
    for (size_t i = 0; i < out->knee_count; i++)
        for (size_t j = 0; j < out->knee_count; j++) {
            const sf_KneeReading *block = &out->knees[i], *knee = &out->knees[j];
            if (block->kind != SF_KNEE_BLOCK || knee->kind != SF_KNEE_PLATEAU ||
                fabs(block->age - knee->age) > SAME_TIME || block->age < newest)
                continue;
            newest = block->age;
            off = block->height - knee->height;
        }
    if (newest >= 0 && fabs(off) > SF_GROWTH_DISAGREE)
        sf_study_warn(out->warnings, "block-and-knee-height-differ",
                      "block and knee height of about the same day differ by %.0f mm: the pelvis may be levelled for "
                      "another cause, or the prosthesis stands otherwise than noted; measure again",
                      fabs(off) / SF_MM);
}

static sf_Status compare_entries(sf_GrowthReadings *out, const sf_GrowthModel *model, sf_Error *err)
{
    size_t level = sf_growth_level(out);
    if (level == out->knee_count || !out->knee_known)
        return SF_OK;
    compare_same_days(out);
    SF_TRY(compare_with(out, model, level, SF_KNEE_PLATEAU, err));
    return compare_with(out, model, level, SF_KNEE_BLOCK, err);
}

sf_Status sf_growth_gather(sf_GrowthReadings *out, const sf_Limb *limb, const sf_GrowthModel *model, sf_Date as_of,
                           sf_Result *result, sf_Error *err)
{
    *out = (sf_GrowthReadings){ .knee_known = true, .warnings = sf_json_array() };
    SF_TRY(read_dates(out, limb, as_of, err));
    const sf_LimbPerson *person = &limb->data.person;
    out->prosthesis_height = person->prosthesis_knee_height;
    out->prosthesis_sd = SF_PROSTHESIS_HEIGHT_SD;
    out->target = person->target_difference;
    if (!isfinite(out->target)) {
        out->target = 0;
        sf_result_assume(result, "prosthesis and sound side shall be equally long (person.target_difference_mm)");
    }
    SF_TRY(gather_statures(out, limb, model, result, err));
    SF_TRY(gather_history(out, limb, result, err));
    SF_TRY(gather_blocks(out, limb, model, result, err));
    take_field(out, limb, result);
    return compare_entries(out, model, err);
}

double sf_limb_sound_knee(const sf_Limb *limb, sf_Json *warnings)
{
    const sf_LimbPerson *person = &limb->data.person;
    const sf_LimbKneeReading *newest = NULL;
    for (size_t i = 0; i < person->knee_count; i++)
        if (person->knees[i].landmark != SF_LIMB_LANDMARK_KNEE_TOP_SEATED &&
            (!newest || strcmp(person->knees[i].date, newest->date) >= 0)) // ISO dates sort as text
            newest = &person->knees[i];
    if (!newest)
        return person->sound_knee_height;
    if (fabs(newest->knee_height - person->sound_knee_height) > SF_GROWTH_DISAGREE)
        sf_study_warn(
            warnings, "sound-knee-height-differs",
            "sound_knee_height_mm is %.0f, the newest knee height in the history is %.0f: the newest entry is "
            "used; measure again if you do not know why they differ",
            person->sound_knee_height / SF_MM, newest->knee_height / SF_MM);
    return newest->knee_height;
}
