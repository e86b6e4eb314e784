// SPDX-License-Identifier: GPL-3.0-or-later
// Footfalls found in the acceleration of a sensor at the waist or on a shank. docs/theory/steps.md.
#pragma once

#include "gait/footfall.h"

typedef enum sf_SensorPlace {
    SF_SENSOR_WAIST = 0, ///< every contact shows: steps, sides alternating from the first
    SF_SENSOR_SHANK      ///< only its own leg's contacts show: strides of one side
} sf_SensorPlace;

typedef struct sf_Acceleration {
    double *values; ///< size of the acceleration at equal times, m/s^2; owned
    size_t count;
    double start, interval; ///< s
    double recorded_rate;   ///< of the file, Hz
} sf_Acceleration;

/// Reads a table time_s,ax,ay,az (s, m/s^2) and resamples its size to 100 Hz between the recorded times. SF_E_PARSE,
/// SF_E_MISSING, SF_E_INPUT with the line (unsorted times, holes over half a second, under 20 Hz, under five seconds).
/// SF_E_MEMORY. Free with sf_acceleration_free.
sf_Status sf_acceleration_read(sf_Acceleration *acceleration, const char *name, const char *text, size_t size,
                               sf_Error *err) SF_MUST_USE;
void sf_acceleration_free(sf_Acceleration *acceleration); ///< safe to call twice

/// Finds the contacts: peaks of the smoothed signal about one step (waist) or stride (shank) apart, each moved to the
/// top of the sharper signal and interpolated between samples. Sides follow from `first` (the sensor's own side on a
/// shank); a place where one or more peaks are missing keeps the count of sides. SF_E_INPUT when no regular walking
/// shows, SF_E_MEMORY. Free with sf_footfall_free.
sf_Status sf_acceleration_footfalls(sf_FootfallList *list, const sf_Acceleration *acceleration, sf_SensorPlace place,
                                    sf_FootSide first, sf_Error *err) SF_MUST_USE;
