// SPDX-License-Identifier: GPL-3.0-or-later
// The reader's word on many trials documents, for judge_schemas.py: one JSON document per line on stdin, 'good' or
// 'bad' per line on stdout.
#define _POSIX_C_SOURCE 200809L // getline
#include "study/trials.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/types.h>

int main(void)
{
    char *line = NULL;
    size_t room = 0;
    ssize_t size;
    while ((size = getline(&line, &room, stdin)) > 0) {
        sf_Trials trials;
        bool good = sf_trials_read(&trials, "line", line, (size_t)size, NULL) == SF_OK;
        sf_trials_free(&trials);
        puts(good ? "good" : "bad");
    }
    free(line);
    return 0;
}
