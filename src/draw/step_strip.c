// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/step_strip.h"

#include "base/units.h"
#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>

enum { COLUMNS = 320, SINGLE_MOST = 420, LABELS_MOST = 24, DIAMONDS_MOST = 300 };

static const sf_PaperMm AXIS = 9, HEAD = 8, FEET = 17; // scale at the left, labels above, contacts and legend below
static const sf_PaperMm WIDEST_GAP = 5;
static const double LOW_SHARE = 0.6, HIGH_SHARE = 1.7; // of the median step
static const sf_Pen MARK_PEN = { { 0.70, 0.22, 0.02 }, 0.3, SF_DASH_NONE };

typedef struct Walk {
    sf_Sheet *sheet;
    const sf_StepStrip *strip;
    sf_StripScale scale;
    sf_Box box;
} Walk;

// A new stretch begins with a pass and after a pause.
static bool begins(const sf_StepStrip *s, size_t i)
{
    return i == 0 || s->report->use[i] == SF_CONTACT_FIRST;
}

// Time walked from the start of the stretch on; a double contact has a time too.
static double since(const sf_StepStrip *s, size_t i)
{
    return s->list->items[i].time - s->list->items[i - 1].time;
}

static bool counts(const sf_StepStrip *s, size_t i)
{
    return s->report->use[i] == SF_CONTACT_STEP || s->report->use[i] == SF_CONTACT_ODD;
}

static double median_of(const sf_StepStrip *s)
{
    double sum = 0, n = 0;
    for (size_t g = 0; g < s->report->group_count; g++) {
        const sf_StepGroup *group = &s->report->groups[g];
        double m = group->median_step * (group->one_sided ? 2 : 1), steps = (double)group->footfalls;
        if (isfinite(m)) {
            sum += m * steps;
            n += steps;
        }
    }
    return n > 0 ? sum / n : 1;
}

sf_StripScale sf_step_strip_scale(sf_Box box, const sf_StepStrip *s)
{
    sf_StripScale k = {
        .left = box.x + AXIS, .right = box.x + box.width - 1, .top = box.y + HEAD, .bottom = box.y + box.height - FEET
    };
    double walked = 0, stretches = 0, median = median_of(s);
    for (size_t i = 0; i < s->list->count; i++) {
        if (begins(s, i))
            stretches++;
        else
            walked += since(s, i);
        k.steps += counts(s, i);
    }
    double width = k.right - k.left;
    k.gap = stretches > 1 ? fmin(WIDEST_GAP, 0.25 * width / (stretches - 1)) : 0;
    k.mm_per_s = walked > 0 ? (width - k.gap * fmax(stretches - 1, 0)) / walked : 0;
    k.low = LOW_SHARE * median;
    k.high = HIGH_SHARE * median;
    k.single = s->list->count <= SINGLE_MOST;
    return k;
}

static double step_y(const sf_StripScale *k, double length)
{
    double share = (length - k->low) / (k->high - k->low);
    return k->bottom - (k->bottom - k->top) * fmin(fmax(share, 0), 1);
}

// ---- axes ----------------------------------------------------------------------------------------------------------

static void paint_axes(const Walk *w)
{
    const sf_StripScale *k = &w->scale;
    const sf_Pen line = { SF_INK, 0.2, SF_DASH_NONE }, faint = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    double span = k->high - k->low, step = span > 2 ? 0.5 : span > 0.9 ? 0.2 : 0.1;
    for (double t = ceil(k->low / step) * step; t <= k->high; t += step) {
        char text[16];
        double y = step_y(k, t);
        snprintf(text, sizeof text, "%.1f s", t);
        sf_sheet_line(w->sheet, (sf_Spot){ k->left, y }, (sf_Spot){ k->right, y }, &faint);
        sf_sheet_text(w->sheet, (sf_Spot){ k->left - 1, y + 0.9 }, &right, text);
    }
    sf_sheet_line(w->sheet, (sf_Spot){ k->left, k->bottom }, (sf_Spot){ k->left, k->top }, &line);
    sf_sheet_line(w->sheet, (sf_Spot){ k->left, k->bottom }, (sf_Spot){ k->right, k->bottom }, &line);
}

