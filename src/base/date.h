// SPDX-License-Identifier: GPL-3.0-or-later
// Civil dates of the Gregorian calendar, as ISO 8601 writes them: 2026-01-31.
#pragma once

#include "base/status.h"

#include <stdbool.h>

enum { SF_DATE_TEXT = 11, SF_DATE_YEAR_MIN = 1850, SF_DATE_YEAR_MAX = 2300 };

typedef struct sf_Date {
    int year, month, day; ///< month 1-12, day 1-31
} sf_Date;

/// Mean length of a year of the calendar in days (400 years have 146 097).
#define SF_DATE_YEAR_DAYS 365.2425

/// Reads "YYYY-MM-DD", a day that exists, years SF_DATE_YEAR_MIN to SF_DATE_YEAR_MAX. SF_E_INPUT with the path.
sf_Status sf_date_parse(sf_Date *date, const char *text, const char *path, sf_Error *err) SF_MUST_USE;

/// Writes "YYYY-MM-DD" and a closing zero.
void sf_date_format(sf_Date date, char text[SF_DATE_TEXT]);

/// Whether the day exists within the years above.
bool sf_date_exists(sf_Date date);

/// Days since 1970-01-01 (negative before), by counting from 1 March in eras of 400 years.
long sf_date_days(sf_Date date);

/// The date that many days after 1970-01-01; the years are not bounded.
sf_Date sf_date_from_days(long days);

/// The same day `months` later (or earlier when negative); a day that the month lacks becomes its last.
sf_Date sf_date_add_months(sf_Date date, int months);

/// Days of a month, 28 to 31.
int sf_date_month_days(int year, int month);

/// Years from `birth` to `date`: whole birthdays plus the share of the year between two birthdays that has passed, so
/// that a birthday is a whole number. Negative before birth.
double sf_date_years_between(sf_Date birth, sf_Date date);

/// Today by the machine's clock, UTC.
sf_Date sf_date_today(void);
