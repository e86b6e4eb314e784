// SPDX-License-Identifier: GPL-3.0-or-later
// Runs a fuzz target over its corpus without a fuzzer, one TAP case a file: the file itself, the file cut short at a
// number of places, and the file with single bytes changed (fixed rule, so that a failure comes back).
#define _POSIX_C_SOURCE 200809L
#include "base/alloc.h"
#include "base/file.h"
#include "fuzz/fuzz_target.h"

#include <dirent.h>
#include <stdbool.h>
#include <string.h>

enum { MOST_BYTES = 16 * 1024 * 1024, CUTS = 12, CHANGES = 20 };

static int visible(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

// A copy of exactly `size` bytes, so that a sanitizer sees any read past the end.
static void try_part(const unsigned char *data, size_t size, size_t change)
{
    unsigned char *exact = sf_alloc(size ? size : 1, 1);
    if (!exact)
        exit(1);
    memcpy(exact, data, size);
    if (change < size)
        exact[change] ^= (unsigned char)(1u << change % 8);
    LLVMFuzzerTestOneInput(exact, size);
    sf_free(exact);
}

static bool try_file(const char *path)
{
    unsigned char *data = NULL;
    size_t size = 0;
    sf_Error err = { 0 };
    if (sf_file_read(path, MOST_BYTES, &data, &size, &err) != SF_OK) {
        printf("# %s\n", err.text);
        return false;
    }
    try_part(data, size, size);
    for (size_t i = 0; i < CUTS && i < size; i++)
        try_part(data, size * i / CUTS, size);
    for (size_t i = 0; i < CHANGES && i < size; i++) // more densely at the start, where a file says what it is
        try_part(data, size, i * i * size / (CHANGES * CHANGES));
    sf_free(data);
    return true;
}

int main(int argc, char **argv)
{
    struct dirent **entries = NULL;
    int count = argc == 2 ? scandir(argv[1], &entries, visible, alphasort) : -1;
    if (count <= 0) {
        printf("Bail out! usage: one folder with a corpus that is not empty\n");
        return 1;
    }
    setvbuf(stdout, NULL, _IOLBF, 0);
    printf("1..%d\n", count);
    int failed = 0;
    for (int i = 0; i < count; i++) {
        char path[4096];
        snprintf(path, sizeof path, "%s/%s", argv[1], entries[i]->d_name);
        printf("# trying %s\n", path);
        bool good = try_file(path);
        failed += !good;
        printf("%sok %d - %s is survived\n", good ? "" : "not ", i + 1, entries[i]->d_name);
        free(entries[i]);
    }
    free(entries);
    return failed != 0;
}
