// SPDX-License-Identifier: GPL-3.0-or-later
// `parts`: the shop's feet and adapters under one limb, as a table for people.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "study/figures.h"
#include "study/parts_study.h"

#include <math.h>
#include <stdio.h>

static void print_column(double value, int width, int digits)
{
    if (isfinite(value))
        printf(" %*.*f", width, digits, value);
    else
        printf(" %*s", width, "-");
}

/// Which motions the adapter has, and how far each still goes.
static void print_travel(const sf_Figures *f, size_t pair)
{
    char path[80];
    const char *gap = "";
    snprintf(path, sizeof path, "pairs[%zu].travel_left", pair);
    for (size_t i = 0; i < sf_figures_length(f, path); i++) {
        snprintf(path, sizeof path, "pairs[%zu].travel_left[%zu].left[0]", pair, i);
        double low = sf_figures_number(f, path);
        snprintf(path, sizeof path, "pairs[%zu].travel_left[%zu].left[1]", pair, i);
        double high = sf_figures_number(f, path);
        snprintf(path, sizeof path, "pairs[%zu].travel_left[%zu].setting", pair, i);
        if (isfinite(low) || isfinite(high))
            printf("%s%s %+g to %+g", gap, sf_figures_text(f, path), low, high);
        snprintf(path, sizeof path, "pairs[%zu].travel_left", pair);
        gap = isfinite(low) || isfinite(high) ? ", " : gap;
    }
    printf("%s\n", *gap ? " left" : "no range of motion is entered");
}

static void print_shut(const sf_Figures *f, size_t pair)
{
    char path[80];
    bool open;
    snprintf(path, sizeof path, "pairs[%zu].gates", pair);
    sf_DocNode gates = sf_figures_at(f, path);
    for (size_t i = 0; i < sf_doc_length(gates); i++) {
        const char *text = "";
        sf_DocNode gate = sf_doc_item(gates, i);
        if (sf_doc_flag(sf_doc_member(gate, "open"), &open) && !open &&
            sf_doc_text(sf_doc_member(gate, "text"), SF_DOC_MAX_BYTES, &text))
            printf("       shut: %s\n", text);
    }
}

static void print_pair(const sf_Figures *f, size_t i)
{
    static const struct {
        const char *key;
        int width, digits;
    } columns[] = { { "cut_height_mm", 7, 1 },    { "usable_cylinder_mm", 9, 1 },      { "engagement_mm", 7, 1 },
                    { "cylinder_left_mm", 7, 1 }, { "foot_and_adapter_mass_g", 7, 0 }, { "elastic_factor", 7, 2 },
                    { "max_user_mass_kg", 7, 0 } };
    char path[80];
    snprintf(path, sizeof path, "pairs[%zu].foot", i);
    const char *foot = sf_figures_text(f, path);
    printf("%3zu  %-36.36s", i + 1, foot ? foot : "");
    for (size_t k = 0; k < sizeof columns / sizeof *columns; k++) {
        snprintf(path, sizeof path, "pairs[%zu].%s", i, columns[k].key);
        print_column(sf_figures_number(f, path), columns[k].width, columns[k].digits);
    }
    snprintf(path, sizeof path, "pairs[%zu].adapter", i);
    const char *adapter = sf_figures_text(f, path);
    printf("\n     on %-33.80s ", adapter ? adapter : "");
    print_travel(f, i);
    print_shut(f, i);
}

static void print_list(const sf_Figures *f, const char *key, const char *title)
{
    sf_DocNode list = sf_figures_at(f, key);
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        const char *text;
        if (sf_doc_text(sf_doc_item(list, i), SF_DOC_MAX_BYTES, &text))
            printf("%s%s: %s\n", i ? "" : "\n", title, text);
    }
}

static void print_people(const sf_Figures *f)
{
    printf("%3s  %-36s %7s %9s %7s %7s %7s %7s %7s\n", "", "foot, and adapter below it", "cut", "cylinder", "grip",
           "left", "mass", "first", "most");
    printf("%3s  %-36s %7s %9s %7s %7s %7s %7s %7s\n", "", "", "mm", "usable mm", "mm", "mm", "g", "yield x", "kg");
    for (size_t i = 0; i < sf_figures_length(f, "pairs"); i++)
        print_pair(f, i);
    print_list(f, "assumptions", "assumed");
    print_list(f, "notes", "note");
    const char *safety = sf_figures_text(f, "safety");
    printf("\n%s\n", safety ? safety : "");
}

static sf_Status run(const sf_Arguments *arguments, const sf_PartsList *list, sf_PartsOrder order, sf_Error *err)
{
    if (arguments->name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one limb file: standfast parts LIMB.json");
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_Figures figures = { 0 };
    sf_PartsAsk ask = { list, order };
    sf_Error none = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_file_read(arguments->names[0], SF_DOC_MAX_BYTES, &bytes, &size, err));
    SF_TRY_DONE(sf_limb_read_file(&limb, arguments->names[0], err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, bytes, size);
    SF_TRY_DONE(sf_parts_study(&result, limb, &ask, err));
    if (arguments->json) {
        sf_Json *json = sf_result_finish(&result, NULL);
        status = sf_command_print_json(&json, err);
    } else {
        SF_TRY_DONE(sf_figures_take(&figures, &result, SF_OK, &none, err));
        print_people(&figures);
    }
done:
    sf_figures_free(&figures);
    sf_result_drop(&result);
    sf_limb_destroy(&limb);
    sf_free(bytes);
    return status;
}

sf_Status sf_parts_command(int argc, char **argv, int first, sf_Error *err)
{
    const char *file = NULL;
    size_t order = 0, size = 0;
    const sf_Option options[] = {
        { "--parts", SF_OPTION_TEXT, &file, 0, 0, NULL, "the shop's feet and adapters (the invented starter set)" },
        { "--order", SF_OPTION_WORD, &order, 0, 0, "cylinder|factor|mass", "what the table is ordered by (cylinder)" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 2, err));
    if (arguments.help) {
        printf("standfast parts LIMB.json\n\nEach foot with each adapter of the shop's list under this limb, side by "
               "side: cut, cylinder, grip, travel left, mass, first yield, limits.\n\n");
        sf_arguments_print_help(options, 2);
        return SF_OK;
    }
    sf_PartsList list = { 0 };
    unsigned char *bytes = NULL;
    sf_Status status = SF_OK;
    if (file)
        SF_TRY_DONE(sf_file_read(file, SF_DOC_MAX_BYTES, &bytes, &size, err));
    if (file)
        SF_TRY_DONE(sf_parts_list_parse(&list, file, (const char *)bytes, size, err));
    status = run(&arguments, file ? &list : NULL, (sf_PartsOrder)order, err);
done:
    sf_parts_list_free(&list);
    sf_free(bytes);
    return status;
}
