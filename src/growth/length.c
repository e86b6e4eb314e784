// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/length.h"

#include "base/units.h"

#include <math.h>

static const char JUDGEMENT[] = "judgement";

const sf_LengthError sf_length_errors[SF_LENGTH_ERRORS] = {
    { "sound knee height: plateau felt, floor to plateau read", 0.003, JUDGEMENT },
    { "knee line carried from cast to model to limb", 0.002, JUDGEMENT },
    { "pelvis: sides that differ above the knee", 0.002, JUDGEMENT },
    { "depth of the residual limb in the socket (ply, donning)", 0.002, JUDGEMENT },
    { "shoe: thickness under the heel, both sides alike", 0.001, JUDGEMENT },
    { "foot: compression under load", 0.0015, JUDGEMENT },
    { "build heights of foot, adapter and spacers", 0.0005, JUDGEMENT },
    { "saw cut: mark, kerf, squareness", 0.001, JUDGEMENT },
};

const sf_LengthError sf_length_trim_errors[] = {
    { "pelvis levelled with blocks, standing", 0.002, JUDGEMENT },
    { "saw cut: mark, kerf, squareness", 0.001, JUDGEMENT },
};
const size_t sf_length_trim_error_count = sizeof sf_length_trim_errors / sizeof *sf_length_trim_errors;

sf_CutLine sf_length_cut_line(const sf_LengthPlan *plan)
{
    sf_CutLine line = { 0 };
    line.knee_level = plan->sound_knee_height + plan->shoe_heel + plan->target_difference;
    line.cut_height = plan->shoe_heel + plan->foot_build_height - plan->foot_compression - plan->foot_recess +
                      plan->spacers + plan->adapter_build_height;
    // A foot turned toe-up to the pylon, stood flat, leans the pylon forward; so does a heel that is too high.
    double rise = plan->shoe_heel - plan->shoe_sole - plan->foot_heel_height;
    double sagittal = plan->dorsiflexion;
    if (isfinite(rise) && plan->foot_length > 0)
        sagittal += atan2(rise, SF_LENGTH_RISE_BASE * plan->foot_length);
    line.lean = atan(hypot(tan(sagittal), tan(plan->eversion)));
    line.below_knee = (line.knee_level - line.cut_height) / cos(line.lean);
    line.first_below_knee = line.below_knee + plan->leave_long;
    return line;
}

double sf_length_sd(const sf_LengthError *errors, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += errors[i].sd * errors[i].sd;
    return sqrt(sum);
}

double sf_length_chance_short(double bias, double sd, double limit)
{
    return 0.5 * erfc((limit + bias) / (sd * sqrt(2.0)));
}

double sf_length_mean_shortfall(double bias, double sd, double limit)
{
    double a = (limit + bias) / sd;
    double density = exp(-a * a / 2) / sqrt(2 * SF_PI);
    return sd * density / sf_length_chance_short(bias, sd, limit) - bias;
}
