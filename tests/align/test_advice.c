// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/advice.h"
#include "base/units.h"
#include "harness/tap.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#define TEACHING                                                                                                       \
    TAP_SOURCE("teaching material of the trade on gait deviations and their first adjustment (docs/theory/advice.md)")

static sf_SignTable table;

// A case that has the list of signs.
#define SIGN_CASE(name)                                                                                                \
    static void name##_with_signs(void);                                                                               \
    TAP_CASE(name)                                                                                                     \
    {                                                                                                                  \
        if (TAP_OK(sf_sign_table_load(&table, NULL)))                                                                  \
            name##_with_signs();                                                                                       \
        sf_sign_table_free(&table);                                                                                    \
    }                                                                                                                  \
    static void name##_with_signs(void)

SIGN_CASE(the_list_of_signs_is_read_whole)
{
    TAP_TRUE(table.sign_count >= 20 && table.check_count >= 20);
    TAP_TRUE(sf_sign_find(&table, "lateral-thrust") < table.sign_count);
    TAP_TRUE(sf_sign_find(&table, "no such sign") == table.sign_count);
    for (size_t i = 0; i < table.sign_count; i++) {
        const sf_Sign *s = &table.signs[i];
        bool speaks = s->sagittal || s->coronal || s->toe_out || s->sole;
        TAP_TRUE(s->words[0] != '\0' && s->name[0] != '\0' && speaks == (s->weight > 0), "%s", s->sign);
        TAP_TRUE(!(s->first && speaks), "%s", s->sign);
    }
}

static sf_Trial walk(sf_Settings settings)
{
    return (sf_Trial){ .settings = settings,
                       .after = settings,
                       .assistant = true,
                       .holding_torque = NAN,
                       .sock_ply = NAN,
                       .minutes_since_donning = NAN,
                       .comfort = NAN };
}

static void see(sf_Trial *trial, const char *sign, const char *phase, int strength)
{
    sf_TrialSign *s = &trial->signs[trial->sign_count++];
    s->sign = sf_sign_find(&table, sign);
    s->strength = strength;
    s->phase = table.signs[s->sign].phases[0];
    for (size_t i = 0; i < table.phase_count; i++)
        if (phase && strcmp(phase, table.phases[i]) == 0)
            s->phase = i;
}

static sf_TrialSet set_of(const sf_Trial *trials, size_t count)
{
    sf_TrialSet set = { .trials = trials, .count = count, .foot_length = 0.26, .socket_over_clamp = 0.18 };
    set.travel.known = true;
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        set.travel.moves[i] = true;
        set.travel.low[i] = -1;
        set.travel.high[i] = 1;
    }
    return set;
}

static sf_Suggestion last_of(const sf_TrialSet *set)
{
    sf_Advice advice;
    sf_Suggestion last = { 0 };
    if (TAP_OK(sf_advice_make(&advice, set, &table, NULL)))
        last = advice.said[advice.count - 1];
    sf_advice_free(&advice);
    return last;
}

