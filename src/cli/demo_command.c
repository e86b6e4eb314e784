// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast demo`: fills a new store with an invented shop.
#define _POSIX_C_SOURCE 200809L // clocks
#include "base/date.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "study/demo_shop.h"

#include <stdio.h>
#include <time.h>

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void tell(const sf_DemoShop *shop, const char *place, double took, bool json)
{
    if (json) {
        sf_Json *object = sf_json_object();
        sf_json_set_text(object, "store", place);
        sf_json_set_whole(object, "limbs", (int64_t)shop->limbs);
        sf_json_set_whole(object, "facts", (int64_t)shop->facts);
        sf_json_set_whole(object, "rings", (int64_t)shop->rings);
        sf_json_set_number(object, "seconds", took);
        sf_json_set_text(object, "sign_in", shop->sign_in);
        sf_json_set_text(object, "password", shop->password);
        sf_json_set_text(object, "pin", shop->pin);
        sf_json_set_text(object, "note", "everybody and everything in this store is invented");
        if (sf_command_print_json(&object, NULL) != SF_OK)
            fputs("standfast: demo: the result could not be written out\n", stderr);
        return;
    }
    printf("An invented shop in %s: %zu limbs, %zu facts, %zu rings, made in %.1f s.\n"
           "Everybody and everything in it is invented.\n"
           "Sign in as '%s' (licensed prosthetist), password '%s', PIN %s. All others share them.\n",
           place, shop->limbs, shop->facts, shop->rings, took, shop->sign_in, shop->password, shop->pin);
}

sf_Status sf_demo_command(int argc, char **argv, int first, sf_Error *err)
{
    const char *place = NULL, *files = NULL, *today = NULL;
    sf_Arguments arguments;
    const sf_Option options[] = {
        { "--store", SF_OPTION_TEXT, &place, 0, 0, NULL, "new SQLite file, or postgres://... (demo.sqlite)" },
        { "--files", SF_OPTION_TEXT, &files, 0, 0, NULL, "folder of picture files and key (with postgres)" },
        { "--today", SF_OPTION_TEXT, &today, 0, 0, NULL, "day at which the invented year ends (today)" },
    };
    enum { OPTIONS = sizeof options / sizeof *options };
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, OPTIONS, err));
    if (arguments.help) {
        printf("standfast demo\n\nFills a new store with an invented shop: about 40 limbs over a year, at all stages. "
               "`standfast serve --store ... --demo` shows it; ./demo does both.\n\n");
        sf_arguments_print_help(options, OPTIONS);
        return SF_OK;
    }
    if (arguments.name_count > 0)
        return SF_FAIL(err, SF_E_USAGE, NULL, "demo takes options only, not '%s'", arguments.names[0]);
    sf_Store *store = NULL;
    sf_DemoShop shop;
    sf_Date day;
    if (today)
        SF_TRY(sf_date_parse(&day, today, "--today", err)); // before a store is made
    double start = seconds();
    SF_TRY(sf_store_open(&store, place ? place : "demo.sqlite", files, SF_STORE_MAKE, err));
    sf_Status status = sf_demo_shop_seed(store, today, &shop, err);
    if (status == SF_OK)
        tell(&shop, sf_store_place(store), seconds() - start, arguments.json);
    sf_store_close(&store);
    return status;
}
