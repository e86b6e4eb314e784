// SPDX-License-Identifier: GPL-3.0-or-later
#include "material/forming.h"

#include "base/units.h"
#include "num/lsq.h"
#include "num/stats.h"
#include "num/student.h"

#include <math.h>
#include <stdio.h>

extern const unsigned char sf_forming_text[];
extern const size_t sf_forming_text_size;

enum { LEAST_RINGS = 3, LEAST_FOR_SLOPE = 4 };
static const double least_spread = 0.3; // of the limb, for the slope to be told
static const double coverage = 0.90;
static const double PERCENT = 0.01;

// ---- one strip --------------------------------------------------------------------------------------------------

double sf_drape_wall(const sf_Drape *d, double stretch)
{
    double hot;
    if (isnan(d->strip)) {
        hot = d->sheet / stretch;
    } else {
        // pi t^2 + (pi D + 2 s) t - w t0 / L = 0
        double b = SF_PI * d->model_diameter + 2 * d->flange, c = d->strip * d->sheet / stretch;
        hot = 2 * c / (b + sqrt(b * b + 4 * SF_PI * c));
    }
    return hot * (1 - d->shrinkage);
}

// Width that the hot wall wraps, flanges included.
static double wrapped(const sf_Drape *d, double hot)
{
    return SF_PI * (d->model_diameter + hot) + 2 * d->flange;
}

double sf_drape_sheet(const sf_Drape *d, double wall, double stretch)
{
    double hot = wall / (1 - d->shrinkage);
    return isnan(d->strip) ? hot * stretch : hot * stretch * wrapped(d, hot) / d->strip;
}

double sf_drape_stretch(const sf_Drape *d, double wall)
{
    double hot = wall / (1 - d->shrinkage);
    return isnan(d->strip) ? d->sheet / hot : d->strip * d->sheet / (hot * wrapped(d, hot));
}

double sf_ring_wall_of_area(double area, double inner_diameter)
{
    double c = area / SF_PI; // t^2 + d t - A / pi = 0
    return 2 * c / (inner_diameter + sqrt(inner_diameter * inner_diameter + 4 * c));
}

// ---- start values -----------------------------------------------------------------------------------------------

static void read_figure(sf_DocNode root, const char *key, double unit, sf_FormingFigure *figure)
{
    static const char *const known[] = { "value", "low", "high", "origin" };
    sf_DocNode node = sf_doc_member(root, key);
    const char *text;
    if (!sf_doc_need(node, "forming") || !sf_doc_expect_object(node))
        return;
    sf_doc_only(node, known, 4);
    double *const to[] = { &figure->value, &figure->low, &figure->high };
    for (size_t i = 0; i < 3; i++) {
        sf_doc_need(sf_doc_member(node, known[i]), "forming");
        if (sf_doc_number(sf_doc_member(node, known[i]), 0, 1000, to[i]))
            *to[i] *= unit;
    }
    if (sf_doc_text(sf_doc_member(node, "origin"), SF_FORMING_ORIGIN - 1, &text))
        snprintf(figure->origin, sizeof figure->origin, "%s", text);
    if (figure->low > figure->value || figure->value > figure->high)
        sf_doc_problem(node, "must have low <= value <= high");
}

sf_Status sf_forming_start(sf_FormingStart *s, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status;
    *s = (sf_FormingStart){ 0 };
    SF_TRY_DONE(sf_doc_parse(&doc, "forming.json", (const char *)sf_forming_text, sf_forming_text_size, err));
    sf_DocNode root = sf_doc_root(doc);
    read_figure(root, "stretch_both", 1, &s->stretch_both);
    read_figure(root, "stretch_along", 1, &s->stretch_along);
    read_figure(root, "top_thinner_percent", PERCENT, &s->top_thinner);
    read_figure(root, "wave_percent", PERCENT, &s->wave);
    read_figure(root, "shrinkage_percent", PERCENT, &s->shrinkage);
    read_figure(root, "least_scatter_percent", PERCENT, &s->least_scatter);
    read_figure(root, "flange_mm", SF_MM, &s->flange);
    status = sf_doc_verdict(doc, err);
done:
    sf_doc_destroy(&doc);
    return status;
}

// Standard deviation of a normal figure from its 90 % range.
static double range_sd(double low, double high)
{
    return (high - low) / (2 * sf_stats_normal_factor(coverage));
}

static void take_start(sf_Forming *f, const sf_FormingStart *s, bool strip_known)
{
    const sf_FormingFigure *stretch = strip_known ? &s->stretch_along : &s->stretch_both;
    *f = (sf_Forming){ .a = log(stretch->value),
                       .scatter = range_sd(log(stretch->low), log(stretch->high)),
                       .b = -log(1 - s->top_thinner.value),
                       .freedom = INFINITY,
                       .wave = { s->wave.value, s->wave.low, s->wave.high },
                       .residual = NAN };
    f->var_b = pow(range_sd(-log(1 - s->top_thinner.low), -log(1 - s->top_thinner.high)), 2);
}

// ---- the fit ----------------------------------------------------------------------------------------------------