SIGN_CASE(each_sign_is_answered_in_the_direction_the_trade_teaches)
{
    static const struct {
        const char *sign, *phase;
        sf_Setting setting;
        double direction;
    } RULES[] = {
        { "lateral-thrust", "mid-stance", SF_SETTING_FOOT_OUTSET, 1 },
        { "medial-thrust", "mid-stance", SF_SETTING_FOOT_OUTSET, -1 },
        { "knee-instability", NULL, SF_SETTING_FOOT_FORWARD, 1 },
        { "hyperextension", NULL, SF_SETTING_FOOT_FORWARD, -1 },
        { "drop-off", NULL, SF_SETTING_FOOT_FORWARD, 1 },
        { "walking-uphill", NULL, SF_SETTING_FOOT_FORWARD, -1 },
        { "foot-slap", NULL, SF_SETTING_FOOT_FORWARD, -1 },
        { "heel-jolt", NULL, SF_SETTING_FOOT_FORWARD, 1 },
        { "late-heel-off", NULL, SF_SETTING_FOOT_FORWARD, -1 },
        { "early-heel-off", NULL, SF_SETTING_FOOT_FORWARD, 1 },
        { "too-much-toe-out", NULL, SF_SETTING_TOE_OUT, -1 },
        { "too-little-toe-out", NULL, SF_SETTING_TOE_OUT, 1 },
        { "wide-base", NULL, SF_SETTING_FOOT_OUTSET, -1 },
        { "narrow-base", NULL, SF_SETTING_FOOT_OUTSET, 1 },
    };
    for (size_t i = 0; i < sizeof RULES / sizeof *RULES; i++) {
        sf_Trial trial = walk((sf_Settings){ { 0 } });
        see(&trial, RULES[i].sign, RULES[i].phase, 2);
        sf_TrialSet set = set_of(&trial, 1);
        sf_Suggestion s = last_of(&set);
        TAP_TRUE(s.kind == SF_ADVICE_CHANGE && s.first.setting == RULES[i].setting, "%s: kind %d, setting %d",
                 RULES[i].sign, s.kind, s.first.setting);
        TAP_NEAR(copysign(1, s.first.change), RULES[i].direction, TAP_EXACT, TEACHING);
        // The same by the clamp's tilt where the foot cannot be shifted: dorsiflexion as foot back, inversion as
        // outset.
        set.travel.moves[SF_SETTING_FOOT_FORWARD] = set.travel.moves[SF_SETTING_FOOT_OUTSET] = false;
        s = last_of(&set);
        if (RULES[i].setting != SF_SETTING_TOE_OUT && RULES[i].setting == SF_SETTING_FOOT_FORWARD) {
            TAP_TRUE(s.first.setting == SF_SETTING_DORSIFLEXION, "%s", RULES[i].sign);
            TAP_NEAR(copysign(1, s.first.change), -RULES[i].direction, TAP_EXACT, TEACHING);
        }
        if (RULES[i].setting == SF_SETTING_FOOT_OUTSET && s.first.setting == SF_SETTING_EVERSION)
            TAP_NEAR(copysign(1, s.first.change), -RULES[i].direction, TAP_EXACT, TEACHING);
    }
}

SIGN_CASE(a_thrust_in_late_stance_speaks_for_toe_out_too)
{
    sf_Trial trial = walk((sf_Settings){ { 0 } });
    see(&trial, "lateral-thrust", "terminal-stance", 2);
    sf_TrialSet set = set_of(&trial, 1);
    set.travel.moves[SF_SETTING_FOOT_OUTSET] = set.travel.moves[SF_SETTING_EVERSION] = false;
    sf_Suggestion s = last_of(&set);
    TAP_TRUE(s.kind == SF_ADVICE_CHANGE && s.first.setting == SF_SETTING_TOE_OUT, "kind %d", s.kind);
    TAP_NEAR(copysign(1, s.first.change), 1, TAP_EXACT, TEACHING);
}

SIGN_CASE(sagittal_goes_before_coronal)
{
    sf_Trial trial = walk((sf_Settings){ { 0 } });
    see(&trial, "lateral-thrust", "mid-stance", 2);
    see(&trial, "drop-off", NULL, 2);
    see(&trial, "knee-instability", NULL, 2);
    sf_TrialSet set = set_of(&trial, 1);
    sf_Suggestion s = last_of(&set);
    TAP_TRUE(s.plane == SF_PLANE_SAGITTAL);
    bool outset_listed = false;
    for (size_t i = 0; i < s.other_count; i++)
        outset_listed |= s.others[i].setting == SF_SETTING_FOOT_OUTSET && s.others[i].change > 0;
    TAP_TRUE(outset_listed, "the other change must be shown with its reason");
}

