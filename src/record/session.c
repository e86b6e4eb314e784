// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/session.h"

#include "record/sealed.h"

#include <string.h>

enum { ANSWER_MOST = 16 * 1024 * 1024, DEVICE_MOST = 300, REQUEST_MOST = 200 };

sf_Status sf_session_keep(sf_Transaction *t, const sf_Session *session, sf_Error *err)
{
    SF_TRY(sf_record_check_text(session->token_hash, "token", 64, 64, err));
    SF_TRY(sf_record_check_text(session->csrf, "csrf", 1, 128, err));
    SF_TRY(sf_record_check_text(session->device, "device", 0, DEVICE_MOST, err));
    const char *made_at = session->made_at ? session->made_at : t->time;
    if (!sf_time_is_good(session->expires_at) || !sf_time_is_good(made_at))
        return SF_FAIL(err, SF_E_INPUT, "expires_at", "that is no time");
    const sf_Value row[] = { sf_words(session->token_hash), sf_whole(session->person),
                             sf_words(session->csrf),       sf_words(made_at),
                             sf_words(session->expires_at), sf_words(session->device) };
    return sf_working_keep(t, SF_WORKING_SESSION, row, sizeof row / sizeof *row, err);
}

static sf_Session session_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    return (sf_Session){ cell[0].text, cell[1].whole, cell[2].text, cell[3].text, cell[4].text, cell[5].text };
}

sf_Status sf_session_find(sf_Transaction *t, const char *token_hash, sf_Session *session, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t,
                                "SELECT token_hash, person, csrf, made_at, expires_at, device FROM session"
                                " WHERE token_hash = $1 AND expires_at > $2",
                                SF_BIND(sf_words(token_hash), sf_words(t->time)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, NULL, "sign in again: the session is over");
    *session = session_of(&rows, 0);
    return SF_OK;
}

sf_Status sf_session_list(sf_Transaction *t, int64_t person, sf_Session **sessions, size_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t,
                                "SELECT token_hash, person, csrf, made_at, expires_at, device FROM session"
                                " WHERE person = $1 ORDER BY made_at, token_hash",
                                SF_BIND(sf_whole(person)), &rows, err));
    sf_Session *list = sf_arena_alloc(t->arena, rows.count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows.count; i++)
        list[i] = session_of(&rows, i);
    *sessions = list;
    *count = rows.count;
    return SF_OK;
}

sf_Status sf_session_remove(sf_Transaction *t, const char *token_hash, sf_Error *err)
{
    return sf_transaction_query(t, "DELETE FROM session WHERE token_hash = $1", SF_BIND(sf_words(token_hash)), NULL,
                                err);
}

sf_Status sf_session_remove_all(sf_Transaction *t, int64_t person, sf_Error *err)
{
    return sf_transaction_query(t, "DELETE FROM session WHERE person = $1", SF_BIND(sf_whole(person)), NULL, err);
}

sf_Status sf_repeat_find(sf_Transaction *t, int64_t person, const char *key, const char *request, sf_KeptAnswer *answer,
                         sf_Error *err)
{
    sf_Rows rows;
    *answer = (sf_KeptAnswer){ 0, NULL };
    SF_TRY(sf_record_check_text(key, "Idempotency-Key", 1, SF_REPEAT_KEY_MOST, err));
    SF_TRY(sf_transaction_query(t, "SELECT request, status, answer FROM repeat_key WHERE person = $1 AND key = $2",
                                SF_BIND(sf_whole(person), sf_words(key)), &rows, err));
    if (rows.count == 0)
        return SF_OK;
    if (strcmp(sf_cell_text(&rows, 0, 0), request) != 0)
        return SF_FAIL(err, SF_E_CONFLICT, "Idempotency-Key", "this key was used for another request: make a new one");
    answer->status = sf_cell_whole(&rows, 0, 1);
    answer->text = sf_cell_text(&rows, 0, 2);
    if (!answer->text)
        answer->text = "";
    return SF_OK;
}

sf_Status sf_repeat_keep(sf_Transaction *t, int64_t person, const char *key, const char *request,
                         const sf_KeptAnswer *answer, sf_Error *err)
{
    SF_TRY(sf_record_check_text(key, "Idempotency-Key", 1, SF_REPEAT_KEY_MOST, err));
    SF_TRY(sf_record_check_text(request, "request", 1, REQUEST_MOST, err));
    SF_TRY(sf_record_check_text(answer->text, "answer", 0, ANSWER_MOST, err));
    const sf_Value row[] = { sf_whole(person),         sf_words(key),          sf_words(request),
                             sf_whole(answer->status), sf_words(answer->text), sf_words(t->time) };
    return sf_working_keep(t, SF_WORKING_REPEAT_KEY, row, sizeof row / sizeof *row, err);
}

sf_Status sf_session_sweep(sf_Transaction *t, const char *answers_before, sf_Error *err)
{
    SF_TRY(
        sf_transaction_query(t, "DELETE FROM session WHERE expires_at <= $1", SF_BIND(sf_words(t->time)), NULL, err));
    return sf_transaction_query(t, "DELETE FROM repeat_key WHERE at < $1", SF_BIND(sf_words(answers_before)), NULL,
                                err);
}
