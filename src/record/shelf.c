// SPDX-License-Identifier: GPL-3.0-or-later
// The shelf of picture files; see record/attachment.h.
#define _POSIX_C_SOURCE 200809L
#include "base/alloc.h"
#include "base/file.h"
#include "record/attachment.h"
#include "record/sealed.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { PATH_BYTES = 4096 };

static bool is_hash(const char *hash)
{
    return hash && strlen(hash) == SF_DIGEST_HEX - 1 && strspn(hash, "0123456789abcdef") == SF_DIGEST_HEX - 1;
}

char *sf_shelf_path(const sf_Store *store, const char *hash)
{
    if (!is_hash(hash))
        return NULL;
    sf_Text text = sf_text_make(PATH_BYTES);
    sf_text_format(&text, "%s/%.2s/%s", store->files, hash, hash);
    char *path = text.broken ? NULL : sf_copy_text(text.data, text.length);
    sf_text_free(&text);
    return path;
}

/// Makes "<files>/ab" and flushes the folder above when it is new.
static sf_Status make_folder(const char *path, sf_Error *err)
{
    char *folder = sf_copy_text(path, strlen(path) - SF_DIGEST_HEX);
    if (!folder)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = SF_OK;
    if (mkdir(folder, 0700) == 0)
        status = sf_file_flush_folder(folder, err);
    else if (errno != EEXIST)
        status = SF_FAIL(err, SF_E_STORE, folder, "cannot make the folder %s: %s", folder, strerror(errno));
    sf_free(folder);
    return status;
}

sf_Status sf_shelf_put(sf_Store *store, const void *bytes, size_t size, char hash[SF_DIGEST_HEX], sf_Error *err)
{
    if (size == 0)
        return SF_FAIL(err, SF_E_INPUT, "picture", "the file is empty");
    if (size > SF_ATTACHMENT_BYTES_MOST)
        return SF_FAIL(err, SF_E_LIMIT, "picture", "a file may have %d MB", SF_ATTACHMENT_BYTES_MOST / 1024 / 1024);
    sf_digest(bytes, size, NULL, 0, hash);
    char *path = sf_shelf_path(store, hash);
    if (!path)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = SF_OK;
    struct stat info;
    // A file of this name and size was written whole before (it is renamed into place after its flush). It is touched,
    // so that a sweep does not take it away before its new row is there.
    bool there = stat(path, &info) == 0 && (size_t)info.st_size == size && utimensat(AT_FDCWD, path, NULL, 0) == 0;
    if (!there) {
        SF_TRY_DONE(make_folder(path, err));
        SF_TRY_DONE(sf_file_write(path, bytes, size, err));
    }
    SF_TRY_DONE(sf_file_flush_folder(path, err));
done:
    sf_free(path);
    return status;
}

sf_Status sf_shelf_get(sf_Store *store, const char *hash, unsigned char **bytes, size_t *size, sf_Error *err)
{
    if (!is_hash(hash))
        return SF_FAIL(err, SF_E_INPUT, "picture", "a picture is named by 64 hexadecimal digits");
    char *path = sf_shelf_path(store, hash), found[SF_DIGEST_HEX];
    if (!path)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = sf_file_read(path, SF_ATTACHMENT_BYTES_MOST, bytes, size, err);
    if (status == SF_E_MISSING)
        status = SF_FAIL(err, SF_E_MISSING, "picture", "there is no such picture in the store");
    sf_free(path);
    if (status != SF_OK)
        return status;
    sf_digest(*bytes, *size, NULL, 0, found);
    if (strcmp(found, hash) != 0) {
        sf_free(*bytes);
        *bytes = NULL;
        return SF_FAIL(err, SF_E_STORE, "picture", "the picture file %s was changed: bring it back from a backup",
                       hash);
    }
    return SF_OK;
}

// ---- sweeping ------------------------------------------------------------------------------------------------------

static bool is_old(const char *path, double age_s)
{
    struct stat info;
    return stat(path, &info) == 0 && difftime(time(NULL), info.st_mtime) >= age_s;
}

static sf_Status sweep_file(sf_Transaction *t, const char *path, const char *name, double age_s, size_t *removed,
                            sf_Error *err)
{
    if (!is_old(path, age_s))
        return SF_OK;
    if (is_hash(name)) {
        sf_Rows rows;
        SF_TRY(sf_transaction_query(t, "SELECT count(*) FROM attachment WHERE file_hash = $1 AND removed_at IS NULL",
                                    SF_BIND(sf_words(name)), &rows, err));
        if (sf_cell_whole(&rows, 0, 0) > 0)
            return SF_OK;
    } else if (!strstr(name, ".part-")) {
        return SF_OK; // not ours
    }
    if (unlink(path) == 0)
        (*removed)++;
    return SF_OK;
}

static sf_Status sweep_folder(sf_Transaction *t, const char *folder, double age_s, size_t *removed, sf_Error *err)
{
    DIR *dir = opendir(folder);
    if (!dir)
        return SF_OK; // one of the 256 that no picture has needed yet
    sf_Status status = SF_OK;
    for (struct dirent *entry; status == SF_OK && (entry = readdir(dir));) {
        if (entry->d_name[0] == '.')
            continue;
        sf_Text path = sf_text_make(PATH_BYTES);
        sf_text_format(&path, "%s/%s", folder, entry->d_name);
        if (!path.broken)
            status = sweep_file(t, path.data, entry->d_name, age_s, removed, err);
        sf_text_free(&path);
    }
    closedir(dir);
    return status;
}

sf_Status sf_shelf_sweep(sf_Store *store, double age_s, size_t *removed, sf_Error *err)
{
    *removed = 0;
    sf_Transaction *t = NULL;
    SF_TRY(sf_transaction_write(&t, store, 0, err)); // nobody may name a file while it is being taken away
    sf_Status status = SF_OK;
    for (unsigned i = 0; i < 256 && status == SF_OK; i++) {
        sf_Text folder = sf_text_make(PATH_BYTES);
        sf_text_format(&folder, "%s/%02x", store->files, i);
        status = folder.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory")
                               : sweep_folder(t, folder.data, age_s, removed, err);
        sf_text_free(&folder);
    }
    sf_transaction_end(&t);
    return status;
}
