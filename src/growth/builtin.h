// SPDX-License-Identifier: GPL-3.0-or-later
// Data files that the build puts into the program. Internal to growth.
#pragma once

#include <stddef.h>

extern const unsigned char sf_growth_lms_data[];
extern const size_t sf_growth_lms_data_size;
extern const unsigned char sf_growth_correlation_data[];
extern const size_t sf_growth_correlation_data_size;
extern const unsigned char sf_growth_share_data[];
extern const size_t sf_growth_share_data_size;
