// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/doc.h"
#include "harness/tap.h"

#include <math.h>
#include <string.h>

static sf_Doc *parse(const char *text)
{
    sf_Doc *doc = NULL;
    TAP_OK(sf_doc_parse(&doc, "test.json", text, strlen(text), NULL));
    return doc;
}

TAP_CASE(every_problem_is_reported_with_its_path)
{
    sf_Doc *doc = parse("{\"a\": {\"b\": [1, 999]}, \"side\": \"up\", \"extra\": 0}");
    sf_DocNode root = sf_doc_root(doc);
    static const char *const known[] = { "a", "side", "need" };
    static const char *const sides[] = { "left", "right" };
    double value = -1;
    size_t side;
    TAP_TRUE(sf_doc_number(sf_doc_item(sf_doc_member(sf_doc_member(root, "a"), "b"), 0), 0, 10, &value));
    TAP_NEAR(value, 1, TAP_EXACT, TAP_INVENTED);
    TAP_TRUE(!sf_doc_number(sf_doc_item(sf_doc_member(sf_doc_member(root, "a"), "b"), 1), 0, 10, &value));
    TAP_TRUE(!sf_doc_word(sf_doc_member(root, "side"), sides, 2, &side));
    TAP_TRUE(!sf_doc_need(sf_doc_member(root, "need"), "ring"));
    sf_doc_only(root, known, 3);
    sf_Error err = { 0 };
    TAP_STATUS(sf_doc_verdict(doc, &err), SF_E_INPUT);
    TAP_TRUE(sf_doc_problem_count(doc) == 4);
    TAP_HOLDS(err.text, "a.b[1] is 999; it must lie between 0 and 10");
    TAP_HOLDS(err.text, "side is 'up'; it must be one of 'left', 'right'");
    TAP_HOLDS(err.text, "need is missing: ring needs it");
    TAP_HOLDS(err.text, "extra is not a known field");
    sf_doc_destroy(&doc);
}

TAP_CASE(bad_json_names_line_and_column)
{
    sf_Doc *doc = NULL;
    sf_Error err = { 0 };
    TAP_STATUS(sf_doc_parse(&doc, "x.json", "{\n\"a\": 1,\n\"a\": 2}", 18, &err), SF_E_PARSE);
    TAP_HOLDS(err.text, "line 3");
    TAP_TRUE(doc == NULL);
}

TAP_CASE(numbers_that_do_not_exist_are_written_as_null)
{
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "x", NAN);
    sf_json_set_number(json, "y", 0.1);
    char *text = NULL;
    TAP_OK(sf_json_text(json, 15, &text, NULL));
    TAP_TEXT(text, "{\n  \"x\": null,\n  \"y\": 0.1\n}");
    sf_free(text);
    sf_json_destroy(&json);
}

static sf_Status read_and_write(void *context)
{
    const char *text = context;
    sf_Doc *doc = NULL;
    sf_Json *json = NULL;
    char *out = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_doc_parse(&doc, "t", text, strlen(text), NULL));
    double value;
    sf_doc_number(sf_doc_member(sf_doc_root(doc), "a"), 0, 1, &value);
    sf_doc_need(sf_doc_member(sf_doc_root(doc), "a"), NULL);
    SF_TRY_DONE(sf_doc_verdict(doc, NULL));
    json = sf_json_object();
    sf_json_set(json, "copy", sf_json_from_node(sf_doc_root(doc)));
    sf_json_set_text(json, "t", "x");
    SF_TRY_DONE(sf_json_text(json, 10, &out, NULL));
done:
    sf_free(out);
    sf_json_destroy(&json);
    sf_doc_destroy(&doc);
    return status;
}

TAP_CASE(reading_and_writing_survive_every_failed_allocation)
{
    char text[] = "{\"a\": 0.5, \"b\": [1, {\"c\": \"d\"}]}";
    tap_every_allocation(read_and_write, text, 500, "document round trip");
}

TAP_MAIN(TAP_RUN(every_problem_is_reported_with_its_path), TAP_RUN(bad_json_names_line_and_column),
         TAP_RUN(numbers_that_do_not_exist_are_written_as_null),
         TAP_RUN(reading_and_writing_survive_every_failed_allocation))
