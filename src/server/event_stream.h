// SPDX-License-Identifier: GPL-3.0-or-later
// Long work as a stream of server-sent events (HTML Living Standard, "Server-sent events").
#pragma once

#include "server/server_inside.h"

#include <sys/types.h>

typedef struct sf_EventStream sf_EventStream;

/// A stream over one job; NULL when out of memory.
sf_EventStream *sf_event_stream_open(sf_Server *server, int64_t owner, const char *job);
void sf_event_stream_close(void *stream);

/// Writes at most `room` bytes of what comes next, waiting for news; 0 when nothing came for now, -1 at the end.
ssize_t sf_event_stream_read(sf_EventStream *stream, char *bytes, size_t room);

/// A job's view as JSON text (free with sf_free).
sf_Status sf_job_text(const sf_JobView *view, char **text, sf_Error *err) SF_MUST_USE;
