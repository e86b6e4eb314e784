// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/locate.h"

#include "base/alloc.h"
#include "base/units.h"

#include <leptonica/allheaders.h>
#include <stdio.h>
#include <string.h>

// Sizes that the coarse search lets through; the fine measurement judges the exact ones.
static const double LEAST_ACROSS = 12 * SF_MM, MOST_ACROSS = 170 * SF_MM;
static const double LEAST_RING = 17 * SF_MM; // with room for the coarse copy's error
static const double LEAST_WALL = 1.0 * SF_MM, MOST_WALL = 18 * SF_MM;
static const double LEAST_CUT_BORE = 8 * SF_MM; // what counts as the bore of a ring cut by the border

static const double COARSE_PITCH = 0.30 * SF_MM, COARSEST_PITCH = 0.34 * SF_MM;
static const double COARSE_PIXELS_WANTED = 4e5;
static const double LEAST_CONTRAST = 0.03;    // of full scale, between the darkest and the lightest coarse pixels
static const double FAINT_CONTRAST = 0.10;    // below this a picture without anything of a ring's size counts as blank
static const double NOISY_GRAIN = 0.2;        // a blank scan's own noise stays below this
static const double GAP_CLOSED = 0.6 * SF_MM; // an unjoined line through the wall is no wider

enum { LEVELS = 12, MAX_FINDS = 256, MOST_BOXES = 4000 };

typedef enum Kind { FOUND_RING, FOUND_DISC, FOUND_CUT } Kind;

// One component at one threshold.
typedef struct Find {
    Kind kind;
    bool light;
    int level, x, y, w, h; // coarse pixels
    double bore_x, bore_y; // middle of the hole, coarse pixels
    double across;         // m
} Find;

typedef struct Search {
    const char *name;
    PIX *coarse; // 8 bit, stretched over the range that is there
    int factor;
    double pitch_x, pitch_y; // of coarse pixels, m
    double contrast;         // of full scale
    const sf_Raster *raster;
    Find finds[MAX_FINDS];
    size_t find_count;
    size_t most_parts; // most components at any threshold: many mean noise
} Search;

static sf_Status no_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while looking for the ring");
}

// Box means over factor x factor pixels, as 16 bit.
static void reduce(const sf_Raster *raster, int factor, uint16_t *out, size_t columns, size_t rows)
{
    size_t f = (size_t)factor;
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            uint64_t sum = 0;
            for (size_t y = 0; y < f; y++) {
                const uint16_t *p = raster->light + (r * f + y) * raster->width + c * f;
                for (size_t x = 0; x < f; x++)
                    sum += p[x];
            }
            out[r * columns + c] = (uint16_t)(sum / (f * f));
        }
}

// The values below which a share `tail` of the pixels lies at either end.
static void light_range(const uint16_t *values, size_t count, double tail, uint16_t *low, uint16_t *high)
{
    size_t histogram[1024] = { 0 };
    for (size_t i = 0; i < count; i++)
        histogram[values[i] >> 6]++;
    size_t want = (size_t)(tail * (double)count) + 1, sum = 0, k = 0;
    while (k < 1023 && (sum += histogram[k]) < want)
        k++;
    *low = (uint16_t)(k << 6);
    sum = 0;
    k = 1023;
    while (k > 0 && (sum += histogram[k]) < want)
        k--;
    *high = (uint16_t)((k << 6) | 63);
}

// Range of light of the picture's own pixels, share of full scale.
static double grain_of(const sf_Raster *raster)
{
    uint16_t low, high;
    light_range(raster->light, raster->width * raster->height, 0.001, &low, &high);
    return (high - low) / 65535.0;
}

