// SPDX-License-Identifier: GPL-3.0-or-later
#include "shop_rows.h"

#include "harness/tap.h"
#include "record/attachment.h"
#include "record/audit.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/people.h"
#include "record/session.h"
#include "record/wearer.h"
#include "seal/token.h"

#include <stdio.h>
#include <string.h>

static sf_Status add_people(sf_Transaction *t, ShopRows *rows, sf_Error *err)
{
    SF_TRY(sf_person_add(t,
                         &(sf_Person){ .name = "Ada Invented",
                                       .initials = "AI",
                                       .role = SF_ROLE_PROSTHETIST,
                                       .license = "invented 1",
                                       .password_hash = "no hash",
                                       .active = true },
                         &rows->people[0], err));
    SF_TRY(sf_person_add(
        t,
        &(sf_Person){
            .name = "Bo Invented", .initials = "BI", .role = SF_ROLE_TECHNICIAN, .inch = true, .active = true },
        &rows->people[1], err));
    SF_TRY(sf_person_set_failures(t, rows->people[1], 2, NULL, err));
    char token[SF_TOKEN_HEX], digest[SF_DIGEST_HEX];
    sf_token_make(token);
    sf_token_digest(token, digest);
    SF_TRY(sf_session_keep(t,
                           &(sf_Session){ .token_hash = digest,
                                          .person = rows->people[1],
                                          .csrf = "csrf",
                                          .expires_at = "2199-01-01T00:00:00.000Z",
                                          .device = "invented tablet" },
                           err));
    return sf_repeat_keep(t, rows->people[1], "key", "POST /limbs", &(sf_KeptAnswer){ 201, "{}" }, err);
}

static sf_Status add_limbs(sf_Transaction *t, ShopRows *rows, sf_Error *err)
{
    static const char *const labels[] = { "Nora (invented)", "\xC3\x89mile 'L' (invented)", "Otto \"X\" (invented)" };
    int64_t version;
    for (int i = 0; i < 3; i++)
        SF_TRY(sf_wearer_add(t, labels[i], &rows->wearers[i], err));
    for (int i = 0; i < 4; i++) {
        const sf_LimbHead head = { .label = labels[i % 3],
                                   .side = i % 2 ? "left" : "right",
                                   .sheet_lot = i < 2 ? "LOT-17" : "LOT-18",
                                   .stage = i == 3 ? NULL : "ring",
                                   .next_action = "scan the ring",
                                   .next_due = i == 0   ? "2026-12-09"
                                               : i == 1 ? "2026-11-30"
                                                        : NULL,
                                   .flags = i == 2 ? "cracked out-of-use" : NULL };
        SF_TRY(sf_limb_record_add(t, rows->wearers[i % 3], &head, "{ \"version\": 1 }", &rows->limbs[i], err));
        if (i == 1)
            SF_TRY(sf_limb_record_save(t, rows->limbs[i], 1, &head, "{ \"version\": 2 }", &version, err));
    }
    return SF_OK;
}

static sf_Status add_facts(sf_Transaction *t, sf_Store *store, ShopRows *rows, sf_Error *err)
{
    for (int i = 0; i < 7; i++) {
        char body[64];
        snprintf(body, sizeof body, "{ \"number\": %d }", i);
        SF_TRY(sf_fact_add(t,
                           &(sf_Fact){ .limb = rows->limbs[i % 4],
                                       .kind = i % 2 ? "ring" : "forming",
                                       .happened_at = "2026-11-20",
                                       .body = body },
                           &rows->facts[i], err));
    }
    rows->withdrawn = rows->facts[1];
    SF_TRY(sf_fact_add(t,
                       &(sf_Fact){ .limb = rows->limbs[1],
                                   .kind = "withdrawal",
                                   .happened_at = "2026-11-21T10:00:00.000Z",
                                   .body = "{ \"why\": \"other limb\" }",
                                   .withdraws = rows->withdrawn },
                       &rows->facts[7], err));
    for (int i = 0; i < 2; i++) {
        char bytes[3000];
        memset(bytes, 'a' + i, sizeof bytes);
        SF_TRY(sf_shelf_put(store, bytes, sizeof bytes, rows->pictures[i], err));
        SF_TRY(sf_attachment_add(t,
                                 &(sf_Attachment){ .limb = rows->limbs[i],
                                                   .fact = i ? 0 : rows->facts[0],
                                                   .file_hash = rows->pictures[i],
                                                   .name = i ? NULL : "ring.png",
                                                   .media_type = "image/png" },
                                 &rows->attachments[i], err));
    }
    return SF_OK;
}

sf_Status shop_rows_add(sf_Store *store, ShopRows *rows, sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_transaction_write(&t, store, 0, err));
    SF_TRY_DONE(add_people(t, rows, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    SF_TRY_DONE(sf_transaction_write(&t, store, rows->people[0], err));
    SF_TRY_DONE(add_limbs(t, rows, err));
    SF_TRY_DONE(add_facts(t, store, rows, err));
    SF_TRY_DONE(sf_audit_note(t, "sign-in", "person/1", 0, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    sf_transaction_end(&t);
    return status;
}
