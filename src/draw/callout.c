// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/callout.h"

#include "draw/dimension.h"

#include <math.h>

static const sf_PaperMm NAME_HEIGHT = 3.0, FIGURE_HEIGHT = 4.1, APART = 1.2, STUB = 1.2;
static const int ROUNDS = 40;

// What is worse than a millimetre of leader, and by how much (judgement, by looking).
static const double ON_FIGURE = 3, CROSSED_TEXT = 400, CROSSED_LEADER = 80, COVERED_FIGURE = 300;

// A call-out while it is being placed.
typedef struct Item {
    const sf_Callout *callout;
    sf_PaperMm width, height, clear; // clear: how far its near edge must stand above or below the figure's middle
    sf_PaperMm top, best_top;
    bool right, best_right;
} Item;

typedef struct Layout {
    const sf_CalloutField *field;
    Item items[SF_MAX_CALLOUTS];
    size_t count;
} Layout;

static sf_Lettering style_of(size_t line, bool right)
{
    return (sf_Lettering){ line == 0 ? SF_SMALLEST_PT : 9.5, line > 0, right ? SF_ALIGN_RIGHT : SF_ALIGN_LEFT, SF_INK };
}

static void measure(sf_Sheet *sheet, const sf_CalloutField *field, Item *item)
{
    item->height = NAME_HEIGHT;
    for (size_t i = 0; i < SF_CALLOUT_LINES; i++) {
        const char *text = item->callout->lines[i];
        if (!*text)
            continue;
        const sf_Lettering style = style_of(i, false);
        item->width = fmax(item->width, sf_sheet_text_width(sheet, &style, text));
        item->height += i > 0 ? FIGURE_HEIGHT : 0;
    }
    double side = field->box.width / 2 - item->width - 1;
    item->clear = side >= field->keep ? 0 : sqrt(field->keep * field->keep - side * side);
}

static sf_Box box_of(const Layout *l, const Item *item)
{
    const sf_Box *box = &l->field->box;
    return (sf_Box){ item->right ? box->x + box->width - item->width : box->x, item->top, item->width, item->height };
}

static void leader_of(const Layout *l, const Item *item, sf_Spot spots[3])
{
    sf_Box box = box_of(l, item);
    double sign = item->right ? -1 : 1, x = item->right ? box.x : box.x + box.width;
    double y = item->callout->target.y, high = box.y + 1.3, low = box.y + box.height - 1.5;
    y = y < box.y ? high : y > box.y + box.height ? low : fmin(box.y + NAME_HEIGHT, low);
    spots[0] = (sf_Spot){ x + sign * 0.7, y };
    spots[1] = (sf_Spot){ x + sign * (0.7 + STUB), y };
    spots[2] = item->callout->target;
}

static bool in_box(sf_Spot p, sf_Box box, sf_PaperMm grow)
{
    return p.x > box.x - grow && p.x < box.x + box.width + grow && p.y > box.y - grow &&
           p.y < box.y + box.height + grow;
}

static sf_Spot between(sf_Spot a, sf_Spot b, double t)
{
    return (sf_Spot){ a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t };
}

// How much the leader runs over other text and over the figure; its last bit lies on what it tells of.
static double leader_cost(const Layout *l, const Item *const *side, size_t n, size_t own)
{
    enum { STEPS = 60 };
    sf_Spot spots[3];
    leader_of(l, side[own], spots);
    double length = hypot(spots[2].x - spots[1].x, spots[2].y - spots[1].y), cost = length;
    bool crossed = false;
    for (int i = 0; i <= STEPS; i++) {
        sf_Spot p = between(spots[1], spots[2], (double)i / STEPS);
        for (size_t j = 0; j < n; j++)
            crossed = crossed || in_box(p, box_of(l, side[j]), j == own ? 0 : 0.5);
        for (size_t j = 0; j < l->field->obstacle_count; j++)
            crossed = crossed || in_box(p, l->field->obstacles[j], 0.4);
        if (hypot(p.x - l->field->centre.x, p.y - l->field->centre.y) < l->field->keep - 2)
            cost += ON_FIGURE * length / STEPS;
    }
    return cost + (crossed ? CROSSED_TEXT : 0);
}

