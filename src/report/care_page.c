// SPDX-License-Identifier: GPL-3.0-or-later
// The care sheet: for the wearer, in plain words and large letters.
#include "report/limb_paper.h"

#include "base/units.h"

#include <math.h>

static void points(sf_LimbPaper *paper, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        sf_pages_point(&paper->pages, list[i]);
}

#define POINTS(paper, list) points(paper, list, sizeof(list) / sizeof *(list))

static void write_call(sf_LimbPaper *paper)
{
    static const char *const signs[] = {
        "A crack, a white line or a white patch on the plastic, most of all near a hole, the seam or the cone.",
        "A creak or a click that was not there, a foot that turned, tilts or wobbles, a mark across the clamp that no "
        "longer meets.",
        "Pain that is new or grows, skin that stays red for more than 10 minutes, a blister, a wound.",
        "The limb slips, or you need more socks than usual.",
        "A fall, a knock, or the limb left near heat.",
    };
    sf_pages_heading(&paper->pages, "Take the limb off and call us");
    POINTS(paper, signs);
    sf_pages_caution(&paper->pages, sf_paper_text("Telephone: %s. Do not walk on a cracked limb, not even home.",
                                                  sf_paper_or_line(paper->words->shop.telephone)));
}

static void write_shoes(sf_LimbPaper *paper)
{
    const sf_LimbData *d = &paper->limb->data;
    const char *band = paper->ask->inch ? "0.2 in" : "5 mm";
    sf_pages_heading(&paper->pages, "Shoes");
    if (isfinite(d->shoe.heel))
        sf_pages_text(&paper->pages, true,
                      sf_paper_text("This limb is set for a shoe heel of %s, give or take %s.",
                                    sf_paper_length(paper, d->shoe.heel), band));
    else
        sf_pages_text(&paper->pages, true,
                      sf_paper_text("This limb is set for a shoe heel of ________, give or take %s.", band));
    sf_pages_text(&paper->pages, false,
                  "Measured under the heel. A higher or lower heel tips the whole limb: come to us before you change "
                  "it. Barefoot counts "
                  "as another shoe.");
}

static void write_wearing(sf_LimbPaper *paper)
{
    static const char *const daily[] = {
        "Look at your skin after each wearing, with a mirror for the back. Redness should fade within 10 minutes.",
        "Put the limb on as you were shown; add or take off a sock when the fit changes during the day.",
    };
    double hours = paper->words->wear_in_first_day_h;
    sf_pages_heading(&paper->pages, "Wearing");
    sf_pages_point(
        &paper->pages,
        isfinite(hours)
            ? sf_paper_text("First day: %.1f hours in all. Each day a little longer while the skin stays clear.", hours)
            : "First day: ______ hours in all. Each day a little longer while the skin stays clear.");
    POINTS(paper, daily);
}

static void write_care(sf_LimbPaper *paper)
{
    static const char *const care[] = {
        "Wipe it inside every day with a damp cloth and mild soap; let it dry. No solvent, no thinner, no bleach.",
        "Keep it from heat: no stove, no radiator, no car in the sun, no hot water. Heat bends the plastic.",
        "Hard frost makes the plastic brittle: avoid jumps and knocks in great cold.",
        "Wet or sandy: rinse, dry, and look at the foot and its bolt. Ask us before you swim with it.",
        "Do not drill, file, glue, heat or oil anything, and do not turn any screw. The mark across the clamp tells "
        "you whether it moved.",
    };
    sf_pages_heading(&paper->pages, "Care");
    POINTS(paper, care);
}

static void write_limits(sf_LimbPaper *paper)
{
    const sf_LimbData *d = &paper->limb->data;
    double most = fmin(d->foot.max_user_mass, d->adapter.max_user_mass); // fmin leaves out what is not known
    sf_pages_heading(&paper->pages, "How much it was made for");
    sf_pages_text(&paper->pages, false,
                  sf_paper_text("It was made for you at %s%s. Tell us when you have become heavier, carry more, or do "
                                "harder work or sport.%s",
                                sf_paper_mass(paper, d->person.body_mass),
                                isfinite(d->person.habitual_load) && d->person.habitual_load > 0
                                    ? sf_paper_text(" and %s carried", sf_paper_mass(paper, d->person.habitual_load))
                                    : "",
                                isfinite(most)
                                    ? sf_paper_text(" Its parts are for %s at most, with all that you carry.",
                                                    sf_paper_mass(paper, most))
                                    : ""));
}

static void write_visits(sf_LimbPaper *paper)
{
    bool child = paper->limb->data.person.stature_count > 0 || paper->limb->data.person.knee_count > 0;
    sf_pages_heading(&paper->pages, "Visits");
    sf_pages_text(&paper->pages, false,
                  "After 2 weeks, after 3 months, then every 6 months; children every 3 months. We look for cracks and "
                  "whitening, the bolt, "
                  "the foot, the fit and your weight.");
    if (child)
        sf_pages_text(
            &paper->pages, true,
            "A growing child: bring the limb when one hip stands lower, the back leans, or a shoe wears on one side.");
    static const char *const lines[] = { "next visit", "who explained this sheet", "wearer or parent" };
    const char *const given[3] = { NULL, paper->words->prosthetist.name, NULL };
    sf_pages_sign(&paper->pages, lines, given, 3);
}

void sf_care_write(sf_LimbPaper *paper)
{
    write_call(paper);
    write_shoes(paper);
    write_wearing(paper);
    write_care(paper);
    write_limits(paper);
    write_visits(paper);
}
