// SPDX-License-Identifier: GPL-3.0-or-later
// The program: `standfast COMMAND [ARGS]`. Results on stdout, problems on stderr, exit codes by kind of failure.
#include "cli/command.h"
#include "num/blas.h"
#include "study/result.h"

#include <stdio.h>
#include <string.h>

static void print_help(void)
{
    printf("standfast %s - bench tool for one-piece below-knee limbs\n\n", sf_version());
    printf("  standfast COMMAND [ARGS] [--json]\n\n");
    for (size_t i = 0; i < sf_command_count; i++)
        printf("  %-10s %-28s %s\n", sf_commands[i].name, sf_commands[i].arguments, sf_commands[i].summary);
    printf("\n  standfast COMMAND --help    the options of a command\n");
    printf("  standfast --version\n\n");
    printf("Exit: 0 computed, 2 usage, 3 bad input, 4 could not compute, 5 store or device.\n\n%s\n",
           sf_safety_sentence());
}

static void print_version(void)
{
    printf("standfast %s\nBLAS: %s\n", sf_version(), sf_blas_description());
    if (!sf_blas_is_expected())
        fprintf(stderr,
                "standfast: the BLAS in use is not OpenBLAS for pthreads: results are the same, solving is slower. "
                "Install libopenblas0-pthread\n");
}

int main(int argc, char **argv)
{
    sf_blas_set_threads(1); // no command's systems are large enough to gain from more
    if (argc < 2) {
        fprintf(stderr, "standfast: name a command; standfast --help lists them\n");
        return sf_status_exit_code(SF_E_USAGE);
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
        print_help();
        return 0;
    }
    if (strcmp(argv[1], "--version") == 0) {
        print_version();
        return 0;
    }
    for (size_t i = 0; i < sf_command_count; i++) {
        if (strcmp(argv[1], sf_commands[i].name) != 0)
            continue;
        sf_Error err = { 0 };
        sf_Status status = sf_commands[i].run(argc, argv, 2, &err);
        if (status != SF_OK)
            fprintf(stderr, "standfast: %s: %s\n", argv[1], err.text);
        if (fflush(stdout) != 0 && status == SF_OK) {
            fprintf(stderr, "standfast: %s: the result could not be written out\n", argv[1]);
            status = SF_E_STORE;
        }
        return sf_status_exit_code(status);
    }
    fprintf(stderr, "standfast: %s: there is no such command; see standfast --help\n", argv[1]);
    return sf_status_exit_code(SF_E_USAGE);
}