static double turn_of(sf_Spot a, sf_Spot b, sf_Spot c)
{
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

static bool leaders_cross(const Layout *l, const Item *first, const Item *second)
{
    sf_Spot a[3], b[3];
    leader_of(l, first, a);
    leader_of(l, second, b);
    return turn_of(a[1], a[2], b[1]) * turn_of(a[1], a[2], b[2]) < 0 &&
           turn_of(b[1], b[2], a[1]) * turn_of(b[1], b[2], a[2]) < 0;
}

static bool boxes_meet(sf_Box a, sf_Box b)
{
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

static double side_cost(const Layout *l, const Item *const *side, size_t n)
{
    double cost = 0, middle = l->field->centre.y;
    for (size_t i = 0; i < n; i++) {
        const Item *item = side[i];
        double near_edge = item->top > middle ? item->top - middle : middle - item->top - item->height;
        if (near_edge < item->clear - 0.3)
            cost += COVERED_FIGURE;
        for (size_t j = 0; j < l->field->obstacle_count; j++)
            cost += boxes_meet(box_of(l, item), l->field->obstacles[j]) ? CROSSED_TEXT : 0;
        cost += leader_cost(l, side, n, i);
        for (size_t j = 0; j < i; j++)
            cost += leaders_cross(l, item, side[j]) ? CROSSED_LEADER : 0;
    }
    return cost;
}

// Pushes the call-outs of one side apart, off the figure and into the box; the first `above` stand above its middle.
static void settle(const Layout *l, Item *const *side, size_t n, size_t above)
{
    const sf_Box *box = &l->field->box;
    double middle = l->field->centre.y;
    for (size_t i = 0; i < n; i++)
        side[i]->top = side[i]->callout->target.y - side[i]->height / 2;
    for (int round = 0; round < ROUNDS; round++) {
        double used = 0, after = 0;
        for (size_t i = 0; i < n; i++)
            after += side[i]->height + (i > 0 ? APART : 0);
        for (size_t i = 0; i < n; i++) {
            Item *item = side[i];
            if (item->clear > 0 && i < above)
                item->top = fmin(item->top, middle - item->clear - item->height);
            else if (item->clear > 0)
                item->top = fmax(item->top, middle + item->clear);
            item->top = fmin(fmax(item->top, box->y + used), box->y + box->height - after);
            used += item->height + APART;
            after -= item->height + APART;
        }
        for (size_t i = 0; i + 1 < n; i++) {
            double lack = side[i]->top + side[i]->height + APART - side[i + 1]->top;
            if (lack > 0) {
                side[i]->top -= lack / 2;
                side[i + 1]->top += lack / 2;
            }
        }
    }
}

// The best way for the call-outs of one side; leaves their tops at it.
static double place_side(const Layout *l, Item **side, size_t n)
{
    double best = INFINITY, tops[SF_MAX_CALLOUTS] = { 0 };
    for (size_t above = 0; above <= n; above++) {
        settle(l, side, n, above);
        double cost = side_cost(l, (const Item *const *)side, n);
        if (cost >= best)
            continue;
        best = cost;
        for (size_t i = 0; i < n; i++)
            tops[i] = side[i]->top;
    }
    for (size_t i = 0; i < n; i++)
        side[i]->top = tops[i];
    return n > 0 ? best : 0;
}

// `sides`: bit i set puts call-out i to the right.
static double place(Layout *l, unsigned sides)
{
    double cost = 0;
    for (int right = 0; right < 2; right++) {
        Item *side[SF_MAX_CALLOUTS];
        size_t n = 0;
        for (size_t i = 0; i < l->count; i++) {
            Item *item = &l->items[i];
            if ((int)(sides >> i & 1) != right)
                continue;
            item->right = right;
            size_t at = n++;
            for (; at > 0 && side[at - 1]->callout->target.y > item->callout->target.y; at--)
                side[at] = side[at - 1];
            side[at] = item;
        }
        cost += place_side(l, side, n);
    }
    return cost;
}

static void letter(sf_Sheet *sheet, const Layout *l, const Item *item)
{
    sf_Spot spots[3];
    leader_of(l, item, spots);
    sf_leader(sheet, spots[0], spots[1], spots[2], item->callout->gap);
    sf_Box box = box_of(l, item);
    double x = item->right ? box.x + box.width : box.x, y = box.y + 2.2;
    for (size_t i = 0; i < SF_CALLOUT_LINES; i++) {
        const sf_Lettering style = style_of(i, item->right);
        sf_sheet_text(sheet, (sf_Spot){ x, y }, &style, item->callout->lines[i]);
        y += FIGURE_HEIGHT;
    }
}

void sf_callouts_paint(sf_Sheet *sheet, const sf_CalloutField *field, const sf_Callout *callouts, size_t count)
{
    Layout layout = { .field = field, .count = count < SF_MAX_CALLOUTS ? count : SF_MAX_CALLOUTS };
    Layout *l = &layout;
    double best = INFINITY;
    for (size_t i = 0; i < l->count; i++) {
        l->items[i].callout = &callouts[i];
        measure(sheet, field, &l->items[i]);
    }
    for (unsigned sides = 0; sides < 1u << l->count; sides++) {
        double cost = place(l, sides);
        if (cost >= best)
            continue;
        best = cost;
        for (size_t i = 0; i < l->count; i++) {
            l->items[i].best_top = l->items[i].top;
            l->items[i].best_right = l->items[i].right;
        }
    }
    for (size_t i = 0; i < l->count; i++) {
        l->items[i].top = l->items[i].best_top;
        l->items[i].right = l->items[i].best_right;
        letter(sheet, l, &l->items[i]);
    }
}
