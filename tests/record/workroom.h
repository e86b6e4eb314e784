// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of the store stand on: a folder of their own and a PostgreSQL server of their own, both gone at the
// end; and the two kinds of store.
#pragma once

#include "record/store.h"

typedef enum WorkroomKind { WORKROOM_SQLITE, WORKROOM_POSTGRES } WorkroomKind;

extern const char *const workroom_kind_words[2];

/// The folder; made at the first call, removed when the program ends. NULL when it cannot be made.
const char *workroom_folder(void);

/// A path in the folder; static storage, the newest eight calls stay good.
const char *workroom_path(const char *format, ...) __attribute__((format(printf, 1, 2)));

/// Names a place for a fresh store of that kind and the folder of its files. The server is started when it is needed.
/// Returns false, and says why as a note, when there is no server to start.
typedef struct WorkroomPlace {
    WorkroomKind kind;
    char place[640], files[700];
} WorkroomPlace;
bool workroom_place(WorkroomPlace *place, WorkroomKind kind);

/// Opens the store there, making it when it is not; the failure becomes a failed check.
sf_Store *workroom_open(const WorkroomPlace *place);

/// Runs one statement behind the store's back, as somebody with the database's own tools would.
bool workroom_meddle(const WorkroomPlace *place, const char *sql);

/// A fingerprint of every row of every table, read behind the store's back; "" when it cannot be read. `sealed_only`
/// leaves working rows out.
void workroom_contents(const WorkroomPlace *place, bool sealed_only, char hex[65]);

/// One whole number that a query behind the store's back answers; -1 when it cannot be asked.
int64_t workroom_number(const WorkroomPlace *place, const char *sql);

/// Runs a command of the shell; true when it ends well.
bool workroom_shell(const char *format, ...) __attribute__((format(printf, 1, 2)));

/// Stops the PostgreSQL server at once and starts it again.
bool workroom_restart_server(void);