// Median of each side, where all is one kind of support.
static void paint_medians(const Walk *w)
{
    if (w->strip->report->group_count != 1)
        return;
    const sf_StepGroup *g = &w->strip->report->groups[0];
    for (int side = 0; side < 2; side++) {
        double length = g->one_sided ? g->stride_time[side] : g->step_time[side];
        const sf_Pen pen = { SF_INK_SCRIBE, 0.25, side ? SF_DASH_SHORT : SF_DASH_NONE };
        if (isfinite(length))
            sf_sheet_line(w->sheet, (sf_Spot){ w->scale.left, step_y(&w->scale, length) },
                          (sf_Spot){ w->scale.right, step_y(&w->scale, length) }, &pen);
    }
}

// ---- marks ---------------------------------------------------------------------------------------------------------

// Left: an open circle. Right: a full triangle.
static void paint_step(sf_Sheet *sheet, sf_Spot at, int side)
{
    if (side == SF_FOOT_LEFT) {
        sf_sheet_dot(sheet, at, 0.75, SF_PAPER);
        sf_sheet_circle(sheet, at, 0.75, &(sf_Pen){ SF_INK, 0.25, SF_DASH_NONE });
        return;
    }
    const sf_Spot spots[] = { { at.x, at.y - 0.95 }, { at.x + 0.85, at.y + 0.6 }, { at.x - 0.85, at.y + 0.6 } };
    sf_sheet_fill(sheet, &(sf_Loop){ spots, 3 }, 1, SF_INK);
}

static void paint_diamond(sf_Sheet *sheet, sf_Spot at)
{
    const sf_Spot spots[] = { { at.x, at.y - 2 }, { at.x + 2, at.y }, { at.x, at.y + 2 }, { at.x - 2, at.y } };
    sf_sheet_polyline(sheet, spots, 4, true, &MARK_PEN);
}

static void paint_cross(sf_Sheet *sheet, sf_Spot at)
{
    sf_sheet_line(sheet, (sf_Spot){ at.x - 0.8, at.y - 0.8 }, (sf_Spot){ at.x + 0.8, at.y + 0.8 }, &MARK_PEN);
    sf_sheet_line(sheet, (sf_Spot){ at.x - 0.8, at.y + 0.8 }, (sf_Spot){ at.x + 0.8, at.y - 0.8 }, &MARK_PEN);
}

static void paint_missed(const Walk *w, double from, double to)
{
    const sf_StripScale *k = &w->scale;
    const sf_Spot spots[] = { { from, k->top }, { to, k->top }, { to, k->bottom }, { from, k->bottom } };
    sf_sheet_hatch(w->sheet, &(sf_Loop){ spots, 4 }, 1, SF_PI / 4, 1.2, &(sf_Pen){ SF_INK_FAINT, 0.15, SF_DASH_NONE });
}

// Contacts stand below the step times: left upward from the middle line, right downward.
static void paint_contact(const Walk *w, size_t i, double x)
{
    const sf_Footfall *f = &w->strip->list->items[i];
    double middle = w->scale.bottom + 5, dy = f->side == SF_FOOT_LEFT ? -3 : 3;
    sf_sheet_line(w->sheet, (sf_Spot){ x, middle }, (sf_Spot){ x, middle + dy },
                  &(sf_Pen){ SF_INK, 0.25, SF_DASH_NONE });
    if (w->strip->report->use[i] == SF_CONTACT_DOUBLE)
        paint_cross(w->sheet, (sf_Spot){ x, middle + dy });
}

static void paint_break(const Walk *w, double x)
{
    double middle = w->scale.bottom + 5;
    for (int i = 0; i < 2; i++) {
        double at = x + (i ? 0.5 : -0.5);
        sf_sheet_line(w->sheet, (sf_Spot){ at - 0.5, middle + 2 }, (sf_Spot){ at + 0.5, middle - 2 },
                      &(sf_Pen){ SF_INK_SOFT, 0.2, SF_DASH_NONE });
    }
}

