// SPDX-License-Identifier: GPL-3.0-or-later
// A child's growth and what it does to the prosthesis, on one A5 sheet: centiles with readings and the forecast's fan,
// below them how short the prosthesis is with the limits, beside them dates, stacks and what ends first
// (docs/theory/growth.md). An aid to a licensed prosthetist, not a certificate.
#pragma once

#include "draw/sheet.h"

enum {
    SF_CHART_CENTILES = 7,
    SF_CHART_CENTILE_POINTS = 80,
    SF_CHART_READINGS = 120,
    SF_CHART_NODES = 121,
    SF_CHART_STEPS = 3,
    SF_CHART_LINES = 8
};

typedef struct sf_ChartReading {
    double age, value, sd; ///< years, m, m
    bool block;            ///< a levelling block, else a knee height or stature
} sf_ChartReading;

/// A forecast: ages with mean and 90 % interval, m.
typedef struct sf_ChartFan {
    size_t count;
    double age[SF_CHART_NODES], mean[SF_CHART_NODES], low[SF_CHART_NODES], high[SF_CHART_NODES];
} sf_ChartFan;

typedef struct sf_ChartStep {
    const char *name;        ///< "remind"
    double limit;            ///< m
    double age, early, late; ///< when it is reached; NaN: not within the forecast
    char date[16], from[16], to[16];
} sf_ChartStep;

/// What is drawn. Pointers are borrowed; SI, ages in years.
typedef struct sf_GrowthChart {
    const char *label, *program, *safety;
    const char *as_of, *sex;
    bool inch;
    double age_from, age_now, age_to;
    double centile[SF_CHART_CENTILES];                                 ///< 3, 10, ...
    double centile_height[SF_CHART_CENTILES][SF_CHART_CENTILE_POINTS]; ///< at ages evenly from age_from to age_to
    sf_ChartReading statures[SF_CHART_READINGS], shorts[SF_CHART_READINGS];
    size_t stature_count, short_count;
    sf_ChartFan stature, shortness;          ///< count 0: not known
    double short_now, short_low, short_high; ///< NaN: not known
    sf_ChartStep steps[SF_CHART_STEPS];
    char stacks[SF_CHART_LINES][160], remarks[SF_CHART_LINES][240];
    size_t stack_count, remark_count;
} sf_GrowthChart;

/// Draws onto an A5 sheet lying down. SF_E_MEMORY.
sf_Status sf_growth_chart_paint(sf_Sheet *sheet, const sf_GrowthChart *chart, sf_Error *err) SF_MUST_USE;
