// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/demo_shop_inside.h"

#include "base/alloc.h"
#include "base/date.h"
#include "record/letterhead.h"
#include "record/people.h"
#include "record/wearer.h"
#include "seal/password.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_VISITS = 800, OPENING_MINUTE = 7 * 60, MINUTES_OF_FACT = 4, WRITTEN_LATER = 45, MINUTES_OF_DAY = 1440 };

static const char PASSWORD[] = "invented-shop", PIN[] = "4711";

static const struct {
    const char *name, *initials, *license;
    sf_PersonRole role;
} staff[DEMO_STAFF] = {
    [DEMO_LICENSED] = { "Lia Invented", "LI", "invented licence 1", SF_ROLE_PROSTHETIST },
    [DEMO_PROSTHETIST] = { "Paul Invented", "PI", NULL, SF_ROLE_PROSTHETIST },
    [DEMO_TECHNICIAN] = { "Tess Invented", "TI", NULL, SF_ROLE_TECHNICIAN },
    [DEMO_OTHER_TECHNICIAN] = { "Toni Invented", "NI", NULL, SF_ROLE_TECHNICIAN },
    [DEMO_READER] = { "Rea Invented", "RI", NULL, SF_ROLE_READER },
    [DEMO_ADMIN] = { "Ada Invented", "AI", NULL, SF_ROLE_ADMIN },
};

const char *demo_staff_name(DemoWho who)
{
    return staff[who].name;
}

// ---- time -------------------------------------------------------------------------------------------------------

void demo_time(const Demo *demo, int later, char text[SF_TIME_TEXT])
{
    char day[SF_DATE_TEXT];
    unsigned minute = (unsigned)(demo->minute + later) % MINUTES_OF_DAY;
    sf_date_format(sf_date_from_days(demo->day), day);
    snprintf(text, SF_TIME_TEXT, "%.10sT%02u:%02u:00.000Z", day, minute / 60, minute % 60);
}

// Things are written down a while after they happened.
static void clock_of(void *context, char text[SF_TIME_TEXT])
{
    demo_time(context, WRITTEN_LATER, text);
}

// ---- writing ----------------------------------------------------------------------------------------------------

sf_Status demo_commit(Demo *demo)
{
    if (!demo->transaction)
        return SF_OK;
    sf_Status status = sf_transaction_commit(demo->transaction, demo->err);
    sf_transaction_end(&demo->transaction);
    return status;
}

// The visit's transaction is of one person: another one's word closes it.
static sf_Status act_as(Demo *demo, DemoWho who)
{
    if (demo->transaction && demo->actor == who)
        return SF_OK;
    SF_TRY(demo_commit(demo));
    demo->actor = who;
    return sf_transaction_write(&demo->transaction, demo->store, demo->staff[who], demo->err);
}

static sf_Status parse_body(sf_Doc **body, const char *format, va_list list, sf_Error *err)
{
    char text[DEMO_LINE];
    int length = vsnprintf(text, sizeof text, format, list);
    if (length < 0 || (size_t)length >= sizeof text)
        return SF_FAIL(err, SF_E_INTERNAL, "", "an invented fact is too long");
    for (char *c = text; *c; c++)
        if (*c == '\'')
            *c = '"';
    return sf_doc_parse(body, "an invented fact", text, (size_t)length, err);
}

sf_Status demo_say(Demo *demo, DemoLimb *limb, DemoWho who, const char *kind, const char *format, ...)
{
    char when[SF_TIME_TEXT];
    sf_Doc *body = NULL;
    sf_CaseRecorded recorded;
    va_list list;
    demo->minute += MINUTES_OF_FACT;
    SF_TRY(act_as(demo, who));
    va_start(list, format);
    sf_Status status = parse_body(&body, format, list, demo->err);
    va_end(list);
    clock_of(demo, when);
    // The transaction began a few minutes before: a fact does not lie ahead of the hour at which it is written.
    const char *now = sf_transaction_time(demo->transaction);
    sf_CaseFact fact = { limb->id, kind, strcmp(when, now) > 0 ? now : when, { 0 }, true };
    if (status == SF_OK) {
        fact.body = sf_doc_root(body);
        status = sf_limb_case_record(demo->transaction, demo->table, &fact, &recorded, demo->err);
    }
    sf_doc_destroy(&body);
    if (status == SF_OK) {
        limb->last = recorded.fact;
        demo->shop->facts++;
    }
    return status;
}

// ---- people and limbs -------------------------------------------------------------------------------------------

static sf_Status hire(Demo *demo)
{
    char password[SF_PASSWORD_HASH], pin[SF_PASSWORD_HASH];
    sf_Person *people;
    size_t count;
    SF_TRY(sf_password_hash(PASSWORD, password, demo->err));
    SF_TRY(sf_password_hash(PIN, pin, demo->err));
    SF_TRY(sf_transaction_write(&demo->transaction, demo->store, 0, demo->err));
    SF_TRY(sf_person_list(demo->transaction, &people, &count, demo->err));
    if (count > 0)
        return SF_FAIL(
            demo->err, SF_E_INPUT, "store",
            "somebody is in this store already: the invented shop wants a store of its own (name a new file)");
    const sf_Letterhead shop = { "Invented limb shop", "1 Example Lane, Inventown", "000 000 000",
                                 "Custom-made device: this limb was made for this person alone, as the prescription "
                                 "asks. An invented statement of an invented shop; local law words the real one." };
    SF_TRY(sf_letterhead_set(demo->transaction, &shop, demo->err));
    for (int i = 0; i < DEMO_STAFF; i++) {
        sf_Person person = { .name = staff[i].name,
                             .initials = staff[i].initials,
                             .role = staff[i].role,
                             .license = staff[i].license,
                             .password_hash = password,
                             .pin_hash = pin,
                             .active = true };
        SF_TRY(sf_person_add(demo->transaction, &person, &demo->staff[i], demo->err));
    }
    return demo_commit(demo);
}

