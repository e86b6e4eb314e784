// SPDX-License-Identifier: GPL-3.0-or-later
// An own certificate for HTTPS where no authority is at hand: the browser asks once whether to trust it.
#pragma once

#include "base/status.h"

enum { SF_CERTIFICATE_PRINT = 96 }; ///< "AB:CD:..." of SHA-256

/// Reads cert.pem and key.pem of `folder`, or makes them there: ECDSA on P-256, ten years, for `name` (a host name or
/// an address), localhost and the loopback addresses; the key is readable by its owner only. Texts are PEM, freed with
/// sf_free; `print` is the fingerprint that the browser shows. SF_E_STORE, SF_E_MEMORY, SF_E_INTERNAL.
sf_Status sf_certificate_own(const char *folder, const char *name, char **certificate, char **key,
                             char print[SF_CERTIFICATE_PRINT], sf_Error *err) SF_MUST_USE;
