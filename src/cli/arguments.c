// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/arguments.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const sf_Option *find(const sf_Option *options, size_t count, const char *argument, size_t length)
{
    for (size_t i = 0; i < count; i++)
        if (strlen(options[i].name) == length && strncmp(options[i].name, argument, length) == 0)
            return &options[i];
    return NULL;
}

static sf_Status read_number(const sf_Option *option, const char *value, sf_Error *err)
{
    char *end = NULL;
    double number = strtod(value, &end);
    if (*value == '\0' || *end != '\0' || !isfinite(number))
        return SF_FAIL(err, SF_E_USAGE, option->name, "%s takes a number, not '%s'", option->name, value);
    if ((option->low != 0 || option->high != 0) && (number < option->low || number > option->high))
        return SF_FAIL(err, SF_E_USAGE, option->name, "%s is %g; it must lie between %g and %g", option->name, number,
                       option->low, option->high);
    *(double *)option->place = number;
    return SF_OK;
}

static sf_Status read_word(const sf_Option *option, const char *value, sf_Error *err)
{
    size_t index = 0, length = strlen(value);
    for (const char *word = option->words; word; index++) {
        const char *bar = strchr(word, '|');
        size_t size = bar ? (size_t)(bar - word) : strlen(word);
        if (size == length && strncmp(word, value, size) == 0) {
            *(size_t *)option->place = index;
            return SF_OK;
        }
        word = bar ? bar + 1 : NULL;
    }
    return SF_FAIL(err, SF_E_USAGE, option->name, "%s takes one of %s, not '%s'", option->name, option->words, value);
}

static sf_Status read_option(const sf_Option *option, const char *value, sf_Error *err)
{
    switch (option->kind) {
    case SF_OPTION_FLAG: *(bool *)option->place = true; return SF_OK;
    case SF_OPTION_NUMBER: return read_number(option, value, err);
    case SF_OPTION_TEXT: *(const char **)option->place = value; return SF_OK;
    case SF_OPTION_WORD: return read_word(option, value, err);
    }
    return SF_OK;
}

static sf_Status keep_name(sf_Arguments *arguments, const char *name, sf_Error *err)
{
    if (arguments->name_count == SF_ARGUMENTS_MAX_NAMES)
        return SF_FAIL(err, SF_E_USAGE, NULL, "more than %d files were named", SF_ARGUMENTS_MAX_NAMES);
    arguments->names[arguments->name_count++] = name;
    return SF_OK;
}

sf_Status sf_arguments_read(sf_Arguments *arguments, int argc, char **argv, int first, const sf_Option *options,
                            size_t count, sf_Error *err)
{
    *arguments = (sf_Arguments){ 0 };
    const sf_Option own[] = { { .name = "--json", .kind = SF_OPTION_FLAG, .place = &arguments->json },
                              { .name = "--help", .kind = SF_OPTION_FLAG, .place = &arguments->help } };
    bool only_names = false;
    for (int i = first; i < argc; i++) {
        const char *argument = argv[i];
        if (only_names || argument[0] != '-' || argument[1] == '\0') {
            SF_TRY(keep_name(arguments, argument, err));
            continue;
        }
        if (strcmp(argument, "--") == 0) {
            only_names = true;
            continue;
        }
        const char *equals = strchr(argument, '=');
        size_t length = equals ? (size_t)(equals - argument) : strlen(argument);
        const sf_Option *option = find(options, count, argument, length);
        if (!option)
            option = find(own, 2, argument, length);
        if (!option)
            return SF_FAIL(err, SF_E_USAGE, argument, "there is no option %s: see --help", argument);
        if (option->kind == SF_OPTION_FLAG && equals)
            return SF_FAIL(err, SF_E_USAGE, option->name, "%s takes no value", option->name);
        const char *value = equals ? equals + 1 : NULL;
        if (option->kind != SF_OPTION_FLAG && !value) {
            if (i + 1 >= argc)
                return SF_FAIL(err, SF_E_USAGE, option->name, "%s needs a value behind it", option->name);
            value = argv[++i];
        }
        SF_TRY(read_option(option, value, err));
    }
    return SF_OK;
}

void sf_arguments_print_help(const sf_Option *options, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const sf_Option *o = &options[i];
        const char *takes = o->kind == SF_OPTION_FLAG ? "" : o->kind == SF_OPTION_NUMBER ? "N" : "";
        if (o->kind == SF_OPTION_WORD)
            takes = o->words;
        else if (o->kind == SF_OPTION_TEXT)
            takes = "FILE";
        printf("  %-18s %-22s %s\n", o->name, takes, o->help ? o->help : "");
    }
    printf("  %-18s %-22s %s\n", "--json", "", "print one JSON object in place of text");
}
