// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/text.h"

#include "base/alloc.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

sf_Text sf_text_make(size_t limit)
{
    return (sf_Text){ .limit = limit };
}

void sf_text_free(sf_Text *text)
{
    sf_free(text->data);
    *text = sf_text_make(text->limit);
}

// Makes room for `more` bytes and the closing zero.
static bool reserve(sf_Text *text, size_t more)
{
    if (text->broken || more > text->limit - text->length) {
        text->broken = true;
        return false;
    }
    size_t need = text->length + more + 1;
    if (need <= text->room)
        return true;
    size_t room = text->room * 2 > need ? text->room * 2 : need + 64;
    char *data = sf_realloc(text->data, room, 1);
    if (!data) {
        text->broken = true;
        return false;
    }
    text->data = data;
    text->room = room;
    return true;
}

void sf_text_add_bytes(sf_Text *text, const void *bytes, size_t n)
{
    if (!reserve(text, n))
        return;
    if (n)
        memcpy(text->data + text->length, bytes, n);
    text->length += n;
    text->data[text->length] = '\0';
}

void sf_text_add(sf_Text *text, const char *more)
{
    sf_text_add_bytes(text, more, strlen(more));
}

void sf_text_format(sf_Text *text, const char *format, ...)
{
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    int n = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (n < 0)
        text->broken = true;
    else if (reserve(text, (size_t)n)) {
        vsnprintf(text->data + text->length, (size_t)n + 1, format, again);
        text->length += (size_t)n;
    }
    va_end(again);
}

const char *sf_text_string(const sf_Text *text)
{
    return text->data ? text->data : "";
}
