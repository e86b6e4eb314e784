// SPDX-License-Identifier: GPL-3.0-or-later
// Whether what was written down fits the fields of its kind.
#include "base/date.h"
#include "study/stage_table.h"

#include <stdint.h>
#include <string.h>

static const char BLANKS[] = " \t\r\n";
enum { HASH_DIGITS = 64, MOST_HASH = 128 };

static void check_object(const sf_StageField *fields, size_t count, sf_DocNode node);

static void check_text(const sf_StageField *field, sf_DocNode node)
{
    const char *text;
    if (!sf_doc_text(node, field->most, &text))
        return;
    size_t first = strspn(text, BLANKS), last = strlen(text); // blanks say nothing
    while (last > first && strchr(BLANKS, text[last - 1]))
        last--;
    if (last == first)
        sf_doc_problem(node, "must not be empty");
    else if (last - first < field->least)
        sf_doc_problem(node, "must say more: at least %zu letters", field->least);
}

static void check_date(sf_DocNode node)
{
    const char *text;
    sf_Date date;
    if (sf_doc_text(node, SF_DATE_TEXT - 1, &text) && sf_date_parse(&date, text, NULL, NULL) != SF_OK)
        sf_doc_problem(node, "must be a day such as 2026-01-31");
}

static void check_hash(sf_DocNode node)
{
    const char *text;
    if (!sf_doc_text(node, MOST_HASH, &text))
        return;
    size_t digits = strspn(text, "0123456789abcdef");
    if (text[digits] != '\0' || digits < HASH_DIGITS)
        sf_doc_problem(node, "must be the hash of a picture that was sent before");
}

static void check_list(const sf_StageField *field, sf_DocNode node)
{
    if (!sf_doc_expect_array(node, field->most))
        return;
    if (field->required && sf_doc_length(node) == 0)
        sf_doc_problem(node, "must not be empty");
    for (size_t i = 0; i < sf_doc_length(node); i++)
        check_object(field->fields, field->field_count, sf_doc_item(node, i));
}

static void check_field(const sf_StageField *field, sf_DocNode node)
{
    double number;
    int64_t whole;
    bool flag;
    size_t index;
    if (field->required && !sf_doc_need(node, "this fact"))
        return;
    if (!sf_doc_there(node))
        return;
    switch (field->kind) {
    case SF_STAGE_NUMBER: sf_doc_number(node, field->low, field->high, &number); break;
    case SF_STAGE_WHOLE: sf_doc_whole(node, (int64_t)field->low, (int64_t)field->high, &whole); break;
    case SF_STAGE_FLAG: sf_doc_flag(node, &flag); break;
    case SF_STAGE_TEXT: check_text(field, node); break;
    case SF_STAGE_WORD: sf_doc_word(node, field->words, field->word_count, &index); break;
    case SF_STAGE_DATE: check_date(node); break;
    case SF_STAGE_HASH: check_hash(node); break;
    case SF_STAGE_ANY: break;
    case SF_STAGE_OBJECT: check_object(field->fields, field->field_count, node); break;
    case SF_STAGE_LIST: check_list(field, node); break;
    }
}

static void check_object(const sf_StageField *fields, size_t count, sf_DocNode node)
{
    const char *known[SF_STAGE_MOST_FIELDS];
    if (!sf_doc_is_object(node)) {
        sf_doc_problem(node, "must be an object { ... }");
        return;
    }
    for (size_t i = 0; i < count; i++)
        known[i] = fields[i].name;
    sf_doc_only(node, known, count);
    for (size_t i = 0; i < count; i++)
        check_field(&fields[i], sf_doc_member(node, fields[i].name));
}

void sf_stage_body_check(const sf_StageKind *kind, sf_DocNode body)
{
    check_object(kind->fields, kind->field_count, body);
}
