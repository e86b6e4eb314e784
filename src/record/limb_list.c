// SPDX-License-Identifier: GPL-3.0-or-later
// Lists of limbs and search among them; see record/limb_record.h.
#include "base/date.h"
#include "record/limb_row.h"
#include "record/sealed.h"
#include "record/search_word.h"

#include <inttypes.h>
#include <string.h>

enum { PAGE_MOST = 1000, SQL_BYTES = 8192, TERMS_MOST = 6, RARE = 1000, FREQUENT = 20000, GLANCE = 5000 };

/// After every sign of UTF-8 in the order of bytes: the end of all words with a beginning.
#define LAST_SIGN "\xF4\x8F\xBF\xBF"

typedef struct Term {
    const char *first, *past; ///< words from `first` up to before `past`
    int64_t found;            ///< how many words of limbs, counted up to `rare` + 1
} Term;

typedef struct Asked {
    sf_Transaction *t;
    sf_Text sql;
    sf_Value values[SF_DATABASE_PARAMETERS_MOST];
    size_t count;
    Term terms[TERMS_MOST];
    size_t term_count;
    int64_t id;    ///< "#17" was typed; 0: not
    int64_t rare;  ///< a word that is found more often does not lead
    int64_t above; ///< only limbs with a greater id are looked at; 0: all
} Asked;

/// The number of a new parameter with this value.
static size_t parameter(Asked *asked, sf_Value value)
{
    asked->values[asked->count++] = value;
    return asked->count;
}

static sf_Status out_of_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

/// Splits what was typed into beginnings of words and counts each, so that the rarest can lead.
static sf_Status read_search(Asked *asked, const char *search, sf_Error *err)
{
    sf_Transaction *t = asked->t;
    sf_SearchWords words = { .count = 0 };
    const char *typed = search + strspn(search, " ");
    if (*typed == '#') {
        size_t digits = strspn(typed + 1, "0123456789");
        for (size_t i = 1; i <= digits && i <= 18; i++)
            asked->id = asked->id * 10 + (typed[i] - '0');
        typed += 1 + digits;
    }
    sf_search_words_add(&words, typed);
    for (size_t i = 0; i < words.count && asked->term_count < TERMS_MOST; i++) {
        Term *term = &asked->terms[asked->term_count++];
        term->first = sf_arena_text(t->arena, words.word[i]);
        term->past = sf_arena_format(t->arena, "%s" LAST_SIGN, words.word[i]);
        if (!term->first || !term->past)
            return out_of_memory(err);
        sf_Rows rows;
        SF_TRY(sf_transaction_query(t,
                                    "SELECT count(*) FROM (SELECT 1 FROM limb_word WHERE word >= $1 AND word < $2"
                                    " LIMIT $3) found",
                                    SF_BIND(sf_words(term->first), sf_words(term->past), sf_whole(asked->rare + 1)),
                                    &rows, err));
        term->found = sf_cell_whole(&rows, 0, 0);
    }
    return SF_OK;
}

static const Term *leading(const Asked *asked)
{
    const Term *rarest = NULL;
    for (const Term *term = asked->terms; term < asked->terms + asked->term_count; term++) {
        if (term->found <= asked->rare && (!rarest || term->found < rarest->found))
            rarest = term;
    }
    return rarest;
}

/// The place to start from: the few limbs with a rare word, or all limbs in the order of the list.
static void add_source(Asked *asked)
{
    const Term *rarest = leading(asked);
    sf_text_add(&asked->sql, SF_LIMB_SELECT " FROM ");
    if (rarest) {
        size_t first = parameter(asked, sf_words(rarest->first)), past = parameter(asked, sf_words(rarest->past));
        sf_text_format(&asked->sql,
                       "(SELECT DISTINCT limb FROM limb_word WHERE word >= $%zu AND word < $%zu) few CROSS JOIN limb l"
                       " WHERE l.id = few.limb",
                       first, past);
    } else {
        sf_text_add(&asked->sql, "limb l WHERE 1 = 1");
    }
    for (Term *term = asked->terms; term < asked->terms + asked->term_count; term++) {
        if (term == rarest)
            continue;
        size_t first = parameter(asked, sf_words(term->first)), past = parameter(asked, sf_words(term->past));
        sf_text_format(
            &asked->sql,
            " AND EXISTS (SELECT 1 FROM limb_word w WHERE w.limb = l.id AND w.word >= $%zu AND w.word < $%zu)", first,
            past);
    }
}

