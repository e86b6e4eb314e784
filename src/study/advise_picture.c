// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/advise_picture.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/advice_sheet.h"
#include "study/advise_study.h"
#include "study/limb_body.h"
#include "study/result.h"
#include "study/trials.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LONG = 8192, LINE = 240, DIGITS = 12 };

// What is drawn tells the same as the result: its words are read back from the result's own document.
typedef struct Gathering {
    sf_Json *json;
    char *result;
    sf_Doc *doc;
    sf_Trials trials;
    const sf_Limb *told; // the limb that was given, or NULL
    sf_Limb bare;        // else one that holds what trials tell
    sf_LimbBody body;
    sf_StanceCurves before, after;
    sf_AdviceSheet sheet;
    char headline[LINE], figures[LINE], program[64], assumed[LINE];
    char said[LONG], others[SF_ADVICE_MOST_OTHERS][LINE + 200];
} Gathering;

static const char *text_at(sf_DocNode object, const char *key)
{
    const char *text = "";
    sf_doc_text(sf_doc_member(object, key), LONG, &text);
    return text;
}

static double number_at(sf_DocNode object, const char *key)
{
    double value = NAN;
    sf_doc_number(sf_doc_member(object, key), -1e9, 1e9, &value);
    return value;
}

static bool flag_at(sf_DocNode object, const char *key)
{
    bool value = false;
    sf_doc_flag(sf_doc_member(object, key), &value);
    return value;
}

static void add_text(Gathering *g, const char *name, const char *text)
{
    if (*text && g->sheet.text_count < SF_ADVICE_SHEET_TEXTS)
        g->sheet.texts[g->sheet.text_count++] = (sf_AdviceText){ name, text };
}

static const char *sign_unit(sf_DocNode step)
{
    return strcmp(text_at(step, "unit"), "deg") == 0 ? "\u00b0" : " mm";
}

static void name_step(char *text, size_t room, sf_DocNode step)
{
    snprintf(text, room, "%s %g%s", text_at(step, "words"), round(100 * fabs(number_at(step, "change"))) / 100,
             sign_unit(step));
}

// ---- words ---------------------------------------------------------------------------------------------------------

static const char *headline_of(const char *advice)
{
    static const char *const words[][2] = {
        { "walk-again", "walk once more as it is" },  { "check-first", "check first, change nothing" },
        { "fit-first", "put the fit right first" },   { "settled", "leave it so and settle it" },
        { "no-gain", "leave it and look elsewhere" }, { "lacking", "the adapter lacks the motion" },
    };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i][0], advice) == 0)
            return words[i][1];
    return advice;
}

// What was said after the walk before and what came of it.
static void gather_said(Gathering *g, sf_DocNode root)
{
    sf_DocNode list = sf_doc_member(root, "said_and_seen");
    size_t n = sf_doc_length(list);
    if (n == 0)
        return;
    sf_DocNode last = sf_doc_item(list, n - 1), said = sf_doc_member(last, "said"),
               true_node = sf_doc_member(last, "came_true");
    char step[LINE] = "no change";
    bool came = false;
    if (sf_doc_is_object(said))
        name_step(step, sizeof step, said);
    const char *outcome = !sf_doc_is_object(said)          ? ""
                          : !flag_at(last, "followed")     ? ". Something else was done"
                          : !sf_doc_flag(true_node, &came) ? ""
                          : came                           ? ". It came true"
                                                           : ". It did not come true";
    snprintf(g->said, sizeof g->said, "%s%s. Seen then: %.3000s.", step, outcome, text_at(last, "seen"));
    add_text(g, "Said before", g->said);
}

