// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L
// What is due in the shop: a child's growth beside inspections, held in the list and not worked out at every look. The
// store is a real one in a temporary folder; people, limbs and readings are invented.
#include "study/growth_study.h"
#include "study/limb_case.h"

#include "base/alloc.h"
#include "base/date.h"
#include "base/file.h"
#include "harness/tap.h"
#include "limb/limb.h"
#include "record/wearer.h"
#include "study/limb_removal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct Room {
    char folder[64], place[96];
    sf_Store *store;
    sf_StageTable *table;
    long days; ///< of the store's clock since 2026-07-06
    int64_t person, limb;
    sf_Error err;
} Room;

static void clock_of(void *context, char text[SF_TIME_TEXT])
{
    const Room *room = context;
    char day[SF_DATE_TEXT];
    sf_date_format(sf_date_from_days(sf_date_days((sf_Date){ 2026, 7, 6 }) + room->days), day);
    snprintf(text, SF_TIME_TEXT, "%.10sT09:00:00.000Z", day);
}

static char *example(const char *name)
{
    char path[500];
    unsigned char *bytes = NULL;
    size_t size = 0;
    snprintf(path, sizeof path, "%s/data/examples/%s.json", getenv("TAP_ROOT"), name);
    TAP_OK(sf_file_read(path, 1 << 20, &bytes, &size, NULL));
    return (char *)bytes;
}

static void open_room(Room *room, const char *name)
{
    sf_Transaction *t = NULL;
    sf_Person person = { .name = "Invented Licensed", .initials = "IL", .license = "invented 1", .active = true };
    *room = (Room){ .folder = "/tmp/standfast-due-XXXXXX" };
    if (!mkdtemp(room->folder))
        abort();
    snprintf(room->place, sizeof room->place, "%s/shop.sqlite", room->folder);
    TAP_OK(sf_stage_table_load(&room->table, &room->err));
    TAP_OK(sf_store_open(&room->store, room->place, NULL, SF_STORE_MAKE, &room->err));
    sf_store_set_clock(room->store, clock_of, room);
    TAP_OK(sf_transaction_write(&t, room->store, 0, &room->err));
    person.role = SF_ROLE_PROSTHETIST;
    TAP_OK(sf_person_add(t, &person, &room->person, &room->err));
    TAP_OK(sf_transaction_commit(t, &room->err));
    sf_transaction_end(&t);
    char *document = example(name);
    TAP_OK(sf_transaction_write(&t, room->store, room->person, &room->err));
    TAP_OK(sf_limb_case_add(t, room->table, 0, document, strlen(document), &room->limb, &room->err));
    TAP_OK(sf_transaction_commit(t, &room->err));
    sf_transaction_end(&t);
    sf_free(document);
}

static void shut_room(Room *room)
{
    char command[200];
    sf_store_close(&room->store);
    sf_stage_table_destroy(&room->table);
    snprintf(command, sizeof command, "rm -r '%s'", room->folder);
    TAP_TRUE(system(command) == 0);
}

static void say(Room *room, const char *kind, const char *body)
{
    sf_Transaction *t = NULL;
    sf_Doc *doc = NULL;
    sf_CaseRecorded recorded;
    TAP_OK(sf_doc_parse(&doc, "body", body, strlen(body), &room->err));
    TAP_OK(sf_transaction_write(&t, room->store, room->person, &room->err));
    sf_CaseFact fact = { .limb = room->limb, .kind = kind, .body = sf_doc_root(doc), .signs = true };
    TAP_OK(sf_limb_case_record(t, room->table, &fact, &recorded, &room->err));
    TAP_OK(sf_transaction_commit(t, &room->err));
    sf_transaction_end(&t);
    sf_doc_destroy(&doc);
}

/// What the shop has due on a day, as "what date|what date|"; static storage.
static const char *due_on(Room *room, const char *day)
{
    static char text[1000];
    sf_Transaction *t = NULL;
    sf_Json *json = NULL;
    sf_Doc *doc = NULL;
    char *written = NULL;
    TAP_OK(sf_transaction_read(&t, room->store, &room->err));
    TAP_OK(sf_limb_case_shop(t, day, &json, &room->err));
    TAP_OK(sf_json_text(json, 10, &written, &room->err));
    TAP_OK(sf_doc_parse(&doc, "shop", written, strlen(written), &room->err));
    sf_DocNode list = sf_doc_member(sf_doc_root(doc), "due");
    text[0] = '\0';
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        const char *what = "?", *date = "?";
        bool overdue = false;
        sf_doc_text(sf_doc_member(sf_doc_item(list, i), "what"), 100, &what);
        sf_doc_text(sf_doc_member(sf_doc_item(list, i), "date"), 100, &date);
        sf_doc_flag(sf_doc_member(sf_doc_item(list, i), "overdue"), &overdue);
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s %s%s|", what, date, overdue ? " overdue" : "");
    }
    sf_doc_destroy(&doc);
    sf_free(written);
    sf_json_destroy(&json);
    sf_transaction_end(&t);
    return text;
}