// Support is lettered where it changes, as far as there is room.
static void letter_support(const Walk *w, size_t i, double x, double *free_from)
{
    const sf_Footfall *f = &w->strip->list->items[i];
    bool changes = i == 0 || w->strip->list->items[i - 1].support != f->support;
    if (f->support == SF_WALK_UNSAID || !changes || x < *free_from)
        return;
    const sf_Lettering style = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    const char *word = sf_footfall_support_word((sf_WalkSupport)f->support);
    double wide = sf_sheet_text_width(w->sheet, &style, word);
    if (x + wide > w->box.x + w->box.width)
        return;
    sf_sheet_text(w->sheet, (sf_Spot){ x, w->box.y + 2.6 }, &style, word);
    *free_from = x + wide + 2;
}

static void paint_singly(const Walk *w)
{
    const sf_StripScale *k = &w->scale;
    const sf_StepStrip *s = w->strip;
    double x = k->left, free_from = 0;
    for (size_t i = 0; i < s->list->count; i++) {
        double before = x;
        if (!begins(s, i)) {
            x += since(s, i) * k->mm_per_s;
        } else if (i > 0) {
            x += k->gap;
            paint_break(w, (before + x) / 2);
        }
        letter_support(w, i, x, &free_from);
        if (s->report->use[i] == SF_CONTACT_MISSED)
            paint_missed(w, x - s->report->length[i] * k->mm_per_s, x);
        paint_contact(w, i, x);
        if (counts(s, i))
            paint_step(w->sheet, (sf_Spot){ x, step_y(k, s->report->length[i]) },
                       s->sides_known ? s->list->items[i].side : 0);
    }
}

// Too many for single marks: the range of each side's steps, column by column.
static void paint_ranges(const Walk *w)
{
    double low[COLUMNS][2], high[COLUMNS][2], x, free_from = 0;
    const sf_StripScale *k = &w->scale;
    const sf_StepStrip *s = w->strip;
    for (size_t c = 0; c < COLUMNS; c++)
        for (int side = 0; side < 2; side++) {
            low[c][side] = INFINITY;
            high[c][side] = -INFINITY;
        }
    x = k->left;
    for (size_t i = 0; i < s->list->count; i++) {
        x += begins(s, i) ? (i > 0 ? k->gap : 0) : since(s, i) * k->mm_per_s;
        letter_support(w, i, x, &free_from);
        if (!counts(s, i))
            continue;
        size_t c = (size_t)fmin(fmax((x - k->left) / (k->right - k->left) * COLUMNS, 0), COLUMNS - 1);
        int side = s->sides_known ? s->list->items[i].side : 0;
        low[c][side] = fmin(low[c][side], s->report->length[i]);
        high[c][side] = fmax(high[c][side], s->report->length[i]);
    }
    double pitch = (k->right - k->left) / COLUMNS;
    for (size_t c = 0; c < COLUMNS; c++)
        for (int side = 0; side < 2; side++) {
            if (!(high[c][side] >= low[c][side]))
                continue;
            double at = k->left + pitch * ((double)c + 0.3 + 0.4 * side);
            double y = step_y(k, high[c][side]), end = fmax(step_y(k, low[c][side]), y + 0.3);
            sf_sheet_line(w->sheet, (sf_Spot){ at, y }, (sf_Spot){ at, end },
                          &(sf_Pen){ side ? SF_INK : SF_INK_FAINT, 0.8 * pitch / 2, SF_DASH_NONE });
        }
}