static sf_Status fit_line(sf_Forming *f, double *x, double *y, size_t n, double least_scatter, sf_Error *err)
{
    static const size_t most_columns = 2;
    double a[SF_FORMING_RINGS * 2], b[SF_FORMING_RINGS], mean = sf_stats_mean(x, n), sxx = 0, sum = 0;
    for (size_t i = 0; i < n; i++) {
        a[most_columns * i] = 1;
        a[most_columns * i + 1] = x[i] - mean;
        b[i] = y[i];
        sxx += (x[i] - mean) * (x[i] - mean);
    }
    SF_TRY(sf_lsq_solve(a, b, n, most_columns, NULL, err));
    for (size_t i = 0; i < n; i++)
        sum += pow(y[i] - b[0] - b[1] * (x[i] - mean), 2);
    f->freedom = (double)n - 2;
    f->residual = sqrt(sum / (double)n);
    f->scatter = fmax(sqrt(sum / f->freedom), least_scatter);
    f->b = b[1];
    f->a = b[0] - b[1] * mean;
    double s2 = f->scatter * f->scatter;
    f->var_b = s2 / sxx;
    f->var_a = s2 / (double)n + mean * mean * f->var_b;
    f->cov = -mean * f->var_b;
    f->slope_fitted = true;
    return SF_OK;
}

// a alone: b keeps its start value, and its doubt grows with the distance from the readings' mean place.
static void fit_level(sf_Forming *f, const double *x, const double *y, size_t n, double least_scatter)
{
    double mean_x = sf_stats_mean(x, n), mean = 0, sum = 0;
    for (size_t i = 0; i < n; i++)
        mean += (y[i] - f->b * x[i]) / (double)n;
    for (size_t i = 0; i < n; i++)
        sum += pow(y[i] - f->b * x[i] - mean, 2);
    f->freedom = (double)n - 1;
    f->residual = sqrt(sum / (double)n);
    f->scatter = fmax(sqrt(sum / f->freedom), least_scatter);
    f->a = mean;
    f->var_a = f->scatter * f->scatter / (double)n + mean_x * mean_x * f->var_b;
    f->cov = -mean_x * f->var_b;
}

static void fit_wave(sf_Forming *f, const sf_FormingReading *readings, size_t count)
{
    double waves[SF_FORMING_RINGS];
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (!isnan(readings[i].wave))
            waves[n++] = readings[i].wave;
    if (n < LEAST_RINGS)
        return;
    double mean = sf_stats_mean(waves, n), t = sf_student_quantile(0.5 + coverage / 2, (double)n - 1);
    double reach = t * sf_stats_sd(waves, n) * sqrt(1 + 1 / (double)n);
    f->wave_fitted = true;
    f->wave = (sf_Expected){ mean, fmax(0, mean - reach), fmin(0.9, mean + reach) };
}

sf_Status sf_forming_fit(sf_Forming *f, const sf_FormingStart *start, const sf_FormingReading *readings, size_t count,
                         bool strip_known, sf_Error *err)
{
    double x[SF_FORMING_RINGS], y[SF_FORMING_RINGS], least = INFINITY, most = -INFINITY;
    size_t n = 0;
    take_start(f, start, strip_known);
    if (count > SF_FORMING_RINGS)
        return SF_FAIL(err, SF_E_LIMIT, NULL, "at most %d rings calibrate the forming", SF_FORMING_RINGS);
    for (size_t i = 0; i < count; i++) {
        if (isnan(readings[i].drape.strip) == strip_known)
            continue;
        x[n] = readings[i].along;
        y[n] = log(sf_drape_stretch(&readings[i].drape, readings[i].wall));
        least = fmin(least, x[n]);
        most = fmax(most, x[n]);
        n++;
    }
    f->fitting = n;
    f->used = n >= LEAST_RINGS ? n : 0;
    f->left_out = count - n;
    fit_wave(f, readings, count);
    if (n < LEAST_RINGS)
        return SF_OK;
    f->calibrated = true;
    if (n >= LEAST_FOR_SLOPE && most - least >= least_spread)
        return fit_line(f, x, y, n, start->least_scatter.value, err);
    fit_level(f, x, y, n, start->least_scatter.value);
    return SF_OK;
}

// ---- what is expected ---------------------------------------------------------------------------------------------

void sf_forming_at(double *log_stretch, double *sd, const sf_Forming *f, double along)
{
    *log_stretch = f->a + f->b * along;
    *sd = sqrt(f->scatter * f->scatter + f->var_a + 2 * along * f->cov + along * along * f->var_b);
}

sf_Expected sf_forming_wall(const sf_Forming *f, const sf_Drape *drape, double along)
{
    double middle, sd, t = sf_student_quantile(0.5 + coverage / 2, f->freedom);
    sf_forming_at(&middle, &sd, f, along);
    return (sf_Expected){ sf_drape_wall(drape, exp(middle)), sf_drape_wall(drape, exp(middle + t * sd)),
                          sf_drape_wall(drape, exp(middle - t * sd)) };
}

sf_Expected sf_forming_sheet(const sf_Forming *f, const sf_Drape *drape, double along, double wall)
{
    double middle, sd, t = sf_student_quantile(0.5 + coverage / 2, f->freedom);
    sf_forming_at(&middle, &sd, f, along);
    return (sf_Expected){ sf_drape_sheet(drape, wall, exp(middle)), sf_drape_sheet(drape, wall, exp(middle - t * sd)),
                          sf_drape_sheet(drape, wall, exp(middle + t * sd)) };
}

double sf_forming_chance(const sf_Forming *f, const sf_Drape *drape, double along, double wall)
{
    double middle, sd;
    sf_forming_at(&middle, &sd, f, along);
    return sf_student_chance((log(sf_drape_stretch(drape, wall)) - middle) / sd, f->freedom);
}
