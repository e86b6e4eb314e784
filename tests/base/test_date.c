// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/date.h"
#include "harness/tap.h"

#include <time.h>

static sf_Date d(int year, int month, int day)
{
    return (sf_Date){ year, month, day };
}

TAP_CASE(days_count_from_1970_and_agree_with_the_c_library)
{
    TAP_NEAR((double)sf_date_days(d(1970, 1, 1)), 0, TAP_EXACT, TAP_CLOSED_FORM);
    TAP_NEAR((double)sf_date_days(d(2000, 3, 1)), 11017, TAP_EXACT,
             TAP_SOURCE("POSIX.1-2017, seconds since the epoch: 951868800 / 86400"));
    // Every 97th day over four centuries, against timegm's own calendar.
    bool same = true, back = true;
    for (long day = -40000; day < 120000; day += 97) {
        time_t t = (time_t)day * 86400;
        struct tm c;
        c = *gmtime(&t);
        sf_Date mine = sf_date_from_days(day);
        same = same && mine.year == c.tm_year + 1900 && mine.month == c.tm_mon + 1 && mine.day == c.tm_mday;
        back = back && sf_date_days(mine) == day;
    }
    TAP_TRUE(same);
    TAP_TRUE(back);
}

TAP_CASE(months_keep_the_day_or_end_with_the_month)
{
    char text[SF_DATE_TEXT];
    sf_date_format(sf_date_add_months(d(2026, 1, 31), 1), text);
    TAP_TEXT(text, "2026-02-28");
    sf_date_format(sf_date_add_months(d(2028, 1, 31), 1), text);
    TAP_TEXT(text, "2028-02-29");
    sf_date_format(sf_date_add_months(d(2026, 11, 15), 14), text);
    TAP_TEXT(text, "2028-01-15");
    sf_date_format(sf_date_add_months(d(2026, 3, 31), -1), text);
    TAP_TEXT(text, "2026-02-28");
    sf_date_format(sf_date_add_months(d(2026, 1, 5), -25), text);
    TAP_TEXT(text, "2023-12-05");
}

TAP_CASE(years_are_whole_on_birthdays)
{
    TAP_NEAR(sf_date_years_between(d(2016, 5, 14), d(2026, 5, 14)), 10, TAP_EXACT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_date_years_between(d(2016, 5, 14), d(2026, 5, 13)), 9 + 364.0 / 365, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(sf_date_years_between(d(2016, 2, 29), d(2017, 2, 28)), 1, TAP_EXACT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_date_years_between(d(2016, 5, 14), d(2016, 5, 13)), -1.0 / 366, TAP_ROUNDING, TAP_CLOSED_FORM);
}

TAP_CASE(bad_dates_are_refused_with_the_path)
{
    static const char *const bad[] = { "",         "2026-02-30", "2026-13-01", "2026-00-10",  "26-01-01",  "2026/01/01",
                                       "2026-1-1", "2025-02-29", "1700-01-01", "2026-01-011", "2026-0a-01" };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sf_Date date = d(1, 1, 1);
        sf_Error err = { 0 };
        TAP_STATUS(sf_date_parse(&date, bad[i], "person.birth_date", &err), SF_E_INPUT);
        TAP_TEXT(err.path, "person.birth_date");
        TAP_TRUE(date.year == 1);
    }
    sf_Date date;
    TAP_OK(sf_date_parse(&date, "2024-02-29", "x", NULL));
    TAP_TRUE(date.year == 2024 && date.month == 2 && date.day == 29);
}

TAP_MAIN(TAP_RUN(days_count_from_1970_and_agree_with_the_c_library), TAP_RUN(months_keep_the_day_or_end_with_the_month),
         TAP_RUN(years_are_whole_on_birthdays), TAP_RUN(bad_dates_are_refused_with_the_path))