static void gather_words(Gathering *g, sf_DocNode root)
{
    sf_DocNode step = sf_doc_item(sf_doc_member(root, "next"), 0), list;
    bool change = sf_doc_is_object(step);
    add_text(g, "Why", change ? text_at(step, "why") : text_at(root, "stop_reason"));
    if (!change && !flag_at(root, "stop"))
        for (size_t i = 0; i < sf_doc_length(list = sf_doc_member(root, "notes")) && i < 1; i++) {
            const char *note = "";
            sf_doc_text(sf_doc_item(list, i), LONG, &note);
            add_text(g, "Why", note);
        }
    if (change)
        add_text(g, "Expect", text_at(step, "expects"));
    gather_said(g, root);
    list = sf_doc_member(root, "flags");
    for (size_t i = 0; i < sf_doc_length(list); i++)
        add_text(g, i ? NULL : "Look out", text_at(sf_doc_item(list, i), "text"));
    list = sf_doc_member(root, "exclude_first");
    for (size_t i = 0; i < sf_doc_length(list); i++)
        add_text(g, i ? NULL : "First look", text_at(sf_doc_item(list, i), "text"));
    list = sf_doc_member(root, "not_now");
    for (size_t i = 0; i < sf_doc_length(list) && i < SF_ADVICE_MOST_OTHERS; i++) {
        sf_DocNode other = sf_doc_item(list, i);
        name_step(g->others[i], LINE, other);
        size_t used = strlen(g->others[i]);
        snprintf(g->others[i] + used, sizeof g->others[i] - used, ": %.180s", text_at(other, "why_not"));
        add_text(g, i ? NULL : "Why not", g->others[i]);
    }
    list = sf_doc_member(root, "lacking");
    for (size_t i = 0; i < sf_doc_length(list); i++)
        add_text(g, i ? NULL : "Lacking", text_at(sf_doc_item(list, i), "text"));
}

static void gather_headline(Gathering *g, sf_DocNode root)
{
    sf_DocNode step = sf_doc_item(sf_doc_member(root, "next"), 0);
    g->sheet.stop = flag_at(root, "stop");
    if (!sf_doc_is_object(step)) {
        snprintf(g->headline, sizeof g->headline, "%s", headline_of(text_at(root, "advice")));
        return;
    }
    name_step(g->headline, sizeof g->headline, step);
    snprintf(g->figures, sizeof g->figures, "%s from %g to %g%s",
             sf_setting_words(sf_setting_find(text_at(step, "setting"))), round(100 * number_at(step, "from")) / 100,
             round(100 * number_at(step, "to")) / 100, sign_unit(step));
}

// ---- limb and brackets ---------------------------------------------------------------------------------------------

// Trials know little of the limb: what they tell is put into an otherwise empty document, the rest is assumed as for
// any limb that is hardly known.
static void gather_bare_body(Gathering *g)
{
    const sf_Trials *t = &g->trials;
    sf_shape_clear(&sf_limb_shape, &g->bare.data);
    g->bare.data.person = t->person;
    g->bare.data.adapter = t->adapter;
    g->bare.data.foot.length = t->set.foot_length;
    g->body = sf_limb_body(&g->bare);
    sf_LimbBody *b = &g->body;
    b->chain.socket_height = b->chain.cut_height + t->set.socket_over_clamp;
    b->pylon_top = b->chain.socket_height;
    b->knee_level = fmax(b->knee_level, b->chain.socket_height + 0.1);
    b->grip_depth = fmin(b->grip_depth, t->set.socket_over_clamp);
    b->known[SF_PART_FOOT] = t->foot_length_given;
    b->known[SF_PART_SOCKET] = b->known[SF_PART_PYLON] = t->socket_over_clamp_given;
}

static sf_Status gather_body(Gathering *g, sf_Error *err)
{
    sf_LimbSide side = g->trials.person.there ? g->trials.person.side : SF_LIMB_SIDE_NONE;
    if (g->told) {
        sf_LimbSide drawn = g->told->data.person.side;
        if (side != SF_LIMB_SIDE_NONE && side != drawn)
            return SF_FAIL(
                err, SF_E_INPUT, "person.side",
                "the walks are of a %s limb and the limb file is of a %s one: name the one that was walked on",
                side == SF_LIMB_SIDE_LEFT ? "left" : "right", drawn == SF_LIMB_SIDE_LEFT ? "left" : "right");
        g->body = sf_limb_body(g->told);
    } else {
        gather_bare_body(g);
    }
    snprintf(g->assumed, sizeof g->assumed,
             "Pylon held, foot moved; dashed: size assumed%s. Bars: where the wanted setting lies, walk by walk; full "
             "mark: now, "
             "open mark: next.",
             !g->told && side == SF_LIMB_SIDE_NONE ? ", side not told" : "");
    return SF_OK;
}

