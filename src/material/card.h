// SPDX-License-Identifier: GPL-3.0-or-later
// Material cards: what a formed sheet can bear, each figure with its range, source and confidence
// (docs/theory/materials.md).
#pragma once

#include "base/shape.h"

/// How far a figure can be trusted.
typedef enum sf_Confidence {
    SF_CONFIDENCE_NONE = 0,
    SF_CONFIDENCE_TWO_SOURCES,
    SF_CONFIDENCE_ONE_SOURCE,
    SF_CONFIDENCE_MEMORY,
    SF_CONFIDENCE_JUDGEMENT,
    SF_CONFIDENCE_SHOP_READING
} sf_Confidence;

typedef struct sf_CardFigure {
    bool there;
    double value, low, high;
    sf_Confidence confidence;
    const char *source;
} sf_CardFigure;

typedef struct sf_TemperaturePoint {
    bool there;
    double temperature_c; ///< degrees Celsius
    double modulus_factor, yield_factor;
} sf_TemperaturePoint;

typedef struct sf_TemperatureLaw {
    bool there;
    sf_TemperaturePoint *points; ///< rising temperature
    size_t point_count;
    sf_Confidence confidence;
    const char *source;
} sf_TemperatureLaw;

typedef struct sf_StressPoint {
    bool there;
    double strain, stress;
} sf_StressPoint;

/// Short-term stress over strain at 23 C beyond the first straight piece; scaled so that its greatest stress is the
/// yield and its first slope the modulus.
typedef struct sf_StressTable {
    bool there;
    sf_StressPoint *points; ///< rising strain, stress never falling; (0, 0) is not among them
    size_t point_count;
    sf_Confidence confidence;
    const char *source;
} sf_StressTable;

enum { SF_STRESS_POINTS = 16 };

/// strain(t) = stress / E (1 + m t^n), t in hours.
typedef struct sf_CreepLaw {
    bool there;
    double m, n, valid_to_stress, valid_to_temperature_c;
    sf_Confidence confidence;
    const char *source;
} sf_CreepLaw;

/// Stress borne for N pulses: stress (cycles / N)^(1/slope).
typedef struct sf_FatigueLaw {
    bool there;
    double stress, cycles, slope, stress_factor_band;
    sf_Confidence confidence;
    const char *source;
} sf_FatigueLaw;

typedef struct sf_Card {
    bool there;
    const char *name, *title, *valid, *cold_note;
    sf_CardFigure modulus, yield, compressive_yield, poisson_ratio, density, expansion, seam_factor;
    sf_CardFigure strain_limit;   ///< there == false: not given, see sf_card_strain_limit
    sf_StressTable stress_strain; ///< there == false: elastic up to yield, then flat
    sf_TemperatureLaw temperature;
    sf_CreepLaw creep;
    sf_FatigueLaw fatigue;
    sf_Arena *arena; ///< owns the texts; not a field of the file
} sf_Card;

extern const sf_Shape sf_card_shape;

/// Reads a card document: shape as docs/material.schema.json, then that every range holds its value, and that stiffness
/// and strength never rise with temperature. SF_E_INPUT with all problems, SF_E_PARSE, SF_E_MEMORY. Free with
/// sf_card_destroy.
sf_Status sf_card_parse(sf_Card **card, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;

/// A card that comes with the program, by name. SF_E_INPUT names the cards there are.
sf_Status sf_card_builtin(sf_Card **card, const char *name, sf_Error *err) SF_MUST_USE;

/// A card by name, or, where the name ends in ".json", from a file.
sf_Status sf_card_find(sf_Card **card, const char *name_or_file, sf_Error *err) SF_MUST_USE;

/// Frees and nulls; NULL and pointer to NULL are allowed.
void sf_card_destroy(sf_Card **card);

/// The name of builtin card `index`, NULL past the end.
const char *sf_card_builtin_name(size_t index);

/// The file's word for a confidence.
const char *sf_confidence_word(sf_Confidence confidence);

/// Puts a shop's own reading in a figure's place: value and range become the reading.
void sf_card_figure_replace(sf_CardFigure *figure, double reading, const char *by);

/// What the card says at one temperature. Pa.
typedef struct sf_MaterialState {
    double temperature_c, modulus, shear_modulus, yield, compressive_yield;
} sf_MaterialState;

/// The card at a temperature, linear between its points; E falls and so does G = E / (2 (1 + nu)). SF_E_RANGE outside
/// the card's points.
sf_Status sf_card_at(sf_MaterialState *state, const sf_Card *card, double temperature_c, sf_Error *err) SF_MUST_USE;

/// The strain at which collapse is taken to be reached: the card's, else 0.05 (judgement, on the side of caution).
double sf_card_strain_limit(const sf_Card *card);

/// Strain over elastic strain after `hours` of steady load.
double sf_card_creep_ratio(const sf_Card *card, double hours);

/// Greatest stress (Pa) of a pulsating load borne for `cycles`, at 23 C, net section.
double sf_card_fatigue_stress(const sf_Card *card, double cycles);