SIGN_CASE(skin_and_pain_stop_the_walking)
{
    static const struct {
        sf_Skin skin;
        double before, now;
        bool stops;
    } CASES[] = { { SF_SKIN_CLEAR, 0, 0, false }, { SF_SKIN_FADES, 0, 0, false }, { SF_SKIN_STAYS, 0, 0, true },
                  { SF_SKIN_BROKEN, 0, 0, true }, { SF_SKIN_CLEAR, 0, 1, true },  { SF_SKIN_CLEAR, 1, 2, false },
                  { SF_SKIN_CLEAR, 1, 3, true },  { SF_SKIN_CLEAR, 3, 3, false }, { SF_SKIN_CLEAR, 4, 4, true },
                  { SF_SKIN_CLEAR, 3, 2, false } };
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        sf_Trial trials[2] = { walk((sf_Settings){ { 0 } }), walk((sf_Settings){ { 0 } }) };
        see(&trials[0], "drop-off", NULL, 1);
        see(&trials[1], "drop-off", NULL, 1);
        trials[0].pain = CASES[i].before;
        trials[1].pain = CASES[i].now;
        trials[1].skin = CASES[i].skin;
        sf_TrialSet set = set_of(trials, 2);
        TAP_TRUE((last_of(&set).kind == SF_ADVICE_FIT_FIRST) == CASES[i].stops, "case %zu", i);
    }
}

SIGN_CASE(suspension_and_length_come_before_any_change)
{
    sf_Trial trial = walk((sf_Settings){ { 0 } });
    see(&trial, "pistoning", NULL, 2);
    see(&trial, "lateral-thrust", NULL, 3);
    sf_TrialSet set = set_of(&trial, 1);
    TAP_TRUE(last_of(&set).kind == SF_ADVICE_CHECK_FIRST);
    for (size_t c = 0; c < table.check_count; c++)
        set.excluded[c] = table.checks[c].before_alignment;
    TAP_TRUE(last_of(&set).kind == SF_ADVICE_CHANGE);
}

SIGN_CASE(heel_and_toe_signs_that_ask_opposite_moves_get_no_shift)
{
    static const char *const PAIRS[][2] = { { "knee-instability", "walking-uphill" },
                                            { "hyperextension", "drop-off" } };
    for (int i = 0; i < 2; i++)
        for (int strength = 1; strength <= 3; strength++) {
            sf_Trial trial = walk((sf_Settings){ { 0 } });
            see(&trial, PAIRS[i][0], NULL, strength);
            see(&trial, PAIRS[i][1], NULL, strength);
            sf_TrialSet set = set_of(&trial, 1);
            sf_Suggestion s = last_of(&set);
            TAP_TRUE(s.heel_toe_conflict);
            TAP_TRUE(s.kind != SF_ADVICE_CHANGE || sf_advice_plane(s.first.setting) != SF_PLANE_SAGITTAL, "%s with %s",
                     PAIRS[i][0], PAIRS[i][1]);
        }
}

SIGN_CASE(a_loaded_outer_border_with_lateral_thrust_gets_outset_or_a_new_forming)
{
    sf_Trial trial = walk((sf_Settings){ { 0 } });
    see(&trial, "lateral-edge-loaded", NULL, 2);
    sf_TrialSet set = set_of(&trial, 1);
    sf_Suggestion s = last_of(&set);
    TAP_TRUE(s.kind == SF_ADVICE_CHANGE && s.first.setting == SF_SETTING_EVERSION && s.first.change > 0);
    see(&trial, "lateral-thrust", "mid-stance", 2);
    s = last_of(&set);
    TAP_TRUE(s.edge_conflict);
    TAP_TRUE(s.kind == SF_ADVICE_CHANGE && s.first.setting == SF_SETTING_FOOT_OUTSET && s.first.change > 0, "kind %d",
             s.kind);
    for (size_t i = 0; i < s.other_count; i++)
        TAP_TRUE(s.others[i].setting != SF_SETTING_EVERSION);
    // A clamp that tilts but cannot shift has no answer to the two together.
    set.travel.moves[SF_SETTING_FOOT_OUTSET] = false;
    s = last_of(&set);
    TAP_TRUE(s.first.setting != SF_SETTING_EVERSION || s.kind != SF_ADVICE_CHANGE);
    TAP_TRUE(s.lacking[SF_PLANE_CORONAL] && s.lacking_change[SF_PLANE_CORONAL] > 0);
}