static void gather_views(Gathering *g, sf_DocNode root)
{
    sf_DocNode step = sf_doc_item(sf_doc_member(root, "next"), 0);
    g->before.settings = g->after.settings = g->trials.trials[g->trials.set.count - 1].after;
    g->sheet.views =
        (sf_LimbViews){ .body = &g->body, .after = &g->after, .held = &g->before.settings, .arrow = SF_SETTING_COUNT };
    if (!sf_doc_is_object(step))
        return;
    sf_Setting setting = sf_setting_find(text_at(step, "setting"));
    if (setting == SF_SETTING_COUNT)
        return;
    g->after.settings.value[setting] = number_at(step, "to") * sf_setting_factor(setting);
    g->sheet.views.before = &g->before;
    g->sheet.views.arrow = setting;
    g->sheet.views.arrow_sign = number_at(step, "change");
}

static sf_Status gather_bars(Gathering *g, sf_DocNode root, sf_Error *err)
{
    size_t count = g->trials.set.count, rows = count < SF_BRACKET_ROWS ? count : SF_BRACKET_ROWS;
    sf_DocNode brackets = sf_doc_member(root, "brackets");
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        sf_DocNode b = sf_doc_member(brackets, sf_setting_key((sf_Setting)i));
        g->sheet.bars[i] = (sf_BracketBars){ .setting = (sf_Setting)i,
                                             .count = rows,
                                             .first_walk = count - rows + 1,
                                             .now = number_at(b, "now"),
                                             .to = NAN,
                                             .resolution = number_at(b, "resolution"),
                                             .lacking = !flag_at(b, "adapter_moves_it"),
                                             .contradiction = flag_at(b, "contradiction") };
    }
    if (g->sheet.views.arrow != SF_SETTING_COUNT) {
        sf_Setting s = g->sheet.views.arrow;
        g->sheet.bars[s].to = g->after.settings.value[s] / sf_setting_factor(s);
    }
    for (size_t row = 0; row < rows; row++) {
        sf_TrialSet part = g->trials.set;
        sf_Advice advice;
        part.count = count - rows + 1 + row;
        SF_TRY(sf_advice_make(&advice, &part, &g->trials.table, err));
        for (int i = 0; i < SF_SETTING_COUNT; i++) {
            g->sheet.bars[i].low[row] = advice.brackets[i].low;
            g->sheet.bars[i].high[row] = advice.brackets[i].high;
        }
        sf_advice_free(&advice);
    }
    return SF_OK;
}

static sf_Status gather(Gathering *g, const char *name, const char *text, size_t length, sf_Error *err)
{
    SF_TRY(sf_advise_study(&g->json, name, text, length, err));
    SF_TRY(sf_json_text(g->json, DIGITS, &g->result, err));
    SF_TRY(sf_doc_parse(&g->doc, "result", g->result, strlen(g->result), err));
    SF_TRY(sf_trials_read(&g->trials, name, text, length, err));
    sf_DocNode root = sf_doc_root(g->doc);
    snprintf(g->program, sizeof g->program, "standfast %s", sf_version());
    const char *label = g->trials.person.there ? g->trials.person.label : NULL;
    g->sheet = (sf_AdviceSheet){ .label = label ? label : "",
                                 .program = g->program,
                                 .safety = sf_safety_sentence(),
                                 .walks = g->trials.set.count,
                                 .headline = g->headline,
                                 .figures = g->figures,
                                 .assumed = g->assumed };
    gather_headline(g, root);
    gather_words(g, root);
    SF_TRY(gather_body(g, err));
    gather_views(g, root);
    return gather_bars(g, root, err);
}

sf_Status sf_advise_picture_paint(sf_Sheet *sheet, const char *name, const char *text, size_t length,
                                  const sf_Limb *limb, sf_Error *err)
{
    sf_Status status;
    Gathering *g = sf_alloc(1, sizeof *g);
    if (!g)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing advice");
    g->told = limb;
    SF_TRY_DONE(gather(g, name, text, length, err));
    SF_TRY_DONE(sf_advice_sheet_paint(sheet, &g->sheet, err));
done:
    sf_trials_free(&g->trials);
    sf_doc_destroy(&g->doc);
    sf_free(g->result);
    sf_json_destroy(&g->json);
    sf_free(g);
    return status;
}

sf_Status sf_advise_picture(unsigned char **bytes, size_t *size, const char *name, const char *text, size_t length,
                            const sf_Limb *limb, sf_SheetKind kind, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_advise_picture_paint(sheet, name, text, length, limb, err));
    return sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}
