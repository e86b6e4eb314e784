// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/follow_up.h"

#include "study/stage_gate.h"

#include <math.h>
#include <string.h>

enum { MINUTES_OF_DAY = 1440 };

static sf_Date day_of(const char *time)
{
    return sf_date_from_days((long)floor(sf_stage_minutes(time) / MINUTES_OF_DAY));
}

bool sf_follow_up_child(const sf_View *view)
{
    const char *birth = sf_document_word(view->history->limb, "person.birth_date");
    sf_Date born;
    if (!birth || sf_date_parse(&born, birth, NULL, NULL) != SF_OK)
        return false;
    double years = sf_date_years_between(born, day_of(view->history->now));
    return years < view->history->table->judgements.child_below_years;
}

// The release that the dates are counted from: the newest one that came in its order and is signed.
static size_t release_of(const sf_View *view)
{
    size_t kind = sf_stage_kind_find(view->history->table, "release");
    for (size_t i = view->end; i-- > 0;)
        if (view->history->items[i].kind == kind && sf_view_counts(view, i) && view->history->items[i].in_order &&
            sf_view_signed(view, i, SF_SIGNER_LICENSED))
            return i;
    return SIZE_MAX;
}

// Days before `due` from which an inspection fulfils it.
static long early(const sf_View *view, long from, long due)
{
    return (long)floor((double)(due - from) * view->history->table->judgements.early_share);
}

sf_FollowUp sf_follow_up_next(const sf_View *view)
{
    const sf_StageJudgements *j = &view->history->table->judgements;
    size_t release = release_of(view), kind = sf_stage_kind_find(view->history->table, "inspection");
    sf_FollowUp follow = { .child = sf_follow_up_child(view) };
    if (release == SIZE_MAX || sf_view_find(view, "retired") != SIZE_MAX)
        return follow;
    sf_Date start = day_of(view->history->items[release].fact->happened_at);
    long from = sf_date_days(start), first = from + j->first_days;
    long second = sf_date_days(sf_date_add_months(start, j->second_months));
    int passed = 0;
    sf_Date last = start;
    for (size_t i = release + 1; i < view->end; i++) {
        if (view->history->items[i].kind != kind || !sf_view_counts(view, i))
            continue;
        last = day_of(view->history->items[i].fact->happened_at);
        long day = sf_date_days(last);
        if (passed == 0 && day >= first - early(view, from, first))
            passed = 1;
        if (passed == 1 && day >= second - early(view, first, second))
            passed = 2;
    }
    int months = follow.child ? j->child_months : j->then_months;
    follow.there = true;
    follow.date = sf_date_from_days(passed == 0 ? first : second);
    follow.rule = passed == 0    ? "2 weeks after release"
                  : passed == 1  ? "3 months after release"
                  : follow.child ? "every 3 months for a child"
                                 : "every 6 months";
    if (passed == 2)
        follow.date = sf_date_add_months(last, months);
    follow.overdue = sf_date_days(follow.date) < sf_date_days(day_of(view->history->now));
    return follow;
}
