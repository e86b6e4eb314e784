// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/advise_words.h"

#include <math.h>
#include <string.h>

static const char *const STRENGTHS[] = { "", "slight", "clear", "strong" };

const char *sf_advise_words_plane(sf_Plane plane)
{
    static const char *const words[] = { "sagittal", "rotation", "coronal" };
    return words[plane];
}

const char *sf_advise_words_off(sf_Plane plane, int too_far)
{
    static const char *const more[] = { "too far forward", "turned out too far", "too far out" };
    static const char *const less[] = { "too far back", "turned out too little", "too far in" };
    return too_far > 0 ? more[plane] : less[plane];
}

static sf_Plane plane_of(sf_Effect effect)
{
    if (effect <= SF_EFFECT_SAGITTAL_LATE)
        return SF_PLANE_SAGITTAL;
    return effect == SF_EFFECT_TOE_OUT ? SF_PLANE_ROTATION : SF_PLANE_CORONAL;
}

// A phase as it is spoken: "mid-stance" keeps its hyphen, "terminal-stance" is two words.
static void name_phase(sf_Text *text, const char *phase)
{
    bool bound = strncmp(phase, "mid-", 4) == 0 || strncmp(phase, "pre-", 4) == 0;
    for (; *phase; phase++)
        sf_text_add_bytes(text, *phase == '-' && !bound ? " " : phase, 1);
}

static void name_sign(sf_Text *text, const sf_SignTable *table, const sf_TrialSign *seen, size_t before)
{
    sf_text_format(text, "%s%s in ", before ? ", " : "", table->signs[seen->sign].name);
    name_phase(text, table->phases[seen->phase]);
    sf_text_format(text, " (%s)", STRENGTHS[seen->strength]);
}

size_t sf_advise_words_signs(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial, sf_Plane plane)
{
    size_t count = 0;
    for (size_t i = 0; i < trial->sign_count; i++) {
        int direction = 0;
        sf_Effect effect = sf_sign_effect(table, trial->signs[i].sign, trial->signs[i].phase, &direction);
        if (plane == SF_PLANE_COUNT || (effect != SF_EFFECT_COUNT && plane_of(effect) == plane))
            name_sign(text, table, &trial->signs[i], count++);
    }
    return count;
}

static size_t sole_signs(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial)
{
    size_t count = 0;
    for (size_t i = 0; i < trial->sign_count; i++)
        if (table->signs[trial->signs[i].sign].sole)
            name_sign(text, table, &trial->signs[i], count++);
    return count;
}

static void name_change(sf_Text *text, const sf_Proposal *p)
{
    sf_text_format(text, "%s %g %s", sf_setting_move_words(p->setting, p->change), fabs(p->change),
                   sf_setting_unit(p->setting));
}

// A sign may be answered from another plane: toe-out for a thrust in late stance.
static size_t signs_answered(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial, sf_Plane plane)
{
    size_t count = sf_advise_words_signs(text, table, trial, plane);
    return count == 0 && plane == SF_PLANE_ROTATION ? sf_advise_words_signs(text, table, trial, SF_PLANE_CORONAL)
                                                    : count;
}

void sf_advise_words_why(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial, const sf_Suggestion *said)
{
    const sf_Proposal *p = &said->first;
    if (said->for_sole) {
        size_t count = sole_signs(text, table, trial);
        sf_text_add(text, count == 1 ? " says that the sole does not stand flat; "
                                     : " say that the sole does not stand flat; ");
        name_change(text, p);
        sf_text_add(text, " brings both borders to the floor");
        return;
    }
    size_t count = signs_answered(text, table, trial, said->plane);
    if (count == 0)
        sf_text_add(text, "The walks so far, taken together, say");
    else
        sf_text_add(text, count == 1 ? " says" : " together with the walks before say");
    sf_text_format(text, " that the foot stands %s for the knee; ", sf_advise_words_off(said->plane, -said->toward));
    name_change(text, p);
    sf_text_add(text, " moves the load to where the knee can carry it quietly");
}

void sf_advise_words_expects(sf_Text *text, const sf_SignTable *table, const sf_Trial *trial, const sf_Suggestion *said)
{
    size_t count = said->for_sole ? sole_signs(text, table, trial) : signs_answered(text, table, trial, said->plane);
    if (count == 0)
        sf_text_format(text, "no sign in the %s plane", sf_advise_words_plane(said->plane));
    else
        sf_text_add(text, ": gone or less in the next walk");
}

void sf_advise_words_stop(sf_Text *text, const sf_Trials *trials, const sf_Suggestion *said)
{
    const sf_Trial *last = &trials->trials[trials->set.count - 1];
    switch (said->kind) {
    case SF_ADVICE_FIT_FIRST:
        if (said->stop_for == SF_STOP_SKIN)
            sf_text_format(text,
                           "the skin is %s: stop walking, take the limb off and put the fit right first; no "
                           "alignment change mends a socket that hurts the skin",
                           last->skin == SF_SKIN_BROKEN ? "broken" : "still marked after 10 minutes");
        else
            sf_text_format(text, "pain is at %g of 10, new or risen: stop walking and put the fit right first",
                           last->pain);
        break;
    case SF_ADVICE_SETTLED:
        sf_text_add(text, "no sign in the last walk and every bracket is inside its resolution: a smaller change could "
                          "not be told apart; a named prosthetist settles it");
        break;
    case SF_ADVICE_NO_GAIN:
        sf_text_add(text, "three changes in a row brought nothing: leave the settings, and look again at fit, "
                          "suspension, length, shoe and foot before the next one");
        break;
    case SF_ADVICE_LACKING:
        sf_text_add(text, "what the signs ask for is a motion that this adapter lacks or has used up: a wedge, a new "
                          "forming, or a heat correction by a licensed person");
        break;
    case SF_ADVICE_CHECK_FIRST:
        sf_text_add(text,
                    "what was seen has causes other than alignment: work through the list first, name what was found "
                    "in order under 'excluded', and walk again before any setting is moved");
        break;
    case SF_ADVICE_WALK_AGAIN:
        if (said->heel_toe_conflict)
            sf_text_add(text, "heel and toe signs ask opposite moves, and no shift mends both: look at heel stiffness, "
                              "keel and shoe heel, and walk again as it is");
        else
            sf_text_add(text, "no change is worth while on what was seen: walk once more as it is");
        break;
    case SF_ADVICE_CHANGE: break;
    }
}
