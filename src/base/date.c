// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/date.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum { ERA_YEARS = 400, ERA_DAYS = 146097, EPOCH_SHIFT = 719468 }; // 0000-03-01 to 1970-01-01 is EPOCH_SHIFT days

static bool leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

int sf_date_month_days(int year, int month)
{
    static const int days[] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    return month == 2 && leap(year) ? 29 : days[month - 1];
}

bool sf_date_exists(sf_Date date)
{
    return date.year >= SF_DATE_YEAR_MIN && date.year <= SF_DATE_YEAR_MAX && date.month >= 1 && date.month <= 12 &&
           date.day >= 1 && date.day <= sf_date_month_days(date.year, date.month);
}

/// Exactly `n` digits as a number, or -1.
static int digits(const char *text, int n)
{
    int value = 0;
    for (int i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9')
            return -1;
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

sf_Status sf_date_parse(sf_Date *date, const char *text, const char *path, sf_Error *err)
{
    if (strlen(text) == SF_DATE_TEXT - 1 && text[4] == '-' && text[7] == '-') {
        sf_Date read = { digits(text, 4), digits(text + 5, 2), digits(text + 8, 2) };
        if (sf_date_exists(read)) {
            *date = read;
            return SF_OK;
        }
    }
    return SF_FAIL(err, SF_E_INPUT, path, "'%.20s' is no date: write year, month and day like 2026-01-31", text);
}

void sf_date_format(sf_Date date, char text[SF_DATE_TEXT])
{
    // The remainders keep the text in its room whatever the numbers are.
    snprintf(text, SF_DATE_TEXT, "%04u-%02u-%02u", (unsigned)date.year % 10000u, (unsigned)date.month % 100u,
             (unsigned)date.day % 100u);
}

long sf_date_days(sf_Date date)
{
    // The year starts in March, so that the leap day is its last and the months' lengths follow one rule.
    long year = date.month > 2 ? date.year : date.year - 1;
    long era = (year >= 0 ? year : year - (ERA_YEARS - 1)) / ERA_YEARS;
    long of_era = year - era * ERA_YEARS;
    long of_year = (153 * (date.month > 2 ? date.month - 3 : date.month + 9) + 2) / 5 + date.day - 1;
    return era * ERA_DAYS + of_era * 365 + of_era / 4 - of_era / 100 + of_year - EPOCH_SHIFT;
}

sf_Date sf_date_from_days(long days)
{
    days += EPOCH_SHIFT;
    long era = (days >= 0 ? days : days - (ERA_DAYS - 1)) / ERA_DAYS;
    long of_era = days - era * ERA_DAYS;
    long year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    long of_year = of_era - (365 * year + year / 4 - year / 100);
    long march = (5 * of_year + 2) / 153;
    long month = march < 10 ? march + 3 : march - 9;
    return (sf_Date){ (int)(year + era * ERA_YEARS + (month <= 2)), (int)month,
                      (int)(of_year - (153 * march + 2) / 5 + 1) };
}

sf_Date sf_date_add_months(sf_Date date, int months)
{
    int count = date.year * 12 + date.month - 1 + months;
    int year = count >= 0 ? count / 12 : -((11 - count) / 12);
    sf_Date out = { year, count - year * 12 + 1, date.day };
    int most = sf_date_month_days(out.year, out.month);
    if (out.day > most)
        out.day = most;
    return out;
}

double sf_date_years_between(sf_Date birth, sf_Date date)
{
    int years = date.year - birth.year;
    long day = sf_date_days(date);
    if (sf_date_days(sf_date_add_months(birth, 12 * years)) > day)
        years--;
    long from = sf_date_days(sf_date_add_months(birth, 12 * years));
    long to = sf_date_days(sf_date_add_months(birth, 12 * (years + 1)));
    return years + (double)(day - from) / (double)(to - from);
}

sf_Date sf_date_today(void)
{
    return sf_date_from_days((long)(time(NULL) / 86400));
}
