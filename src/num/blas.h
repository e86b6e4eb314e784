// SPDX-License-Identifier: GPL-3.0-or-later
// Which BLAS the program runs on. The solvers are measured with OpenBLAS in its pthread build; others are many times
// slower.
#pragma once

#include <stdbool.h>

/// The library's own description, such as "OpenBLAS 0.3.21 ... , pthread"; static text.
const char *sf_blas_description(void);

/// Whether it is OpenBLAS built for pthreads.
bool sf_blas_is_expected(void);

/// Bounds the threads of BLAS calls from here on; small systems run fastest on one.
void sf_blas_set_threads(int threads);