// The coarse 8-bit copy, stretched from the darkest to the lightest light that is there.
static sf_Status make_coarse(Search *s, const sf_Raster *raster, sf_Error *err)
{
    double pitch = sf_raster_pitch(raster);
    double area = (double)raster->width * (double)raster->height * pitch * pitch;
    double wanted = fmin(fmax(COARSE_PITCH, sqrt(area / COARSE_PIXELS_WANTED)), COARSEST_PITCH);
    s->factor = (int)fmax(1, round(wanted / pitch));
    size_t f = (size_t)s->factor, columns = raster->width / f, rows = raster->height / f;
    if (columns < 8 || rows < 8)
        return SF_FAIL(err, SF_E_INPUT, s->name, "%s is too small a picture to hold a ring", s->name);
    s->pitch_x = raster->pitch_x * s->factor;
    s->pitch_y = raster->pitch_y * s->factor;
    uint16_t *means = sf_alloc(columns * rows, sizeof *means);
    s->coarse = means ? pixCreate((int)columns, (int)rows, 8) : NULL;
    if (!s->coarse) {
        sf_free(means);
        return no_memory(err);
    }
    reduce(raster, s->factor, means, columns, rows);
    uint16_t low, high;
    light_range(means, columns * rows, 0.001, &low, &high);
    s->contrast = (high - low) / 65535.0;
    s->raster = raster;
    double scale = 255.0 / fmax(1, high - low);
    l_uint32 *data = pixGetData(s->coarse);
    int words = pixGetWpl(s->coarse);
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            double v = (means[r * columns + c] - low) * scale;
            SET_DATA_BYTE(data + r * (size_t)words, c, (l_uint8)(v < 0 ? 0 : v > 255 ? 255 : v));
        }
    sf_free(means);
    return SF_OK;
}

// The component that fills its whole box, alone on a clean ground with one free pixel all round; NULL when out of
// memory.
static PIX *lift_component(PIX *binary, BOX *box)
{
    PIX *clip = pixClipRectangle(binary, box, NULL);
    PIX *framed = clip ? pixAddBorder(clip, 1, 0) : NULL;
    PIX *lifted = NULL;
    PIXA *parts = NULL;
    BOXA *boxes = framed ? pixConnComp(framed, &parts, 8) : NULL;
    int count = boxes ? boxaGetCount(boxes) : 0;
    for (int i = 0; i < count && !lifted; i++) {
        int x, y, w, h, bw, bh;
        boxaGetBoxGeometry(boxes, i, &x, &y, &w, &h);
        boxGetGeometry(box, NULL, NULL, &bw, &bh);
        if (w == bw && h == bh) {
            PIX *part = pixaGetPix(parts, i, L_CLONE);
            lifted = pixAddBorder(part, 1, 0);
            pixDestroy(&part);
        }
    }
    boxaDestroy(&boxes);
    pixaDestroy(&parts);
    pixDestroy(&clip);
    pixDestroy(&framed);
    return lifted;
}

// The largest patch of ground that does not reach the frame; its pixels, box and the pixels of all such patches.
static int largest_hole(PIX *framed, BOX **hole_box, int *all_holes)
{
    PIX *ground = pixInvert(NULL, framed);
    PIXA *patches = NULL;
    BOXA *boxes = ground ? pixConnComp(ground, &patches, 4) : NULL;
    int best = 0;
    *hole_box = NULL;
    *all_holes = 0;
    int count = boxes ? boxaGetCount(boxes) : 0;
    for (int i = 0; i < count; i++) {
        int x, y, pixels = 0;
        boxaGetBoxGeometry(boxes, i, &x, &y, NULL, NULL);
        if (x == 0 && y == 0)
            continue;
        PIX *patch = pixaGetPix(patches, i, L_CLONE);
        pixCountPixels(patch, &pixels, NULL);
        pixDestroy(&patch);
        *all_holes += pixels;
        if (pixels > best) {
            best = pixels;
            boxDestroy(hole_box);
            *hole_box = boxaGetBox(boxes, i, L_COPY);
        }
    }
    boxaDestroy(&boxes);
    pixaDestroy(&patches);
    pixDestroy(&ground);
    return best;
}

static double across_of(double pixels, const Search *s)
{
    return sqrt(4 / SF_PI * pixels * s->pitch_x * s->pitch_y);
}

