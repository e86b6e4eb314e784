// SPDX-License-Identifier: GPL-3.0-or-later
// Where computations of the server find what a request only names: pictures and limbs of the store.
#pragma once

#include "record/store.h"
#include "study/computation.h"

/// Borrows the store.
sf_ComputeSource sf_compute_source(sf_Store *store);
