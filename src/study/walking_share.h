// SPDX-License-Identifier: GPL-3.0-or-later
// Ordinary walking on the lines of the two conditions: peaks of the vertical force over body weight (open ground force
// records, first and second peak).
#pragma once

#define SF_WALKING_FIRST  1.10 ///< on the line of condition I
#define SF_WALKING_SECOND 1.07 ///< on the line of condition II