// A cut ring: with the picture's border drawn in as a wall, the component encloses a bore.
static bool is_cut_ring(const Search *s, PIX *framed, int x, int y, int w, int h)
{
    int width = pixGetWidth(s->coarse), height = pixGetHeight(s->coarse);
    int sides = (x == 0) + (y == 0) + (x + w == width) + (y + h == height);
    if (sides == 4) // the ground itself
        return false;
    PIX *closed = pixCopy(NULL, framed);
    if (!closed)
        return false;
    if (x == 0)
        pixRasterop(closed, 0, 1, 1, h, PIX_SET, NULL, 0, 0);
    if (y == 0)
        pixRasterop(closed, 1, 0, w, 1, PIX_SET, NULL, 0, 0);
    if (x + w == width)
        pixRasterop(closed, w + 1, 1, 1, h, PIX_SET, NULL, 0, 0);
    if (y + h == height)
        pixRasterop(closed, 1, h + 1, w, 1, PIX_SET, NULL, 0, 0);
    PIX *outer = pixAddBorder(closed, 1, 0);
    BOX *hole = NULL;
    int all = 0, pixels = outer ? largest_hole(outer, &hole, &all) : 0;
    // What one or two straight cuts leave of a round bore fills less than pi/4 of its box and is no mere stripe, as on
    // a pencil that lies across the border.
    int hole_w = 0, hole_h = 0;
    if (hole)
        boxGetGeometry(hole, NULL, NULL, &hole_w, &hole_h);
    bool stripe = 8 * hole_w < hole_h || 8 * hole_h < hole_w || (sides < 3 && pixels > 0.9 * hole_w * hole_h);
    boxDestroy(&hole);
    pixDestroy(&outer);
    pixDestroy(&closed);
    // A ring's wall takes a fair share of what it encloses; the edge of a page takes less, the ground about a tag more.
    // And a disc cut by a side or a corner fills about pi/4 of its box, ground cut off by a ruler fills it all.
    int own = 0;
    pixCountPixels(framed, &own, NULL);
    return !stripe && across_of(pixels, s) >= LEAST_CUT_BORE && own > pixels / 12 &&
           own < (sides == 3 ? 2 : 6) * pixels && own + all < 0.9 * w * h;
}

// What one component is, if anything of interest.
static bool classify(const Search *s, PIX *binary, BOX *box, Find *find)
{
    int x, y, w, h;
    boxGetGeometry(box, &x, &y, &w, &h);
    double across_x = w * s->pitch_x, across_y = h * s->pitch_y;
    if (fmax(across_x, across_y) < LEAST_ACROSS || fmax(across_x, across_y) > MOST_ACROSS ||
        fmin(across_x, across_y) < 0.3 * LEAST_ACROSS)
        return false;
    bool at_border = x == 0 || y == 0 || x + w == pixGetWidth(s->coarse) || y + h == pixGetHeight(s->coarse);
    PIX *framed = lift_component(binary, box);
    if (!framed)
        return false;
    bool good = false;
    int own = 0, all_holes = 0;
    BOX *hole = NULL;
    pixCountPixels(framed, &own, NULL);
    int bore = largest_hole(framed, &hole, &all_holes);
    double outer = across_of(own + all_holes, s), inner = across_of(bore, s), wall = (outer - inner) / 2;
    double fill = (double)(own + all_holes) / ((double)w * h), aspect = across_x / across_y;
    // pi/4 for any oval; a paper tag, the loop of whose number could be a bore, fills more.
    bool round_shape = fill > 0.62 && fill < 0.88 && aspect > 0.7 && aspect < 1.43;
    *find = (Find){ .x = x, .y = y, .w = w, .h = h, .across = outer };
    if (at_border) {
        find->kind = FOUND_CUT;
        good = is_cut_ring(s, framed, x, y, w, h);
    } else if (round_shape && hole && wall > LEAST_WALL && wall < MOST_WALL && inner > 0.25 * outer) {
        int hx, hy, hw, hh;
        boxGetGeometry(hole, &hx, &hy, &hw, &hh);
        double hole_fill = bore / ((double)hw * hh);
        find->kind = FOUND_RING;
        find->bore_x = x - 1 + hx + hw / 2.0; // the lifted component has one free pixel all round
        find->bore_y = y - 1 + hy + hh / 2.0;
        double hole_aspect = hw * s->pitch_x / (hh * s->pitch_y);
        good = hole_fill > 0.6 && hole_aspect > 0.7 && hole_aspect < 1.43;
    } else if (fill > 0.72 && fill < 0.86 && aspect > 0.85 && aspect < 1.18 && inner < 0.25 * outer) {
        find->kind = FOUND_DISC;
        find->bore_x = x + w / 2.0;
        find->bore_y = y + h / 2.0;
        good = true;
    }
    boxDestroy(&hole);
    pixDestroy(&framed);
    return good;
}

// The binary picture of one threshold and polarity; lines up to GAP_CLOSED wide are bridged when asked.
static PIX *binary_at(const Search *s, int level, bool light, bool bridge)
{
    PIX *binary = pixThresholdToBinary(s->coarse, 255 * (level + 1) / (LEVELS + 1));
    if (binary && light)
        pixInvert(binary, binary);
    if (binary && bridge) {
        int size = 1 + 2 * (int)ceil(GAP_CLOSED / (s->pitch_x + s->pitch_y));
        PIX *closed = pixCloseSafeBrick(NULL, binary, size, size);
        pixDestroy(&binary);
        binary = closed;
    }
    return binary;
}

