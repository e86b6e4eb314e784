// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/database.h"

sf_Status sf_database_open_postgres(sf_Database **db, const char *address, sf_Error *err)
{
    (void)address;
    *db = NULL;
    return SF_FAIL(err, SF_E_STORE, "--store", "this build does not reach PostgreSQL yet: name a file");
}