// Odd steps: a diamond each, the first of them with figures above where there is room.
static void paint_odd(const Walk *w)
{
    const sf_StripScale *k = &w->scale;
    const sf_StepStrip *s = w->strip;
    const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK_MARK };
    double x = k->left, free_from = k->left - AXIS;
    size_t labels = 0, marks = 0;
    for (size_t i = 0; i < s->list->count; i++) {
        x += begins(s, i) ? (i > 0 ? k->gap : 0) : since(s, i) * k->mm_per_s;
        if (s->report->use[i] != SF_CONTACT_ODD || marks++ >= DIAMONDS_MOST)
            continue;
        double y = step_y(k, s->report->length[i]);
        paint_diamond(w->sheet, (sf_Spot){ x, y });
        char text[32];
        snprintf(text, sizeof text, "%.2f s", s->report->length[i]);
        double half = sf_sheet_text_width(w->sheet, &style, text) / 2;
        if (labels < LABELS_MOST && x - half > free_from && x + half < w->box.x + w->box.width) {
            sf_sheet_line(w->sheet, (sf_Spot){ x, y - 2 }, (sf_Spot){ x, w->box.y + 6.6 },
                          &(sf_Pen){ SF_INK_MARK, 0.13, SF_DASH_NONE });
            sf_sheet_text(w->sheet, (sf_Spot){ x, w->box.y + 6 }, &style, text);
            free_from = x + half + 1;
            labels++;
        }
    }
}

static void paint_legend(const Walk *w)
{
    const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK_SOFT };
    double y = w->box.y + w->box.height - 2.4, x = w->scale.left;
    const sf_StepStrip *s = w->strip;
    for (int side = 0; side < (s->sides_known ? 2 : 1); side++) {
        if (w->scale.single)
            paint_step(w->sheet, (sf_Spot){ x + 1, y - 0.9 }, side);
        else
            sf_sheet_fill_box(w->sheet, (sf_Box){ x, y - 1.8, 2, 1.8 }, side ? SF_INK : SF_INK_FAINT);
        char text[64];
        snprintf(text, sizeof text, "%s", s->sides_known ? s->words[side] : "step, side not told");
        sf_sheet_text(w->sheet, (sf_Spot){ x + 3, y }, &style, text);
        x += sf_sheet_text_width(w->sheet, &style, text) + 8;
    }
    paint_diamond(w->sheet, (sf_Spot){ x + 2, y - 0.9 });
    sf_sheet_text(w->sheet, (sf_Spot){ x + 5, y }, &style, "odd step");
    x += sf_sheet_text_width(w->sheet, &style, "odd step") + 10;
    if (!w->scale.single)
        return;
    const sf_Spot band[] = { { x, y - 2.2 }, { x + 4, y - 2.2 }, { x + 4, y + 0.2 }, { x, y + 0.2 } };
    sf_sheet_hatch(w->sheet, &(sf_Loop){ band, 4 }, 1, SF_PI / 4, 1.2, &(sf_Pen){ SF_INK_FAINT, 0.15, SF_DASH_NONE });
    sf_sheet_text(w->sheet, (sf_Spot){ x + 5.5, y }, &style, "step missed");
    x += sf_sheet_text_width(w->sheet, &style, "step missed") + 10.5;
    paint_cross(w->sheet, (sf_Spot){ x + 1, y - 0.9 });
    sf_sheet_text(w->sheet, (sf_Spot){ x + 3.4, y }, &style, "double contact");
    x += sf_sheet_text_width(w->sheet, &style, "double contact") + 8;
    sf_sheet_text(w->sheet, (sf_Spot){ x, y }, &style, "// turn, pause or new pass");
}

void sf_step_strip_paint(sf_Sheet *sheet, sf_Box box, const sf_StepStrip *strip)
{
    Walk walk = { .sheet = sheet, .strip = strip, .scale = sf_step_strip_scale(box, strip), .box = box };
    paint_axes(&walk);
    paint_medians(&walk);
    if (walk.scale.single) {
        double y = walk.scale.bottom + 5;
        sf_sheet_line(sheet, (sf_Spot){ walk.scale.left, y }, (sf_Spot){ walk.scale.right, y },
                      &(sf_Pen){ SF_INK, 0.13, SF_DASH_NONE });
        paint_singly(&walk);
    } else {
        paint_ranges(&walk);
    }
    paint_odd(&walk);
    paint_legend(&walk);
}
