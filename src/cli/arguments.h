// SPDX-License-Identifier: GPL-3.0-or-later
// The command line: one table of options per command, read once, checked once.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { SF_ARGUMENTS_MAX_NAMES = 64 };

/// What an option takes. Its place to write to is of the matching type.
typedef enum sf_OptionKind {
    SF_OPTION_FLAG,   ///< bool *: true when given
    SF_OPTION_NUMBER, ///< double *: a finite number within low..high
    SF_OPTION_TEXT,   ///< const char **: any text
    SF_OPTION_WORD    ///< size_t *: the index among `words`, separated by '|'
} sf_OptionKind;

typedef struct sf_Option {
    const char *name; ///< with its dashes: "--dpi"
    sf_OptionKind kind;
    void *place;
    double low, high;  ///< for numbers; both 0: any
    const char *words; ///< for words: "adult|child"
    const char *help;
} sf_Option;

typedef struct sf_Arguments {
    const char *names[SF_ARGUMENTS_MAX_NAMES]; ///< what is no option: files
    size_t name_count;
    bool json; ///< --json
    bool help; ///< --help
} sf_Arguments;

/// Reads argv[first..]; every command also knows --json and --help. "--name=value" and "--name value" are the same; a
/// lone "--" ends the options. SF_E_USAGE with what is wrong.
sf_Status sf_arguments_read(sf_Arguments *arguments, int argc, char **argv, int first, const sf_Option *options,
                            size_t count, sf_Error *err) SF_MUST_USE;

/// Prints the options, one a line.
void sf_arguments_print_help(const sf_Option *options, size_t count);