static sf_Status search_levels(Search *s, bool bridge, sf_Error *err)
{
    for (int light = 0; light < 2; light++)
        for (int level = 0; level < LEVELS; level++) {
            PIX *binary = binary_at(s, level, light, bridge);
            BOXA *boxes = binary ? pixConnCompBB(binary, 8) : NULL;
            if (!boxes) {
                pixDestroy(&binary);
                return no_memory(err);
            }
            int count = boxaGetCount(boxes);
            s->most_parts = (size_t)count > s->most_parts ? (size_t)count : s->most_parts;
            for (int i = 0; i < count && count < MOST_BOXES && s->find_count < MAX_FINDS; i++) {
                BOX *box = boxaGetBox(boxes, i, L_CLONE);
                Find *find = &s->finds[s->find_count];
                if (classify(s, binary, box, find)) {
                    find->light = light;
                    find->level = level;
                    s->find_count++;
                }
                boxDestroy(&box);
            }
            boxaDestroy(&boxes);
            pixDestroy(&binary);
        }
    return SF_OK;
}

// Whether two finds are the same thing at another threshold.
static bool same_thing(const Search *s, const Find *a, const Find *b)
{
    double dx = (a->x + a->w / 2.0 - b->x - b->w / 2.0) * s->pitch_x;
    double dy = (a->y + a->h / 2.0 - b->y - b->h / 2.0) * s->pitch_y;
    return a->kind == b->kind && hypot(dx, dy) < 0.2 * fmin(a->across, b->across) + 1 * SF_MM &&
           fabs(a->across - b->across) < 0.25 * fmax(a->across, b->across);
}

// Whether `inner` lies wholly within the box of `outer`.
static bool encloses(const Find *outer, const Find *inner)
{
    return outer->x <= inner->x && outer->y <= inner->y && outer->x + outer->w >= inner->x + inner->w &&
           outer->y + outer->h >= inner->y + inner->h;
}

static bool any_larger(const Search *s)
{
    for (size_t i = 0; i < s->find_count; i++)
        if (s->finds[i].kind == FOUND_RING && s->finds[i].across >= LEAST_RING)
            return true;
    return false;
}

// The most persistent thing of a kind, not the same as `other` nor the ground about it: how many thresholds show it,
// and its middle one.
static size_t most_persistent(const Search *s, Kind kind, const Find *other, const Find **middle)
{
    size_t best = 0;
    for (size_t i = 0; i < s->find_count; i++) {
        const Find *seed = &s->finds[i];
        if (seed->kind != kind || (other && (same_thing(s, seed, other) || encloses(seed, other))))
            continue;
        // A letter's loop can look like a ring, but not at a ring's size: it only counts for want of anything larger.
        if (kind == FOUND_RING && seed->across < LEAST_RING && (other || any_larger(s)))
            continue;
        const Find *members[MAX_FINDS];
        size_t count = 0;
        for (size_t k = 0; k < s->find_count; k++)
            if (s->finds[k].light == seed->light && same_thing(s, seed, &s->finds[k]))
                members[count++] = &s->finds[k];
        if (count > best) {
            best = count;
            *middle = members[count / 2];
        }
    }
    return best;
}

// A threshold level of the coarse copy stands for this many of the picture's own contrast steps.
enum { LEVELS_THAT_COUNT = 2 };

static sf_Status explain(const Search *s, sf_Error *err)
{
    const Find *seen = NULL;
    if (s->most_parts > MOST_BOXES / 2 && grain_of(s->raster) >= NOISY_GRAIN)
        return SF_FAIL(err, SF_E_INPUT, s->name,
                       "%s shows only noise, no ring: check the scanner's setting and scan again", s->name);
    if (s->most_parts > MOST_BOXES / 2 || s->contrast < (s->find_count == 0 ? FAINT_CONTRAST : LEAST_CONTRAST))
        return SF_FAIL(err, SF_E_INPUT, s->name,
                       "nothing is seen in %s: it is blank. Lay the ring on a ground of the other shade (light ring on "
                       "black, or ink the cut face and lay it on white) and scan again",
                       s->name);
    if (most_persistent(s, FOUND_CUT, NULL, &seen) >= LEVELS_THAT_COUNT)
        return SF_FAIL(
            err, SF_E_INPUT, s->name,
            "the ring in %s is cut by the picture's border: scan again with the whole ring clear of the edge", s->name);
    if (most_persistent(s, FOUND_DISC, NULL, &seen) >= LEVELS_THAT_COUNT)
        return SF_FAIL(
            err, SF_E_INPUT, s->name,
            "%s shows a disc about %.0f mm across without a hole, not a ring: a cut-off ring has an open bore", s->name,
            seen->across / SF_MM);
    return SF_FAIL(err, SF_E_INPUT, s->name,
                   "no ring is seen in %s: it needs one closed ring, 20 to 90 mm across with a wall of 1.5 to 15 mm, "
                   "clear of the border. Check also that the resolution is right",
                   s->name);
}

