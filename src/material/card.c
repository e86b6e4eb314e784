// SPDX-License-Identifier: GPL-3.0-or-later
#include "material/card.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

extern const unsigned char sf_card_copolymer[], sf_card_homopolymer[];
extern const size_t sf_card_copolymer_size, sf_card_homopolymer_size;

enum { CARD_ARENA_BYTES = 256 * 1024, CARD_FILE_BYTES = 256 * 1024 };

static const char *const format_word[] = { "standfast-material/1" };
static const char *const law_word[] = { "findley" };
static const char *const confidence_words[] = { "confirmed-by-two", "one-source", "from-memory", "judgement",
                                                "shop-reading" };

#define TEXT_AT(T, need, file, member)                                                                                 \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_TEXT, .required = need, .offset = offsetof(T, member), .low = 1, .high = 500     \
    }
#define TRUST_AT(T)                                                                                                    \
    { .key = "confidence",                                                                                             \
      .kind = SF_FIELD_WORD,                                                                                           \
      .required = true,                                                                                                \
      .offset = offsetof(T, confidence),                                                                               \
      .words = confidence_words,                                                                                       \
      .word_count = sizeof confidence_words / sizeof *confidence_words },                                              \
        TEXT_AT(T, true, "source", source)
#define NUMBER_AT(T, file, member, lowest, highest, unit)                                                              \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_NUMBER, .required = true, .offset = offsetof(T, member), .low = lowest,          \
        .high = highest, .factor = unit                                                                                \
    }
#define OBJECT_AT(T, file, member, its)                                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_OBJECT, .required = true, .offset = offsetof(T, member), .shape = &(its)         \
    }
#define MAYBE_AT(T, file, member, its)                                                                                 \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_OBJECT, .offset = offsetof(T, member), .shape = &(its)                           \
    }
#define SHAPE_OF(T, table) sizeof(T), table, sizeof(table) / sizeof *(table)

static void check_figure(sf_DocNode node, const void *object)
{
    const sf_CardFigure *figure = object;
    if (figure->low > figure->value || figure->value > figure->high)
        sf_doc_problem(node, "must have low <= value <= high");
}

