// SPDX-License-Identifier: GPL-3.0-or-later
// Passwords and PINs as Argon2id hashes (RFC 9106, by libsodium).
#pragma once

#include "base/status.h"

#include <stdbool.h>

enum { SF_PASSWORD_HASH = 128, SF_PASSWORD_MOST = 1024 };

/// Writes the hash with its salt and cost into `hash`, zero-terminated. Cost: 2 passes over 64 MiB (libsodium's
/// interactive setting), which is about 0.1 s. At most two run at a time: more wait. SF_E_INPUT when the password is
/// empty or longer than SF_PASSWORD_MOST bytes, SF_E_MEMORY.
sf_Status sf_password_hash(const char *password, char hash[SF_PASSWORD_HASH], sf_Error *err) SF_MUST_USE;

/// Whether the password belongs to the hash. With `hash` NULL the same time is spent and the answer is no, so that
/// nobody learns from the clock which names exist.
bool sf_password_matches(const char *password, const char *hash);
