// SPDX-License-Identifier: GPL-3.0-or-later
#include "gait/acceleration.h"

#include "base/alloc.h"
#include "base/csv.h"
#include "base/units.h"
#include "num/stats.h"

#include <math.h>
#include <string.h>

// Judgement values, reasons in docs/theory/steps.md.
static const double RATE = 100, LEAST_RATE = 20, LEAST_SECONDS = 5, MOST_HOLE = 0.5;
static const double SHARP_HZ = 12, SMOOTH_STEP_HZ = 3, SMOOTH_STRIDE_HZ = 2, DRIFT_HZ = 0.3;
static const double STEP_LEAST = 0.3, STEP_MOST = 1.1, STRIDE_LEAST = 0.7, STRIDE_MOST = 2.2;
static const double REGULAR = 0.2;            // least autocorrelation at the period
static const double NEARLY_BEST = 0.6;        // of the best, to be taken for the period
static const double APART = 0.6;              // peaks nearer than this share of the period: the higher one counts
static const double HEIGHT = 0.3;             // of the usual peak height
static const double SEARCH = 0.2;             // of the period, either side, for the sharper top
static const double MOST_ACCELERATION = 1000; // m/s^2

enum { PERIOD_LAGS = 256 };

static sf_Status check_times(const sf_Csv *csv, const double *time, sf_Error *err)
{
    for (size_t i = 1; i < csv->rows; i++) {
        double step = time[i] - time[i - 1];
        if (step <= 0)
            return SF_FAIL(err, SF_E_INPUT, "time_s",
                           "%s line %zu: time %.6g s does not come after the line before; sort the table", csv->name,
                           csv->lines[i], time[i]);
        if (step > MOST_HOLE)
            return SF_FAIL(err, SF_E_INPUT, "time_s",
                           "%s line %zu: %.2f s are missing before it; cut the recording there and give each "
                           "part by itself",
                           csv->name, csv->lines[i], step);
    }
    double length = time[csv->rows - 1] - time[0];
    double rate = length > 0 ? (double)(csv->rows - 1) / length : 0;
    if (length < LEAST_SECONDS)
        return SF_FAIL(err, SF_E_INPUT, "time_s", "%s lasts %.1f s; at least %.0f s of walking are needed", csv->name,
                       length, LEAST_SECONDS);
    if (rate < LEAST_RATE)
        return SF_FAIL(err, SF_E_INPUT, "time_s",
                       "%s has %.1f samples a second; at least %.0f are needed, 100 are good", csv->name, rate,
                       LEAST_RATE);
    return SF_OK;
}

static sf_Status read_sizes(const sf_Csv *csv, double *time, double *size, sf_Error *err)
{
    static const char *const names[] = { "time_s", "ax", "ay", "az" };
    size_t column[4];
    for (int k = 0; k < 4; k++)
        SF_TRY(sf_csv_column(csv, names[k], &column[k], err));
    for (size_t i = 0; i < csv->rows; i++) {
        double a[4];
        for (int k = 0; k < 4; k++)
            SF_TRY(sf_csv_number(csv, i, column[k], &a[k], err));
        time[i] = a[0];
        size[i] = sqrt(a[1] * a[1] + a[2] * a[2] + a[3] * a[3]);
        if (size[i] > MOST_ACCELERATION)
            return SF_FAIL(err, SF_E_INPUT, "ax",
                           "%s line %zu: %.4g m/s^2 is more than any step gives; the unit is m/s^2", csv->name,
                           csv->lines[i], size[i]);
    }
    return SF_OK;
}

static void resample(sf_Acceleration *a, const double *time, const double *size, size_t rows)
{
    for (size_t i = 0, k = 1; i < a->count; i++) {
        double t = a->start + (double)i * a->interval;
        while (k + 1 < rows && time[k] < t)
            k++;
        double share = (t - time[k - 1]) / (time[k] - time[k - 1]);
        a->values[i] = size[k - 1] + fmin(1, share) * (size[k] - size[k - 1]);
    }
}

