// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/sign.h"

#include <string.h>

// Generated from data/signs.json.
extern const unsigned char sf_signs_data[];
extern const size_t sf_signs_data_size;

enum { MOST_TEXT = 300 };

static size_t word_index(sf_DocNode node, const char *const *words, size_t count)
{
    size_t index = 0;
    sf_doc_word(node, words, count, &index);
    return index;
}

static void text_of(sf_DocNode parent, const char *key, const char **value)
{
    sf_DocNode node = sf_doc_member(parent, key);
    *value = "";
    if (sf_doc_need(node, "the list of signs"))
        sf_doc_text(node, MOST_TEXT, value);
}

static void read_check(sf_SignCheck *check, sf_DocNode node)
{
    static const char *const families[] = { "fit", "suspension", "length", "shoe", "foot", "person" };
    text_of(node, "check", &check->check);
    text_of(node, "words", &check->words);
    size_t family = word_index(sf_doc_member(node, "family"), families, sizeof families / sizeof *families);
    check->family = families[family];
    check->before_alignment = family < 4;
}

static int direction_of(sf_DocNode off, const char *key)
{
    int64_t value = 0;
    sf_doc_whole(sf_doc_member(off, key), -1, 1, &value);
    return (int)value;
}

static void read_sign(sf_SignTable *table, sf_Sign *sign, sf_DocNode node)
{
    text_of(node, "sign", &sign->sign);
    text_of(node, "name", &sign->name);
    text_of(node, "words", &sign->words);
    sf_DocNode phases = sf_doc_member(node, "phases"), off = sf_doc_member(node, "off");
    sf_DocNode exclude = sf_doc_member(node, "exclude");
    if (sf_doc_expect_array(phases, SF_SIGN_MOST_PHASES))
        sign->phase_count = sf_doc_length(phases);
    if (sign->phase_count == 0)
        sf_doc_problem(phases, "must name a phase");
    for (size_t i = 0; i < sign->phase_count; i++)
        sign->phases[i] = word_index(sf_doc_item(phases, i), table->phases, table->phase_count);
    sign->sagittal = direction_of(off, "sagittal");
    sign->coronal = direction_of(off, "coronal");
    sign->toe_out = direction_of(off, "toe_out");
    sign->sole = direction_of(off, "sole");
    sf_doc_number(sf_doc_member(node, "weight"), 0, 1, &sign->weight);
    sf_doc_flag(sf_doc_member(node, "first"), &sign->first);
    const char *names[SF_SIGN_MOST_CHECKS];
    for (size_t i = 0; i < table->check_count; i++)
        names[i] = table->checks[i].check;
    if (sf_doc_expect_array(exclude, SF_SIGN_MOST_PHASES))
        sign->check_count = sf_doc_length(exclude);
    for (size_t i = 0; i < sign->check_count; i++)
        sign->checks[i] = word_index(sf_doc_item(exclude, i), names, table->check_count);
}

static void read_table(sf_SignTable *table)
{
    sf_DocNode root = sf_doc_root(table->doc);
    sf_DocNode phases = sf_doc_member(root, "phases"), checks = sf_doc_member(root, "checks");
    sf_DocNode signs = sf_doc_member(root, "signs");
    if (!sf_doc_expect_array(phases, SF_SIGN_MOST_PHASES) || !sf_doc_expect_array(checks, SF_SIGN_MOST_CHECKS) ||
        !sf_doc_expect_array(signs, SF_SIGN_MOST)) {
        sf_doc_problem(root, "must hold phases, checks and signs");
        return;
    }
    table->phase_count = sf_doc_length(phases);
    for (size_t i = 0; i < table->phase_count; i++)
        if (!sf_doc_text(sf_doc_item(phases, i), MOST_TEXT, &table->phases[i]))
            table->phases[i] = "";
    table->check_count = sf_doc_length(checks);
    for (size_t i = 0; i < table->check_count; i++)
        read_check(&table->checks[i], sf_doc_item(checks, i));
    table->sign_count = sf_doc_length(signs);
    for (size_t i = 0; i < table->sign_count; i++)
        read_sign(table, &table->signs[i], sf_doc_item(signs, i));
}

sf_Status sf_sign_table_load(sf_SignTable *table, sf_Error *err)
{
    *table = (sf_SignTable){ 0 };
    SF_TRY(sf_doc_parse(&table->doc, "signs.json", (const char *)sf_signs_data, sf_signs_data_size, err));
    read_table(table);
    sf_Status status = sf_doc_verdict(table->doc, err);
    if (status != SF_OK)
        sf_sign_table_free(table);
    return status == SF_OK || status == SF_E_MEMORY ? status : SF_E_INTERNAL;
}

void sf_sign_table_free(sf_SignTable *table)
{
    sf_doc_destroy(&table->doc);
    *table = (sf_SignTable){ 0 };
}

size_t sf_sign_find(const sf_SignTable *table, const char *name)
{
    size_t i = 0;
    while (i < table->sign_count && strcmp(table->signs[i].sign, name) != 0)
        i++;
    return i;
}

sf_Effect sf_sign_effect(const sf_SignTable *table, size_t index, size_t phase, int *direction)
{
    const sf_Sign *sign = &table->signs[index];
    // Terminal stance and pre-swing are late; everything before is early.
    bool late = phase < table->phase_count && (strcmp(table->phases[phase], "terminal-stance") == 0 ||
                                               strcmp(table->phases[phase], "pre-swing") == 0);
    if (sign->sagittal) {
        *direction = sign->sagittal;
        return late ? SF_EFFECT_SAGITTAL_LATE : SF_EFFECT_SAGITTAL_EARLY;
    }
    if (sign->coronal) {
        *direction = sign->coronal;
        return late ? SF_EFFECT_CORONAL_LATE : SF_EFFECT_CORONAL_EARLY;
    }
    *direction = sign->toe_out;
    return sign->toe_out ? SF_EFFECT_TOE_OUT : SF_EFFECT_COUNT;
}