/// The days that the whole growth study gives for the stored document, asked on `as_of`.
static void forecast(Room *room, const char *as_of, char days[SF_GROWTH_STEPS][SF_DATE_TEXT])
{
    sf_Transaction *t = NULL;
    const char *text;
    char *written = NULL;
    sf_Limb *limb = NULL;
    sf_Result result;
    sf_Doc *doc = NULL;
    sf_GrowthAsk ask = SF_GROWTH_ASK_DEFAULT;
    ask.as_of = as_of;
    TAP_OK(sf_transaction_read(&t, room->store, &room->err));
    TAP_OK(sf_limb_record_document(t, room->limb, 0, &text, &room->err));
    TAP_OK(sf_limb_parse(&limb, "document", text, strlen(text), &room->err));
    TAP_OK(sf_result_begin(&result, &room->err));
    TAP_OK(sf_growth_study(&result, limb, &ask, &room->err));
    sf_Json *json = sf_result_finish(&result, NULL);
    TAP_OK(sf_json_text(json, 10, &written, &room->err));
    TAP_OK(sf_doc_parse(&doc, "growth", written, strlen(written), &room->err));
    for (int i = 0; i < SF_GROWTH_STEPS; i++) {
        const char *date = "none";
        sf_DocNode due = sf_doc_member(sf_doc_root(doc), "due");
        sf_doc_text(sf_doc_member(sf_doc_member(due, sf_growth_step_names[i]), "date"), 20, &date);
        snprintf(days[i], SF_DATE_TEXT, "%s", date);
    }
    sf_doc_destroy(&doc);
    sf_free(written);
    sf_json_destroy(&json);
    sf_limb_destroy(&limb);
    sf_transaction_end(&t);
}

static const char *after(const char *day, int days)
{
    static char text[SF_DATE_TEXT];
    sf_Date date = { 0 };
    TAP_OK(sf_date_parse(&date, day, "day", NULL));
    sf_date_format(sf_date_from_days(sf_date_days(date) + days), text);
    return text;
}

static const char *line(const char *step, const char *day, const char *overdue)
{
    static char text[100];
    snprintf(text, sizeof text, "length: %s %s%s|", step, day, overdue);
    return text;
}

TAP_CASE(a_child_is_due_when_the_forecast_says_so)
{
    Room room;
    char days[SF_GROWTH_STEPS][SF_DATE_TEXT];
    open_room(&room, "child");
    forecast(&room, "2026-07-04", days); // the day of its newest reading, a levelling block
    TAP_TRUE(strcmp(days[0], days[1]) < 0 && strcmp(days[1], days[2]) < 0, "%s %s %s", days[0], days[1], days[2]);
    TAP_TEXT(due_on(&room, after(days[0], -1)), "");
    TAP_TEXT(due_on(&room, days[0]), line("remind", days[0], ""));
    TAP_TEXT(due_on(&room, after(days[1], -1)), line("remind", days[0], " overdue"));
    TAP_TEXT(due_on(&room, days[1]), line("warn", days[1], ""));
    TAP_TEXT(due_on(&room, after(days[2], 400)), line("alarm", days[2], " overdue"));
    shut_room(&room);
}

TAP_CASE(the_same_readings_keep_their_days_whenever_something_is_written)
{
    Room room;
    char days[SF_GROWTH_STEPS][SF_DATE_TEXT];
    open_room(&room, "child");
    forecast(&room, "2026-07-04", days);
    room.days = 500;
    say(&room, "note", "{\"text\":\"invented\"}");
    TAP_TEXT(due_on(&room, days[2]), line("alarm", days[2], ""));
    shut_room(&room);
}

TAP_CASE(a_new_reading_moves_the_day)
{
    Room room;
    char before[SF_GROWTH_STEPS][SF_DATE_TEXT], now[SF_GROWTH_STEPS][SF_DATE_TEXT];
    open_room(&room, "child");
    forecast(&room, "2026-07-04", before);
    room.days = 200; // 2027-01-22
    say(&room, "growth-reading",
        "{\"date\":\"2027-01-20\",\"knee_height_mm\":371,\"landmark\":\"medial-tibial-plateau\"}");
    forecast(&room, "2027-01-20", now);
    TAP_TRUE(strcmp(before[2], now[2]) < 0, "a child that grew less than forecast is due later: %s, then %s", before[2],
             now[2]);
    TAP_TEXT(due_on(&room, now[2]), line("alarm", now[2], ""));
    shut_room(&room);
}

TAP_CASE(a_retired_limb_is_due_for_nothing)
{
    Room room;
    open_room(&room, "child");
    TAP_TRUE(strncmp(due_on(&room, "2029-01-01"), "length: alarm", 13) == 0);
    say(&room, "retired", "{\"reason\":\"outgrown\"}");
    TAP_TEXT(due_on(&room, "2029-01-01"), "");
    shut_room(&room);
}

TAP_CASE(an_adult_grows_no_more)
{
    Room room;
    open_room(&room, "adult");
    TAP_TEXT(due_on(&room, "2036-01-01"), "");
    shut_room(&room);
}

TAP_CASE(nothing_of_it_stays_when_the_data_are_removed)
{
    Room room;
    sf_Transaction *t = NULL;
    sf_LimbRow row;
    open_room(&room, "child");
    TAP_OK(sf_transaction_write(&t, room.store, room.person, &room.err));
    TAP_OK(sf_limb_record_get(t, room.limb, &row, &room.err));
    TAP_TRUE(row.head.dues != NULL, "held before");
    TAP_OK(sf_limb_removal(t, room.table, row.wearer, &room.err));
    TAP_OK(sf_limb_record_get(t, room.limb, &row, &room.err));
    TAP_TRUE(row.head.dues == NULL, "still there: %s", row.head.dues ? row.head.dues : "");
    TAP_OK(sf_transaction_commit(t, &room.err));
    sf_transaction_end(&t);
    TAP_TEXT(due_on(&room, "2029-01-01"), "");
    shut_room(&room);
}

TAP_MAIN(TAP_RUN(a_child_is_due_when_the_forecast_says_so),
         TAP_RUN(the_same_readings_keep_their_days_whenever_something_is_written), TAP_RUN(a_new_reading_moves_the_day),
         TAP_RUN(a_retired_limb_is_due_for_nothing), TAP_RUN(an_adult_grows_no_more),
         TAP_RUN(nothing_of_it_stays_when_the_data_are_removed))