static void describe(Demo *demo, int number)
{
    DemoLimb *l = &demo->limbs[number];
    const DemoPerson *p = &demo_people[number];
    bool child = p->age < 18;
    double heel = child ? 15 : 20, foot = child ? 62 - 2 : 75 - 3;
    *l = (DemoLimb){ .person = p,
                     .number = number,
                     .child = child,
                     .screws = !child && (number % 3 == 0 || p->twist == DEMO_EARLY_SCREW),
                     .cut_mm = heel + foot + 6 + 12 };
}

static sf_Status begin_limb(Demo *demo, DemoLimb *l)
{
    char *text = NULL;
    int64_t wearer = 0;
    sf_LimbRow row;
    SF_TRY(act_as(demo, DEMO_PROSTHETIST));
    if (l->person->twin >= 0 && demo->limbs[l->person->twin].id) {
        SF_TRY(sf_limb_record_get(demo->transaction, demo->limbs[l->person->twin].id, &row, demo->err));
        wearer = row.wearer;
    }
    SF_TRY(demo_document(demo, l, &text));
    sf_Status status = sf_limb_case_add(demo->transaction, demo->table, wearer, text, strlen(text), &l->id, demo->err);
    sf_free(text);
    demo->shop->limbs++;
    return status;
}

// ---- the year ---------------------------------------------------------------------------------------------------

typedef struct Visit {
    long day;
    int limb, visit;
} Visit;

static int by_day(const void *left, const void *right)
{
    const Visit *a = left, *b = right;
    if (a->day != b->day)
        return a->day < b->day ? -1 : 1;
    if (a->limb != b->limb)
        return a->limb < b->limb ? -1 : 1;
    return a->visit - b->visit;
}

static size_t plan_year(const Demo *demo, Visit *visits)
{
    size_t count = 0;
    int after;
    for (int l = 0; l < DEMO_LIMBS; l++)
        for (int v = 0; demo_visit_day(&demo->limbs[l], v, &after) && count < MOST_VISITS; v++) {
            long day = demo->today - demo_people[l].started + after;
            if (after >= 0 && day < demo->today)
                visits[count++] = (Visit){ day, l, v };
        }
    qsort(visits, count, sizeof *visits, by_day);
    return count;
}

static sf_Status live(Demo *demo)
{
    sf_Status status = SF_OK;
    Visit *visits = sf_alloc(MOST_VISITS, sizeof *visits);
    if (!visits)
        return SF_FAIL(demo->err, SF_E_MEMORY, "", "out of memory while inventing a shop");
    size_t count = plan_year(demo, visits);
    for (size_t i = 0; i < count; i++) {
        DemoLimb *limb = &demo->limbs[visits[i].limb];
        if (visits[i].day != demo->day)
            demo->minute = OPENING_MINUTE;
        demo->day = visits[i].day;
        demo->minute += 2 * MINUTES_OF_FACT;
        if (!limb->id)
            SF_TRY_DONE(begin_limb(demo, limb));
        SF_TRY_DONE(demo_visit(demo, limb, visits[i].visit));
        SF_TRY_DONE(demo_commit(demo));
    }
done:
    sf_free(visits);
    return status;
}

// Dates pass without anybody writing: the lines for lists are brought to the last day.
static sf_Status look_over(Demo *demo)
{
    SF_TRY(sf_transaction_write(&demo->transaction, demo->store, 0, demo->err));
    for (int i = 0; i < DEMO_LIMBS; i++)
        if (demo->limbs[i].id)
            SF_TRY(sf_limb_case_refresh(demo->transaction, demo->table, demo->limbs[i].id, demo->err));
    return demo_commit(demo);
}

static sf_Status day_of(sf_Store *store, const char *today, long *day, sf_Error *err)
{
    char now[SF_TIME_TEXT], text[SF_DATE_TEXT] = "";
    sf_Date date;
    sf_store_now(store, now);
    memcpy(text, now, SF_DATE_TEXT - 1);
    SF_TRY(sf_date_parse(&date, today ? today : text, "today", err));
    *day = sf_date_days(date);
    return SF_OK;
}

sf_Status sf_demo_shop_seed(sf_Store *store, const char *today, sf_DemoShop *shop, sf_Error *err)
{
    sf_Status status;
    *shop = (sf_DemoShop){ .sign_in = staff[DEMO_LICENSED].name, .password = PASSWORD, .pin = PIN };
    Demo *demo = sf_alloc(1, sizeof *demo);
    if (!demo)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while inventing a shop");
    demo->store = store;
    demo->shop = shop;
    demo->err = err;
    SF_TRY_DONE(sf_stage_table_load(&demo->table, err));
    SF_TRY_DONE(day_of(store, today, &demo->today, err));
    demo->day = demo->today - 370;
    demo->minute = OPENING_MINUTE;
    sf_store_set_clock(store, clock_of, demo);
    for (int i = 0; i < DEMO_LIMBS; i++)
        describe(demo, i);
    SF_TRY_DONE(hire(demo));
    SF_TRY_DONE(live(demo));
    demo->day = demo->today;
    demo->minute = 0;
    status = look_over(demo);
done:
    sf_transaction_end(&demo->transaction);
    sf_store_set_clock(store, NULL, NULL);
    sf_stage_table_destroy(&demo->table);
    sf_free(demo);
    return status;
}