SIGN_CASE(contradicting_walks_widen_the_bracket_and_say_so)
{
    sf_Trial one[2] = { walk((sf_Settings){ { 0 } }), walk((sf_Settings){ { 0 } }) };
    sf_Trial two[2] = { walk((sf_Settings){ { 0 } }), walk((sf_Settings){ { 0 } }) };
    see(&one[0], "lateral-thrust", NULL, 2);
    see(&one[1], "lateral-thrust", NULL, 2);
    see(&two[0], "lateral-thrust", NULL, 2);
    see(&two[1], "medial-thrust", NULL, 2);
    sf_TrialSet agree = set_of(one, 2), disagree = set_of(two, 2);
    sf_Advice a, b;
    TAP_OK(sf_advice_make(&a, &agree, &table, NULL));
    TAP_OK(sf_advice_make(&b, &disagree, &table, NULL));
    sf_Bracket x = a.brackets[SF_SETTING_FOOT_OUTSET], y = b.brackets[SF_SETTING_FOOT_OUTSET];
    TAP_TRUE(!x.contradiction && y.contradiction);
    TAP_TRUE(y.high - y.low > x.high - x.low, "%.1f against %.1f mm", y.high - y.low, x.high - x.low);
    TAP_TRUE(x.low > 0 && y.low < 0 && y.high > 0);
    sf_advice_free(&a);
    sf_advice_free(&b);
}

SIGN_CASE(brackets_narrow_as_walks_agree)
{
    sf_Trial trials[4];
    double before = 1e9;
    for (size_t n = 1; n <= 4; n++) {
        trials[n - 1] = walk((sf_Settings){ { 0 } });
        see(&trials[n - 1], "drop-off", NULL, 1);
        see(&trials[n - 1], "knee-instability", NULL, 1);
        sf_TrialSet set = set_of(trials, n);
        sf_Advice a;
        TAP_OK(sf_advice_make(&a, &set, &table, NULL));
        sf_Bracket b = a.brackets[SF_SETTING_FOOT_FORWARD];
        TAP_TRUE(b.high - b.low < before, "after %zu walks %.2f mm", n, b.high - b.low);
        TAP_TRUE(b.low > 0);
        before = b.high - b.low;
        // The same need said in degrees at the clamp: 180 mm above it a degree is 3.14 mm, the other way round.
        sf_Bracket t = a.brackets[SF_SETTING_DORSIFLEXION];
        TAP_NEAR(t.high - t.low, (b.high - b.low) / (180 * SF_DEG), TAP_TIGHT, TAP_CLOSED_FORM);
        TAP_NEAR(t.low, -b.high / (180 * SF_DEG), TAP_TIGHT, TAP_CLOSED_FORM);
        sf_advice_free(&a);
    }
}

SIGN_CASE(walks_without_signs_come_to_an_end)
{
    sf_Trial trials[6];
    int ended = 0;
    for (size_t n = 1; n <= 6; n++) {
        trials[n - 1] = walk((sf_Settings){ { 0 } });
        sf_TrialSet set = set_of(trials, n);
        if (last_of(&set).kind == SF_ADVICE_SETTLED && !ended)
            ended = (int)n;
    }
    TAP_TRUE(ended >= 2, "one walk without a sign is too little to settle on: ended after %d", ended);
    see(&trials[5], "lateral-thrust", NULL, 1);
    sf_TrialSet set = set_of(trials, 6);
    TAP_TRUE(last_of(&set).kind != SF_ADVICE_SETTLED);
}

SIGN_CASE(three_changes_that_bring_nothing_end_the_trials)
{
    sf_Trial trials[6];
    sf_Settings now = { { 0 } };
    sf_AdviceKind kinds[6];
    for (size_t n = 1; n <= 6; n++) {
        trials[n - 1] = walk(now);
        see(&trials[n - 1], "lateral-thrust", "mid-stance", 2);
        see(&trials[n - 1], "lateral-thrust", "terminal-stance", 2);
        sf_TrialSet set = set_of(trials, n);
        sf_Suggestion s = last_of(&set);
        kinds[n - 1] = s.kind;
        if (s.kind == SF_ADVICE_CHANGE)
            now.value[s.first.setting] += s.first.change * sf_setting_factor(s.first.setting);
    }
    bool ended = false;
    for (size_t n = 3; n < 6; n++)
        ended |= kinds[n] == SF_ADVICE_NO_GAIN;
    TAP_TRUE(kinds[0] == SF_ADVICE_CHANGE && ended, "kinds %d %d %d %d %d %d", kinds[0], kinds[1], kinds[2], kinds[3],
             kinds[4], kinds[5]);
}

