// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_case_squeeze.h"

#include "base/alloc.h"
#include "base/units.h"
#include "study/stage_history.h"

#include <math.h>
#include <string.h>

enum { DIGITS = 15, FIGURES = 10 };
static const double BESIDE_FROM = 45; ///< degrees from the load line from which the seam lay beside it

static bool is_word(const char *word, const char *other)
{
    return word && strcmp(word, other) == 0;
}

static sf_Status text_of(sf_DocNode node, char **text, sf_Error *err)
{
    sf_Json *json = sf_json_from_node(node);
    sf_Status status = sf_json_text(json, DIGITS, text, err);
    sf_json_destroy(&json);
    return status;
}

sf_Status sf_limb_case_pressed(const sf_LimbCase *c, const char *number, char **text, sf_Error *err)
{
    sf_DocNode found = { 0 };
    *text = NULL;
    for (size_t i = 0; number && i < c->count; i++) {
        const sf_StageFact *fact = &c->facts[i];
        if (!is_word(fact->kind, "squeeze-proof") || c->rows[i].withdrawn_by ||
            !is_word(sf_fact_word(fact, "ring_number"), number))
            continue;
        sf_DocNode squeeze = sf_doc_member(fact->body, "squeeze");
        bool told = sf_doc_is_object(squeeze);
        if (!sf_fact_flag(fact, "passed"))
            return told ? text_of(squeeze, text, err) : SF_OK;
        if (told)
            found = squeeze;
    }
    return found.doc ? text_of(found, text, err) : SF_OK;
}

sf_Status sf_limb_case_told(const sf_LimbCase *c, const char *told, double seam_deg, char **text, sf_Error *err)
{
    sf_Doc *doc = NULL;
    const char *material = sf_document_word(sf_doc_root(c->document), "pylon.material");
    *text = NULL;
    SF_TRY(sf_doc_parse(&doc, "squeeze", told, strlen(told), err));
    sf_DocNode root = sf_doc_root(doc);
    sf_Json *json = sf_json_from_node(root);
    sf_Status status;
    sf_doc_expect_object(root);
    if (sf_doc_there(sf_doc_member(root, "ring")))
        sf_doc_problem(sf_doc_member(root, "ring"), "is left out here: it is this ring that was pressed");
    sf_doc_need(sf_doc_member(root, "load_n"), "a proof of the seam");
    sf_doc_need(sf_doc_member(root, "outcome"), "a proof of the seam");
    sf_DocNode second = sf_doc_member(root, "second");
    if (sf_doc_is_object(second)) {
        sf_doc_need(sf_doc_member(second, "load_n"), "a second pressing");
        sf_doc_need(sf_doc_member(second, "outcome"), "a second pressing");
    }
    SF_TRY_DONE(sf_doc_verdict(doc, err));
    if (material && !strpbrk(material, "/.") && !sf_doc_there(sf_doc_member(root, "material")))
        sf_json_set_text(json, "material", material);
    if (!isnan(seam_deg) && !sf_doc_there(sf_doc_member(root, "seam_deg")))
        sf_json_set_number(json, "seam_deg", seam_deg);
    status = sf_json_text(json, DIGITS, text, err);
done:
    sf_json_destroy(&json);
    sf_doc_destroy(&doc);
    return status;
}

static bool is_beside(const sf_SqueezePress *press)
{
    double turn = isnan(press->turn) ? 0 : press->turn;
    return fabs(remainder(turn, SF_PI)) >= BESIDE_FROM * SF_DEG;
}

static const char *where_of(const sf_SqueezeFile *file)
{
    bool beside = is_beside(&file->presses[0]);
    bool both = file->count > 1 && is_beside(&file->presses[1]) != beside;
    return both ? "both" : beside ? "beside" : "under-load-line";
}

static sf_Status worked_out(const sf_Squeeze *squeeze, const char *text, char **out, sf_Error *err)
{
    sf_Result result = { 0 };
    SF_TRY(sf_result_begin(&result, err));
    sf_result_input(&result, text, strlen(text));
    sf_squeeze_result(&result, squeeze);
    sf_Json *json = sf_result_finish(&result, sf_squeeze_safety());
    sf_Status status = sf_json_text(json, FIGURES, out, err);
    sf_json_destroy(&json);
    return status;
}

static sf_Status fact_body(const sf_Squeeze *squeeze, const char *number, sf_DocNode told, sf_DocNode result,
                           char **body, sf_Error *err)
{
    const sf_SqueezePress *press = &squeeze->file.presses[0];
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "ring_number", number);
    sf_json_set_flag(json, "passed", squeeze->proof == SF_PROOF_PASSED);
    sf_json_set_number(json, "load_n", press->load);
    if (!isnan(press->closing))
        sf_json_set_number(json, "closing_mm", press->closing / SF_MM);
    sf_json_set_text(json, "seam", where_of(&squeeze->file));
    sf_json_set(json, "squeeze", sf_json_from_node(told));
    sf_json_set(json, "result", sf_json_from_node(result));
    sf_Status status = sf_json_text(json, DIGITS, body, err);
    sf_json_destroy(&json);
    return status;
}

sf_Status sf_limb_case_proof(const sf_Squeeze *squeeze, const char *number, const char *text, char **body,
                             char **result, sf_Error *err)
{
    sf_Doc *told = NULL, *worked = NULL;
    sf_Status status;
    *body = *result = NULL;
    if (squeeze->proof == SF_PROOF_NONE) {
        char words[SF_REASON_TEXT];
        sf_squeeze_words(words, sizeof words, squeeze);
        return SF_FAIL(err, SF_E_INPUT, "squeeze.load_n", "%s Press with the seam under the load line, up to %.0f N",
                       words, squeeze->under.proof_load);
    }
    SF_TRY_DONE(worked_out(squeeze, text, result, err));
    SF_TRY_DONE(sf_doc_parse(&told, "squeeze", text, strlen(text), err));
    SF_TRY_DONE(sf_doc_parse(&worked, "result", *result, strlen(*result), err));
    status = fact_body(squeeze, number, sf_doc_root(told), sf_doc_root(worked), body, err);
done:
    sf_doc_destroy(&told);
    sf_doc_destroy(&worked);
    return status;
}