// Distances from the bore's middle to both edges of the chosen component, at each whole degree.
static sf_Status trace_place(const Search *s, const Find *find, bool bridge, const sf_Raster *raster,
                             sf_RingPlace *place, sf_Error *err)
{
    PIX *binary = binary_at(s, find->level, find->light, bridge);
    BOX *box = boxCreate(find->x, find->y, find->w, find->h);
    PIX *framed = binary && box ? lift_component(binary, box) : NULL;
    boxDestroy(&box);
    pixDestroy(&binary);
    if (!framed)
        return no_memory(err);
    place->light_ring = find->light;
    place->disc = find->kind == FOUND_DISC;
    place->centre =
        (sf_Point){ find->bore_x * s->pitch_x, (double)raster->height * raster->pitch_y - find->bore_y * s->pitch_y };
    double step = 0.5 * fmin(s->pitch_x, s->pitch_y);
    for (int k = 0; k < SF_PLACE_RAYS; k++) {
        double c = cos(k * SF_DEG), d = sin(k * SF_DEG);
        double first = 0, last = 0;
        for (double r = step; r < find->across; r += step) {
            int px = (int)floor(find->bore_x + r * c / s->pitch_x) - find->x + 1;
            int py = (int)floor(find->bore_y - r * d / s->pitch_y) - find->y + 1;
            l_uint32 value = 0;
            if (px < 0 || py < 0 || px >= find->w + 2 || py >= find->h + 2)
                break;
            pixGetPixel(framed, px, py, &value);
            if (value) {
                first = first > 0 ? first : r;
                last = r;
            }
        }
        place->outer[k] = last + step / 2;
        place->inner[k] = place->disc ? place->outer[k] / 2 : first - step / 2;
        if (!(place->inner[k] > 0) || place->outer[k] - place->inner[k] < LEAST_WALL / 2) {
            pixDestroy(&framed);
            return explain(s, err);
        }
    }
    pixDestroy(&framed);
    return SF_OK;
}

sf_Status sf_ring_locate(sf_RingPlace *place, const sf_Raster *raster, bool or_disc, const char *name, sf_Error *err)
{
    setMsgSeverity(L_SEVERITY_NONE);
    Search *s = sf_alloc(1, sizeof *s);
    if (!s)
        return no_memory(err);
    s->name = name;
    sf_Status status;
    SF_TRY_DONE(make_coarse(s, raster, err));
    if (s->contrast < LEAST_CONTRAST) {
        status = explain(s, err);
        goto done;
    }
    const Find *ring = NULL, *second = NULL;
    bool bridge = false;
    SF_TRY_DONE(search_levels(s, false, err));
    if (most_persistent(s, FOUND_RING, NULL, &ring) < LEVELS_THAT_COUNT) {
        bridge = true;
        s->find_count = 0;
        SF_TRY_DONE(search_levels(s, true, err));
    }
    bool found = most_persistent(s, FOUND_RING, NULL, &ring) >= LEVELS_THAT_COUNT;
    if (!found && or_disc)
        found = most_persistent(s, FOUND_DISC, NULL, &ring) >= LEVELS_THAT_COUNT;
    if (!found) {
        status = explain(s, err);
        goto done;
    }
    if (most_persistent(s, FOUND_RING, ring, &second) >= LEVELS_THAT_COUNT ||
        most_persistent(s, FOUND_CUT, ring, &second) >= LEVELS_THAT_COUNT) {
        status =
            SF_FAIL(err, SF_E_INPUT, name, "%s shows two rings, about %.0f and %.0f mm across: scan one ring at a time",
                    name, ring->across / SF_MM, second->across / SF_MM);
        goto done;
    }
    status = trace_place(s, ring, bridge, raster, place, err);
done:
    pixDestroy(&s->coarse);
    sf_free(s);
    return status;
}
