// SPDX-License-Identifier: GPL-3.0-or-later
// `report`: papers of one limb as PDF, or one page of them as SVG or PNG.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "record/letterhead.h"
#include "report/report.h"

#include <stdio.h>
#include <string.h>

enum { MOST_PAGES = 99, WORDS_DIGITS = 12 };

typedef struct Work {
    sf_Arguments arguments;
    const char *out, *words_file, *store, *files;
    size_t kind, paper, units;
    double page;
    sf_ReportWords words;
    sf_ReportAsk ask;
    unsigned char *limb_bytes, *words_bytes;
    sf_Limb *limb;
    sf_Result result;
    sf_Report report;
} Work;

static sf_Status read_arguments(Work *w, int argc, char **argv, int first, sf_Error *err)
{
    const sf_Option options[] = {
        { "-o", SF_OPTION_TEXT, &w->out, 0, 0, NULL, "where to write: .pdf, or .svg or .png for one page" },
        { "--kind", SF_OPTION_WORD, &w->kind, 0, 0, "release|traveller|care|wrap", "which paper (release)" },
        { "--paper", SF_OPTION_WORD, &w->paper, 0, 0, "a4|letter", "its size (a4)" },
        { "--units", SF_OPTION_WORD, &w->units, 0, 0, "metric|inch", "what lengths and masses are told in (metric)" },
        { "--words", SF_OPTION_TEXT, &w->words_file, 0, 0, NULL, "shop, signer, statement, checks, record (JSON)" },
        { "--store", SF_OPTION_TEXT, &w->store, 0, 0, NULL, "store whose shop the paper names, unless --words does" },
        { "--files", SF_OPTION_TEXT, &w->files, 0, 0, NULL, "folder of that store's files (beside the store)" },
        { "--page", SF_OPTION_NUMBER, &w->page, 1, MOST_PAGES, NULL, "which page, for .svg and .png (1)" },
    };
    const size_t count = sizeof options / sizeof *options;
    SF_TRY(sf_arguments_read(&w->arguments, argc, argv, first, options, count, err));
    if (w->arguments.help) {
        printf("standfast report LIMB.json -o OUT.pdf --kind release|traveller|care|wrap\n\nPapers of one limb: the "
               "release "
               "with every check, the bench traveller, the wearer's care sheet, the wrap to drill by.\n\n");
        sf_arguments_print_help(options, count);
        return SF_OK;
    }
    if (w->arguments.name_count != 1 || !w->out)
        return SF_FAIL(err, SF_E_USAGE, NULL,
                       "name one limb file and where to write: standfast report LIMB.json -o OUT.pdf");
    if (w->page != (double)(int)w->page)
        return SF_FAIL(err, SF_E_USAGE, "--page", "--page takes a whole number");
    return sf_sheet_kind(&w->ask.file, w->out, err);
}

// The words with the shop of the store, where they do not name one themselves.
static sf_Status name_shop(Work *w, sf_Error *err)
{
    static const char none[] = "{ \"format\": \"standfast-report/1\" }";
    const char *words = w->words_bytes ? (const char *)w->words_bytes : none;
    sf_Store *store = NULL;
    sf_Transaction *t = NULL;
    sf_Doc *doc = NULL;
    sf_Json *json = NULL;
    sf_Letterhead maker;
    char *text = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_doc_parse(&doc, w->words_file ? w->words_file : "words", words, strlen(words), err));
    if (sf_doc_there(sf_doc_member(sf_doc_root(doc), "shop")) || !sf_doc_is_object(sf_doc_root(doc)))
        goto done;
    SF_TRY_DONE(sf_store_open(&store, w->store, w->files, SF_STORE_EXISTING, err));
    SF_TRY_DONE(sf_transaction_read(&t, store, err));
    SF_TRY_DONE(sf_letterhead_get(t, &maker, err));
    json = sf_json_from_node(sf_doc_root(doc));
    sf_json_set(json, "shop", sf_letterhead_json(&maker));
    SF_TRY_DONE(sf_json_text(json, WORDS_DIGITS, &text, err));
    sf_free(w->words_bytes);
    w->words_bytes = (unsigned char *)text;
    w->ask.words_size = strlen(text);
done:
    sf_json_destroy(&json);
    sf_doc_destroy(&doc);
    sf_transaction_end(&t);
    sf_store_close(&store);
    return status;
}

static sf_Status read_files(Work *w, sf_Error *err)
{
    SF_TRY(sf_file_read(w->arguments.names[0], SF_DOC_MAX_BYTES, &w->limb_bytes, &w->ask.document_size, err));
    SF_TRY(sf_limb_read_file(&w->limb, w->arguments.names[0], err));
    w->ask.document = w->limb_bytes;
    if (w->words_file)
        SF_TRY(sf_file_read(w->words_file, SF_DOC_MAX_BYTES, &w->words_bytes, &w->ask.words_size, err));
    if (w->store)
        SF_TRY(name_shop(w, err));
    if (!w->words_bytes)
        return SF_OK;
    w->ask.words_document = w->words_bytes;
    SF_TRY(sf_report_words_parse(&w->words, w->words_file ? w->words_file : w->store, (const char *)w->words_bytes,
                                 w->ask.words_size, err));
    w->ask.words = &w->words;
    return SF_OK;
}

static sf_Status run(Work *w, sf_Error *err)
{
    SF_TRY(read_files(w, err));
    SF_TRY(sf_result_begin(&w->result, err));
    sf_result_input(&w->result, w->ask.document, w->ask.document_size);
    if (w->ask.words_document)
        sf_result_input(&w->result, w->ask.words_document, w->ask.words_size);
    w->ask.kind = (sf_ReportKind)w->kind;
    w->ask.paper = (sf_ReportPaper)w->paper;
    w->ask.inch = w->units == 1;
    w->ask.page = (size_t)w->page;
    SF_TRY(sf_report_make(&w->report, &w->result, w->limb, &w->ask, err));
    SF_TRY(sf_file_write(w->out, w->report.bytes, w->report.size, err));
    sf_json_set_text(w->result.json, "file", w->out);
    sf_Json *json = sf_result_finish(&w->result, NULL);
    return w->arguments.json ? sf_command_print_json(&json, err) : sf_result_print(&json, err);
}

sf_Status sf_report_command(int argc, char **argv, int first, sf_Error *err)
{
    Work w = { .page = 1, .words = sf_report_words_none() };
    sf_Status status = read_arguments(&w, argc, argv, first, err);
    if (status == SF_OK && !w.arguments.help)
        status = run(&w, err);
    sf_report_free(&w.report);
    sf_result_drop(&w.result);
    sf_report_words_free(&w.words);
    sf_limb_destroy(&w.limb);
    sf_free(w.limb_bytes);
    sf_free(w.words_bytes);
    return status;
}