static sf_Status add_conditions(Asked *asked, const sf_LimbAsk *ask, sf_Error *err)
{
    sf_Text *sql = &asked->sql;
    if (asked->id)
        sf_text_format(sql, " AND l.id = $%zu", parameter(asked, sf_whole(asked->id)));
    if (ask->sheet_lot)
        sf_text_format(sql, " AND l.sheet_lot = $%zu", parameter(asked, sf_words(ask->sheet_lot)));
    if (ask->stage)
        sf_text_format(sql, " AND l.stage = $%zu", parameter(asked, sf_words(ask->stage)));
    if (ask->wearer)
        sf_text_format(sql, " AND l.wearer = $%zu", parameter(asked, sf_whole(ask->wearer)));
    if (ask->flag) {
        const char *word = sf_arena_format(asked->t->arena, "=%s", ask->flag);
        if (!word)
            return out_of_memory(err);
        sf_text_format(sql, " AND EXISTS (SELECT 1 FROM limb_word w WHERE w.limb = l.id AND w.word = $%zu)",
                       parameter(asked, sf_words(word)));
    }
    if (asked->above > 0)
        sf_text_format(sql, " AND l.id > $%zu", parameter(asked, sf_whole(asked->above)));
    if (ask->due_until)
        sf_text_format(sql, " AND l.next_due <= $%zu", parameter(asked, sf_words(ask->due_until)));
    if (ask->order == SF_LIMB_NEXT_DUE)
        sf_text_add(sql, " AND l.next_due IS NOT NULL");
    return SF_OK;
}

/// "2026-12-09/17" or "17": the last row of the page before.
static sf_Status read_cursor(sf_Transaction *t, const char *cursor, bool dated, const char **date, int64_t *id,
                             sf_Error *err)
{
    const char *slash = strrchr(cursor, '/');
    const char *number = slash ? slash + 1 : cursor;
    size_t digits = strspn(number, "0123456789");
    SF_TRY(sf_record_check_text(cursor, "after", 1, 64, err));
    if (dated != (slash != NULL) || digits == 0 || digits > 18 || number[digits])
        return SF_FAIL(err, SF_E_INPUT, "after", "this is no place in the list: start from its beginning");
    *id = 0;
    for (size_t i = 0; i < digits; i++)
        *id = *id * 10 + (number[i] - '0');
    if (dated) {
        char *copy = sf_arena_text(t->arena, cursor);
        if (!copy)
            return out_of_memory(err);
        copy[slash - cursor] = 0;
        *date = copy;
    }
    return SF_OK;
}

static sf_Status add_place(Asked *asked, const sf_LimbAsk *ask, sf_Error *err)
{
    const char *date = NULL;
    int64_t id = 0;
    if (!ask->after)
        return SF_OK;
    SF_TRY(read_cursor(asked->t, ask->after, ask->order != SF_LIMB_NEWEST, &date, &id, err));
    if (ask->order == SF_LIMB_NEWEST) {
        sf_text_format(&asked->sql, " AND l.id < $%zu", parameter(asked, sf_whole(id)));
        return SF_OK;
    }
    size_t date_at = parameter(asked, sf_words(date)), id_at = parameter(asked, sf_whole(id));
    bool due = ask->order == SF_LIMB_NEXT_DUE;
    sf_text_format(&asked->sql, " AND (l.%s, l.id) %s ($%zu, $%zu)", due ? "next_due" : "changed_at", due ? ">" : "<",
                   date_at, id_at);
    return SF_OK;
}

static sf_Status build(Asked *asked, const sf_LimbAsk *ask, size_t count, sf_Error *err)
{
    static const char *const orders[] = { "l.id DESC", "l.next_due, l.id", "l.changed_at DESC, l.id DESC" };
    add_source(asked);
    SF_TRY(add_conditions(asked, ask, err));
    SF_TRY(add_place(asked, ask, err));
    size_t most = parameter(asked, sf_whole((int64_t)count + 1)); // one more tells whether there is a next page
    sf_text_format(&asked->sql, " ORDER BY %s LIMIT $%zu", orders[ask->order], most);
    return asked->sql.broken ? out_of_memory(err) : SF_OK;
}