sf_Status sf_acceleration_read(sf_Acceleration *a, const char *name, const char *text, size_t size, sf_Error *err)
{
    *a = (sf_Acceleration){ 0 };
    sf_Csv csv;
    SF_TRY(sf_csv_read(&csv, name, text, size, err));
    sf_Status status = SF_OK;
    double *time = sf_alloc(csv.rows, sizeof *time), *sizes = sf_alloc(csv.rows, sizeof *sizes);
    if (!time || !sizes) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
        goto done;
    }
    SF_TRY_DONE(read_sizes(&csv, time, sizes, err));
    SF_TRY_DONE(check_times(&csv, time, err));
    double length = time[csv.rows - 1] - time[0];
    *a = (sf_Acceleration){ .count = (size_t)(length * RATE) + 1,
                            .start = time[0],
                            .interval = 1 / RATE,
                            .recorded_rate = (double)(csv.rows - 1) / length };
    a->values = sf_alloc(a->count, sizeof *a->values);
    if (!a->values) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
        goto done;
    }
    resample(a, time, sizes, csv.rows);
done:
    sf_free(time);
    sf_free(sizes);
    sf_csv_free(&csv);
    if (status != SF_OK)
        sf_acceleration_free(a);
    return status;
}

void sf_acceleration_free(sf_Acceleration *a)
{
    sf_free(a->values);
    *a = (sf_Acceleration){ 0 };
}

// Second-order Butterworth low-pass by the bilinear transform, run forward and then backward so that nothing is
// shifted in time.
static void low_pass(const double *in, double *out, size_t n, double cutoff)
{
    double k = tan(SF_PI * cutoff / RATE), root = sqrt(2), norm = 1 / (1 + root * k + k * k);
    double b0 = k * k * norm, b1 = 2 * b0, a1 = 2 * (k * k - 1) * norm, a2 = (1 - root * k + k * k) * norm;
    memcpy(out, in, n * sizeof *out);
    for (int way = 0; way < 2; way++) {
        double x1 = out[way ? n - 1 : 0], x2 = x1, y1 = x1, y2 = x1;
        for (size_t i = 0; i < n; i++) {
            double *place = &out[way ? n - 1 - i : i], x = *place;
            double y = b0 * x + b1 * x1 + b0 * x2 - a1 * y1 - a2 * y2;
            x2 = x1;
            x1 = x;
            y2 = y1;
            y1 = y;
            *place = y;
        }
    }
}

// Autocorrelation of x at a lag, 1 at lag 0.
static double correlation(const double *x, size_t n, size_t lag, double power)
{
    double sum = 0;
    for (size_t i = 0; i + lag < n; i++)
        sum += x[i] * x[i + lag];
    return sum / power * (double)n / (double)(n - lag);
}

// The shortest lag within [least, most] s at which the autocorrelation has a peak that is nearly the best there, in
// samples; 0 when nothing is regular. A limp makes every second step more alike than neighbours, so the best alone
// would often be the stride.
static double period_of(const double *x, size_t n, double least, double most)
{
    double power = 0, best = REGULAR, r[PERIOD_LAGS];
    for (size_t i = 0; i < n; i++)
        power += x[i] * x[i];
    size_t first = (size_t)(least * RATE), last = (size_t)(most * RATE);
    for (size_t k = first; k <= last; k++)
        r[k] = k + 1 < n && power > 0 ? correlation(x, n, k, power) : 0;
    for (size_t k = first + 1; k < last; k++)
        if (r[k] > r[k - 1] && r[k] >= r[k + 1] && r[k] > best)
            best = r[k];
    for (size_t k = first + 1; k < last; k++)
        if (r[k] > r[k - 1] && r[k] >= r[k + 1] && r[k] >= NEARLY_BEST * best && r[k] > REGULAR)
            return (double)k;
    return 0;
}

static double interpolated_top(const double *x, size_t n, size_t i)
{
    if (i == 0 || i + 1 >= n)
        return (double)i;
    double bend = x[i - 1] - 2 * x[i] + x[i + 1];
    double off = bend < 0 ? 0.5 * (x[i - 1] - x[i + 1]) / bend : 0;
    return (double)i + fmax(-0.5, fmin(0.5, off));
}