// One kind of figure for each unit and plausible span.
#define FIGURE_SHAPE(name, lowest, highest, unit)                                                                      \
    static const sf_Field name##_fields[] = { NUMBER_AT(sf_CardFigure, "value", value, lowest, highest, unit),         \
                                              NUMBER_AT(sf_CardFigure, "low", low, lowest, highest, unit),             \
                                              NUMBER_AT(sf_CardFigure, "high", high, lowest, highest, unit),           \
                                              TRUST_AT(sf_CardFigure) };                                               \
    static const sf_Shape name = { SHAPE_OF(sf_CardFigure, name##_fields), check_figure }

FIGURE_SHAPE(modulus_figure, 50, 20000, SF_MPA);
FIGURE_SHAPE(stress_figure, 1, 500, SF_MPA);
FIGURE_SHAPE(ratio_figure, 0, 0.499, 1);
FIGURE_SHAPE(density_figure, 500, 3000, 1);
FIGURE_SHAPE(expansion_figure, 1e-6, 1e-3, 1);
FIGURE_SHAPE(share_figure, 0.01, 1, 1);
FIGURE_SHAPE(strain_figure, 0.001, 5, 1);

static const sf_Field stress_point_fields[] = {
    NUMBER_AT(sf_StressPoint, "strain", strain, 1e-5, 5, 1),
    NUMBER_AT(sf_StressPoint, "stress_mpa", stress, 0.01, 500, SF_MPA),
};
static const sf_Shape stress_point_shape = { SHAPE_OF(sf_StressPoint, stress_point_fields), NULL };

static void check_stress_table(sf_DocNode node, const void *object)
{
    const sf_StressTable *table = object;
    sf_DocNode points = sf_doc_member(node, "points");
    if (table->point_count < 2)
        sf_doc_problem(points, "needs at least two points beyond (0, 0)");
    for (size_t i = 1; i < table->point_count; i++) {
        const sf_StressPoint *a = &table->points[i - 1], *b = &table->points[i];
        if (b->strain <= a->strain || b->stress < a->stress)
            sf_doc_problem(sf_doc_item(points, i),
                           "must have a larger strain and no smaller stress than the one before");
        else if ((b->stress - a->stress) * table->points[0].strain >
                 table->points[0].stress * (b->strain - a->strain) * (1 + 1e-9))
            sf_doc_problem(sf_doc_item(points, i), "must not be stiffer than the first straight piece");
    }
}

static const sf_Field point_fields[] = {
    NUMBER_AT(sf_TemperaturePoint, "temperature_c", temperature_c, -50, 120, 1),
    NUMBER_AT(sf_TemperaturePoint, "modulus_factor", modulus_factor, 0.01, 10, 1),
    NUMBER_AT(sf_TemperaturePoint, "yield_factor", yield_factor, 0.01, 10, 1),
};
static const sf_Shape point_shape = { SHAPE_OF(sf_TemperaturePoint, point_fields), NULL };

static void check_temperature(sf_DocNode node, const void *object)
{
    const sf_TemperatureLaw *law = object;
    if (law->point_count < 2)
        sf_doc_problem(sf_doc_member(node, "points"), "needs at least two temperatures");
    for (size_t i = 1; i < law->point_count; i++) {
        const sf_TemperaturePoint *a = &law->points[i - 1], *b = &law->points[i];
        if (b->temperature_c <= a->temperature_c)
            sf_doc_problem(sf_doc_item(sf_doc_member(node, "points"), i), "must be hotter than the one before");
        if (b->modulus_factor > a->modulus_factor || b->yield_factor > a->yield_factor)
            sf_doc_problem(sf_doc_item(sf_doc_member(node, "points"), i), "must not be stiffer or stronger than the "
                                                                          "colder one before");
    }
}

static const sf_Field temperature_fields[] = {
    { .key = "points",
      .kind = SF_FIELD_LIST,
      .required = true,
      .offset = offsetof(sf_TemperatureLaw, points),
      .count_offset = offsetof(sf_TemperatureLaw, point_count),
      .most = 20,
      .shape = &point_shape },
    TRUST_AT(sf_TemperatureLaw),
};
static const sf_Shape temperature_shape = { SHAPE_OF(sf_TemperatureLaw, temperature_fields), check_temperature };

static const sf_Field stress_table_fields[] = {
    { .key = "points",
      .kind = SF_FIELD_LIST,
      .required = true,
      .offset = offsetof(sf_StressTable, points),
      .count_offset = offsetof(sf_StressTable, point_count),
      .most = SF_STRESS_POINTS,
      .shape = &stress_point_shape },
    TRUST_AT(sf_StressTable),
};
static const sf_Shape stress_table_shape = { SHAPE_OF(sf_StressTable, stress_table_fields), check_stress_table };

static const sf_Field creep_fields[] = {
    { .key = "law", .kind = SF_FIELD_CONST, .required = true, .words = law_word, .word_count = 1 },
    NUMBER_AT(sf_CreepLaw, "m", m, 0, 100, 1),
    NUMBER_AT(sf_CreepLaw, "n", n, 0.01, 1, 1),
    NUMBER_AT(sf_CreepLaw, "valid_to_stress_mpa", valid_to_stress, 0, 500, SF_MPA),
    NUMBER_AT(sf_CreepLaw, "valid_to_temperature_c", valid_to_temperature_c, -50, 120, 1),
    TRUST_AT(sf_CreepLaw),
};
static const sf_Shape creep_shape = { SHAPE_OF(sf_CreepLaw, creep_fields), NULL };

static const sf_Field fatigue_fields[] = {
    NUMBER_AT(sf_FatigueLaw, "stress_mpa", stress, 0.1, 500, SF_MPA),
    NUMBER_AT(sf_FatigueLaw, "cycles", cycles, 1, 1e9, 1),
    NUMBER_AT(sf_FatigueLaw, "slope", slope, 1, 100, 1),
    NUMBER_AT(sf_FatigueLaw, "stress_factor_band", stress_factor_band, 1, 10, 1),
    TRUST_AT(sf_FatigueLaw),
};
static const sf_Shape fatigue_shape = { SHAPE_OF(sf_FatigueLaw, fatigue_fields), NULL };

static const sf_Field card_fields[] = {
    { .key = "format", .kind = SF_FIELD_CONST, .required = true, .words = format_word, .word_count = 1 },
    TEXT_AT(sf_Card, true, "name", name),
    TEXT_AT(sf_Card, true, "title", title),
    TEXT_AT(sf_Card, true, "valid", valid),
    OBJECT_AT(sf_Card, "modulus_mpa", modulus, modulus_figure),
    OBJECT_AT(sf_Card, "yield_mpa", yield, stress_figure),
    OBJECT_AT(sf_Card, "compressive_yield_mpa", compressive_yield, stress_figure),
    OBJECT_AT(sf_Card, "poisson_ratio", poisson_ratio, ratio_figure),
    OBJECT_AT(sf_Card, "density_kg_m3", density, density_figure),
    OBJECT_AT(sf_Card, "expansion_per_k", expansion, expansion_figure),
    OBJECT_AT(sf_Card, "seam_factor", seam_factor, share_figure),
    MAYBE_AT(sf_Card, "strain_limit", strain_limit, strain_figure),
    MAYBE_AT(sf_Card, "stress_strain", stress_strain, stress_table_shape),
    OBJECT_AT(sf_Card, "temperature", temperature, temperature_shape),
    OBJECT_AT(sf_Card, "creep", creep, creep_shape),
    OBJECT_AT(sf_Card, "fatigue", fatigue, fatigue_shape),
    TEXT_AT(sf_Card, false, "cold_note", cold_note),
};
const sf_Shape sf_card_shape = { SHAPE_OF(sf_Card, card_fields), NULL };

void sf_card_destroy(sf_Card **card)
{
    if (!card || !*card)
        return;
    sf_arena_destroy(&(*card)->arena);
    sf_free(*card);
    *card = NULL;
}

sf_Status sf_card_parse(sf_Card **out, const char *name, const char *text, size_t size, sf_Error *err)
{
    *out = NULL;
    sf_Card *card = sf_alloc(1, sizeof *card);
    if (!card)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading %s", name);
    sf_Arena *arena;
    sf_Status status = sf_shape_parse(&sf_card_shape, name, text, size, card, &arena, CARD_ARENA_BYTES, err);
    if (status != SF_OK) {
        sf_free(card);
        return status;
    }
    card->arena = arena;
    *out = card;
    return SF_OK;
}

static const struct {
    const char *name;
    const unsigned char *text;
    const size_t *size;
} builtin[] = {
    { "pp-copolymer", sf_card_copolymer, &sf_card_copolymer_size },
    { "pp-homopolymer", sf_card_homopolymer, &sf_card_homopolymer_size },
};

const char *sf_card_builtin_name(size_t index)
{
    return index < sizeof builtin / sizeof *builtin ? builtin[index].name : NULL;
}

sf_Status sf_card_builtin(sf_Card **card, const char *name, sf_Error *err)
{
    *card = NULL;
    for (size_t i = 0; i < sizeof builtin / sizeof *builtin; i++)
        if (strcmp(builtin[i].name, name) == 0)
            return sf_card_parse(card, name, (const char *)builtin[i].text, *builtin[i].size, err);
    return SF_FAIL(err, SF_E_INPUT, "pylon.material",
                   "there is no material card '%.60s': take 'pp-copolymer' or 'pp-homopolymer', or name a card file "
                   "that ends in .json",
                   name);
}

sf_Status sf_card_find(sf_Card **card, const char *name_or_file, sf_Error *err)
{
    size_t length = strlen(name_or_file);
    *card = NULL;
    if (length < 5 || strcmp(name_or_file + length - 5, ".json") != 0)
        return sf_card_builtin(card, name_or_file, err);
    unsigned char *text = NULL;
    size_t size = 0;
    SF_TRY(sf_file_read(name_or_file, CARD_FILE_BYTES, &text, &size, err));
    sf_Status status = sf_card_parse(card, name_or_file, (const char *)text, size, err);
    sf_free(text);
    return status;
}

const char *sf_confidence_word(sf_Confidence confidence)
{
    return confidence == SF_CONFIDENCE_NONE ? "unsaid" : confidence_words[confidence - 1];
}

void sf_card_figure_replace(sf_CardFigure *figure, double reading, const char *by)
{
    *figure = (sf_CardFigure){ true, reading, reading, reading, SF_CONFIDENCE_SHOP_READING, by ? by : "the shop" };
}

sf_Status sf_card_at(sf_MaterialState *state, const sf_Card *card, double temperature_c, sf_Error *err)
{
    const sf_TemperaturePoint *p = card->temperature.points;
    size_t n = card->temperature.point_count;
    if (!(temperature_c >= p[0].temperature_c && temperature_c <= p[n - 1].temperature_c))
        return SF_FAIL(err, SF_E_RANGE, "temperature_c",
                       "%g C lies outside what the card '%s' knows: choose a temperature from %g to %g C",
                       temperature_c, card->name, p[0].temperature_c, p[n - 1].temperature_c);
    size_t i = 1;
    while (i < n - 1 && temperature_c > p[i].temperature_c)
        i++;
    double s = (temperature_c - p[i - 1].temperature_c) / (p[i].temperature_c - p[i - 1].temperature_c);
    double stiff = p[i - 1].modulus_factor + s * (p[i].modulus_factor - p[i - 1].modulus_factor);
    double strong = p[i - 1].yield_factor + s * (p[i].yield_factor - p[i - 1].yield_factor);
    double modulus = card->modulus.value * stiff;
    *state = (sf_MaterialState){ temperature_c, modulus, modulus / (2 * (1 + card->poisson_ratio.value)),
                                 card->yield.value * strong, card->compressive_yield.value * strong };
    return SF_OK;
}

double sf_card_strain_limit(const sf_Card *card)
{
    static const double unsaid = 0.05; // judgement: below the strain at yield of every data sheet that was read
    return card->strain_limit.there ? card->strain_limit.value : unsaid;
}

double sf_card_creep_ratio(const sf_Card *card, double hours)
{
    return 1 + card->creep.m * pow(hours, card->creep.n);
}

double sf_card_fatigue_stress(const sf_Card *card, double cycles)
{
    return card->fatigue.stress * pow(card->fatigue.cycles / cycles, 1 / card->fatigue.slope);
}