static sf_Status run(sf_Transaction *t, const sf_LimbAsk *ask, size_t page, int64_t rare, int64_t above, sf_Rows *rows,
                     bool *led, sf_Error *err)
{
    Asked asked = { .t = t, .sql = sf_text_make(SQL_BYTES), .rare = rare, .above = above };
    sf_Status status = ask->search ? read_search(&asked, ask->search, err) : SF_OK;
    *led = leading(&asked) || asked.term_count < 2;
    if (status == SF_OK && !*led && above == 0 && rare == RARE) {
        sf_text_free(&asked.sql);
        return SF_OK; // nothing was asked yet: the caller glances first
    }
    if (status == SF_OK)
        status = build(&asked, ask, page, err);
    if (status == SF_OK)
        status = sf_transaction_query(t, asked.sql.data, asked.values, asked.count, rows, err);
    sf_text_free(&asked.sql);
    return status;
}

/// Several words that are all frequent: a page is mostly full after a glance at the newest limbs. If it is not, the one
/// that is found least leads, because they may never come together.
static sf_Status search(sf_Transaction *t, const sf_LimbAsk *ask, size_t page, sf_Rows *rows, sf_Error *err)
{
    bool led = false;
    const char *date = NULL;
    int64_t from = 0;
    SF_TRY(run(t, ask, page, RARE, 0, rows, &led, err));
    if (led)
        return SF_OK;
    if (ask->order == SF_LIMB_NEWEST) {
        if (ask->after)
            SF_TRY(read_cursor(t, ask->after, false, &date, &from, err));
        else
            SF_TRY(sf_next_id(t, "limb", &from, err));
        SF_TRY(run(t, ask, page, RARE, from > GLANCE ? from - GLANCE : -1, rows, &led, err));
        if (rows->count > page || from <= GLANCE)
            return SF_OK;
    }
    return run(t, ask, page, FREQUENT, 0, rows, &led, err);
}

static const char *cursor_of(sf_Arena *arena, sf_LimbOrder order, const sf_LimbRow *row)
{
    if (order == SF_LIMB_NEWEST)
        return sf_arena_format(arena, "%" PRId64, row->id);
    return sf_arena_format(arena, "%s/%" PRId64, order == SF_LIMB_NEXT_DUE ? row->head.next_due : row->changed_at,
                           row->id);
}

static sf_Status check_ask(const sf_LimbAsk *ask, sf_Error *err)
{
    SF_TRY(sf_record_check_text(ask->search, "search", 0, 200, err));
    SF_TRY(sf_record_check_text(ask->sheet_lot, "sheet_lot", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(ask->stage, "stage", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(ask->flag, "flag", 0, 40, err));
    sf_Date until;
    return ask->due_until ? sf_date_parse(&until, ask->due_until, "due_until", err) : SF_OK;
}

sf_Status sf_limb_record_list(sf_Transaction *t, const sf_LimbAsk *ask, sf_LimbRow **list, size_t *count,
                              const char **next, sf_Error *err)
{
    size_t page = ask->count < 1 ? 1 : ask->count > PAGE_MOST ? PAGE_MOST : ask->count;
    SF_TRY(check_ask(ask, err));
    sf_Rows rows = { 0 };
    SF_TRY(search(t, ask, page, &rows, err));
    sf_LimbRow *found = sf_arena_alloc(t->arena, rows.count, sizeof *found);
    if (!found)
        return out_of_memory(err);
    *count = rows.count > page ? page : rows.count;
    for (size_t i = 0; i < *count; i++)
        found[i] = sf_limb_row_of(&rows, i);
    *list = found;
    const char *cursor = rows.count > page ? cursor_of(t->arena, ask->order, &found[page - 1]) : NULL;
    if (rows.count > page && !cursor)
        return out_of_memory(err);
    *next = cursor; // last: it may be ask->after itself
    return SF_OK;
}