// Local tops of x that are the highest within `apart` samples and reach `least`; returns how many.
static size_t find_tops(const double *x, size_t n, double apart, double least, size_t *tops)
{
    size_t count = 0;
    for (size_t i = 1; i + 1 < n; i++) {
        if (!(x[i] > x[i - 1] && x[i] >= x[i + 1] && x[i] >= least))
            continue;
        if (count > 0 && (double)(i - tops[count - 1]) < apart) {
            if (x[i] > x[tops[count - 1]])
                tops[count - 1] = i;
            continue;
        }
        tops[count++] = i;
    }
    return count;
}

typedef struct Signal {
    double *sharp, *smooth, *drift;
    size_t *tops;
} Signal;

static void signal_free(Signal *s)
{
    sf_free(s->sharp);
    sf_free(s->smooth);
    sf_free(s->drift);
    sf_free(s->tops);
}

static bool signal_make(Signal *s, const sf_Acceleration *a, double smooth_hz)
{
    *s = (Signal){ sf_alloc(a->count, sizeof(double)), sf_alloc(a->count, sizeof(double)),
                   sf_alloc(a->count, sizeof(double)), sf_alloc(a->count, sizeof(size_t)) };
    if (!s->sharp || !s->smooth || !s->drift || !s->tops)
        return false;
    low_pass(a->values, s->drift, a->count, DRIFT_HZ);
    low_pass(a->values, s->sharp, a->count, SHARP_HZ);
    low_pass(a->values, s->smooth, a->count, smooth_hz);
    for (size_t i = 0; i < a->count; i++)
        s->smooth[i] -= s->drift[i];
    return true;
}

// Moves each top to the highest place of the sharper signal nearby.
static double sharpen(const Signal *s, const sf_Acceleration *a, size_t top, double reach)
{
    size_t low = (double)top > reach ? top - (size_t)reach : 0, best = low;
    for (size_t i = low; i < a->count && (double)i <= (double)top + reach; i++)
        if (s->sharp[i] > s->sharp[best])
            best = i;
    return a->start + a->interval * interpolated_top(s->sharp, a->count, best);
}

sf_Status sf_acceleration_footfalls(sf_FootfallList *list, const sf_Acceleration *a, sf_SensorPlace place,
                                    sf_FootSide first, sf_Error *err)
{
    *list = (sf_FootfallList){ 0 };
    bool waist = place == SF_SENSOR_WAIST;
    sf_Status status = SF_OK;
    Signal s;
    if (!signal_make(&s, a, waist ? SMOOTH_STEP_HZ : SMOOTH_STRIDE_HZ)) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while looking for steps");
        goto done;
    }
    double period = waist ? period_of(s.smooth, a->count, STEP_LEAST, STEP_MOST)
                          : period_of(s.smooth, a->count, STRIDE_LEAST, STRIDE_MOST);
    // Usual height of a peak: of all candidates a period apart, whatever their height.
    size_t count = period > 0 ? find_tops(s.smooth, a->count, APART * period, 0, s.tops) : 0;
    if (count >= 2) {
        for (size_t i = 0; i < count; i++)
            s.drift[i] = s.smooth[s.tops[i]];
        count = find_tops(s.smooth, a->count, APART * period, HEIGHT * sf_stats_median(s.drift, count), s.tops);
    }
    if (count < 4) {
        status = SF_FAIL(err, SF_E_INPUT, "",
                         "no regular steps show in the acceleration: look whether the sensor sat firmly, and "
                         "whether it was at the %s",
                         waist ? "waist" : "shank");
        goto done;
    }
    list->items = sf_alloc(count, sizeof *list->items);
    if (!list->items) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while looking for steps");
        goto done;
    }
    int side = first;
    for (size_t i = 0; i < count; i++) {
        sf_Footfall f = { .time = sharpen(&s, a, s.tops[i], SEARCH * period), .toe_off = NAN };
        if (list->count > 0 && f.time <= list->items[list->count - 1].time)
            continue;
        if (waist && list->count > 0) {
            double steps = (f.time - list->items[list->count - 1].time) / (period * a->interval);
            side ^= (int)fmax(1, round(steps)) & 1;
        }
        f.side = (unsigned char)side;
        list->items[list->count++] = f;
    }
done:
    signal_free(&s);
    if (status != SF_OK)
        sf_footfall_free(list);
    return status;
}