SIGN_CASE(travel_ends_at_the_adapter_and_missing_motions_are_never_asked_for)
{
    sf_Trial trial = walk((sf_Settings){ { 0, 0, 6 * SF_MM, 0, 0 } });
    see(&trial, "lateral-thrust", "mid-stance", 3);
    see(&trial, "lateral-thrust", "terminal-stance", 3);
    sf_TrialSet set = set_of(&trial, 1);
    set.travel.high[SF_SETTING_FOOT_OUTSET] = 10 * SF_MM;
    set.travel.moves[SF_SETTING_EVERSION] = false;
    sf_Suggestion s = last_of(&set);
    TAP_TRUE(s.first.setting == SF_SETTING_FOOT_OUTSET);
    TAP_NEAR(s.first.to, 10, TAP_TIGHT, TAP_INVENTED);
    for (int i = 1; i < SF_SETTING_COUNT; i++)
        set.travel.moves[i] = false;
    s = last_of(&set);
    TAP_TRUE(s.kind != SF_ADVICE_CHANGE || s.first.setting == SF_SETTING_TOE_OUT);
    TAP_TRUE(s.lacking[SF_PLANE_CORONAL] && !s.lacking[SF_PLANE_SAGITTAL]);
    TAP_TRUE(s.lacking_change[SF_PLANE_CORONAL] > 4);
}

SIGN_CASE(a_walk_that_slipped_counts_less)
{
    sf_Trial good = walk((sf_Settings){ { 0 } }), slipped = good;
    see(&good, "drop-off", NULL, 3);
    see(&slipped, "drop-off", NULL, 3);
    slipped.after.value[SF_SETTING_TOE_OUT] = 3 * SF_DEG;
    sf_TrialSet a = set_of(&good, 1), b = set_of(&slipped, 1);
    TAP_TRUE(!sf_trial_slipped(&good) && sf_trial_slipped(&slipped));
    sf_Suggestion x = last_of(&a), y = last_of(&b);
    TAP_TRUE(y.slipped && !x.slipped);
    TAP_TRUE(x.chance[SF_PLANE_SAGITTAL] < y.chance[SF_PLANE_SAGITTAL]);
    TAP_TRUE(y.kind != SF_ADVICE_CHANGE || y.first.setting != SF_SETTING_TOE_OUT || y.first.from == 3);
    slipped = good;
    slipped.witness_broken = true;
    TAP_TRUE(sf_trial_slipped(&slipped));
}

TAP_MAIN(TAP_RUN(the_list_of_signs_is_read_whole), TAP_RUN(each_sign_is_answered_in_the_direction_the_trade_teaches),
         TAP_RUN(a_thrust_in_late_stance_speaks_for_toe_out_too), TAP_RUN(sagittal_goes_before_coronal),
         TAP_RUN(skin_and_pain_stop_the_walking), TAP_RUN(suspension_and_length_come_before_any_change),
         TAP_RUN(heel_and_toe_signs_that_ask_opposite_moves_get_no_shift),
         TAP_RUN(a_loaded_outer_border_with_lateral_thrust_gets_outset_or_a_new_forming),
         TAP_RUN(contradicting_walks_widen_the_bracket_and_say_so), TAP_RUN(brackets_narrow_as_walks_agree),
         TAP_RUN(walks_without_signs_come_to_an_end), TAP_RUN(three_changes_that_bring_nothing_end_the_trials),
         TAP_RUN(travel_ends_at_the_adapter_and_missing_motions_are_never_asked_for),
         TAP_RUN(a_walk_that_slipped_counts_less))
