// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pages.h"

#include "base/alloc.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_TEXT = 320 };

static const sf_PaperMm MARGIN = 15, TOP = 10, FOOT = 18, HEAD_ROOM = 13, PARAGRAPH = 1.0;
static const double PT = 25.4 / 72, LEADING = 1.28;
static const double NAME_SHARE = 0.35, VALUE_SHARE = 0.66; ///< where the second and third column end

static sf_Lettering running(const sf_Pages *p, bool bold)
{
    return (sf_Lettering){ p->head.text_pt, bold, SF_ALIGN_LEFT, SF_INK };
}

sf_PaperMm sf_pages_width(const sf_Pages *p)
{
    return p->width - 2 * MARGIN;
}

sf_PaperMm sf_pages_left(const sf_Pages *p)
{
    (void)p;
    return MARGIN;
}

// ---- pages ----------------------------------------------------------------------------------------------------------

static void paint_head(sf_Pages *p)
{
    const sf_Lettering title = { 13, true, SF_ALIGN_LEFT, SF_INK }, small = { 8, false, SF_ALIGN_RIGHT, SF_INK };
    const sf_Lettering shop = { 8, false, SF_ALIGN_LEFT, SF_INK };
    const sf_Pen rule = { SF_INK, 0.4, SF_DASH_NONE };
    char text[LINE_TEXT];
    double end = p->width - MARGIN;
    if (p->total)
        snprintf(text, sizeof text, "%.200s \u00b7 page %zu of %zu", p->head.right, p->page, p->total);
    else
        snprintf(text, sizeof text, "%.200s \u00b7 page %zu", p->head.right, p->page);
    sf_sheet_text(p->sheet, (sf_Spot){ MARGIN, TOP + 4.5 }, &title, p->head.title);
    sf_sheet_text(p->sheet, (sf_Spot){ end, TOP + 4.5 }, &small, text);
    if (p->head.shop)
        sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN, TOP + 6.2, end - MARGIN, 4.2 }, &shop, p->head.shop);
    sf_sheet_line(p->sheet, (sf_Spot){ MARGIN, TOP + 11 }, (sf_Spot){ end, TOP + 11 }, &rule);
    p->y = TOP + HEAD_ROOM;
}

static void paint_foot(sf_Pages *p)
{
    const sf_Lettering small = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK };
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    double y = p->height - FOOT - 1;
    sf_sheet_line(p->sheet, (sf_Spot){ MARGIN, y }, (sf_Spot){ p->width - MARGIN, y }, &rule);
    sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN, y + 1, sf_pages_width(p), FOOT - 4 }, &small, p->head.foot);
}

static void keep_faults(sf_Pages *p)
{
    const char *first = "";
    size_t count = sf_sheet_faults(p->sheet, &first);
    if (count && !p->fault[0])
        snprintf(p->fault, sizeof p->fault, "page %zu: %.200s", p->page, first);
    if (p->kind == SF_SHEET_PDF)
        p->faults = count; // the one sheet counts over all its pages
    else
        p->faults += count;
}

static void end_page(sf_Pages *p)
{
    paint_foot(p);
    keep_faults(p);
    if (p->kind == SF_SHEET_PDF)
        return;
    if (p->page == p->wanted) {
        p->kept = p->sheet;
        p->sheet = NULL;
    } else { // closed all the same, so that no trouble goes unheard
        unsigned char *bytes = NULL;
        size_t size = 0;
        sf_Status status = sf_sheet_finish(&p->sheet, &bytes, &size, p->status == SF_OK ? &p->error : NULL);
        if (p->status == SF_OK)
            p->status = status;
        sf_free(bytes);
    }
}

static void next_page(sf_Pages *p)
{
    end_page(p);
    p->page++;
    if (p->kind == SF_SHEET_PDF)
        sf_sheet_next_page(p->sheet);
    else if (p->status == SF_OK)
        p->status = sf_sheet_create(&p->sheet, p->kind, p->width, p->height, &p->error);
    if (p->sheet)
        paint_head(p);
}

sf_Status sf_pages_open(sf_Pages *p, sf_SheetKind kind, sf_PaperMm width, sf_PaperMm height, size_t total,
                        size_t wanted, const sf_PageHead *head, sf_Error *err)
{
    *p = (sf_Pages){
        .kind = kind, .width = width, .height = height, .page = 1, .total = total, .wanted = wanted, .head = *head
    };
    SF_TRY(sf_sheet_create(&p->sheet, kind, width, height, err));
    paint_head(p);
    return SF_OK;
}

void sf_pages_drop(sf_Pages *p)
{
    sf_sheet_destroy(&p->sheet);
    sf_sheet_destroy(&p->kept);
}

sf_Status sf_pages_finish(sf_Pages *p, unsigned char **bytes, size_t *size, sf_Error *err)
{
    if (p->status == SF_OK)
        end_page(p);
    sf_Status status = p->status;
    if (status != SF_OK && err)
        *err = p->error;
    sf_Sheet **sheet = p->kind == SF_SHEET_PDF ? &p->sheet : &p->kept;
    if (status == SF_OK && !*sheet)
        status = SF_FAIL(err, SF_E_USAGE, "--page", "there is no page %zu: the document has %zu", p->wanted, p->page);
    if (status == SF_OK) {
        sf_sheet_describe(*sheet, p->head.title, p->head.foot);
        status = sf_sheet_finish(sheet, bytes, size, err);
    }
    sf_pages_drop(p);
    return status;
}

void sf_pages_room(sf_Pages *p, sf_PaperMm height)
{
    if (p->sheet && p->y + height > p->height - FOOT - 3 && p->y > TOP + HEAD_ROOM)
        next_page(p);
}

void sf_pages_break(sf_Pages *p)
{
    sf_pages_room(p, p->height);
}

void sf_pages_gap(sf_Pages *p, sf_PaperMm height)
{
    p->y += height;
}

// ---- blocks ---------------------------------------------------------------------------------------------------------

void sf_pages_heading(sf_Pages *p, const char *text)
{
    const sf_Lettering style = { p->head.text_pt + 1, true, SF_ALIGN_LEFT, SF_INK };
    const sf_Pen thin = { SF_INK_FAINT, 0.2, SF_DASH_NONE };
    sf_PaperMm line = style.size_pt * PT * LEADING;
    sf_pages_room(p, line + 12); // not alone at a page's end
    if (!p->sheet)
        return;
    p->y += 1.6;
    sf_sheet_text(p->sheet, (sf_Spot){ MARGIN, p->y + 0.8 * line }, &style, text);
    p->y += line;
    sf_sheet_line(p->sheet, (sf_Spot){ MARGIN, p->y + 0.2 }, (sf_Spot){ p->width - MARGIN, p->y + 0.2 }, &thin);
    p->y += 1.3;
}

static void paragraph(sf_Pages *p, sf_PaperMm indent, const sf_Lettering *style, const char *text)
{
    sf_PaperMm width = sf_pages_width(p) - indent;
    if (!p->sheet)
        return;
    sf_PaperMm need = sf_sheet_text_height(p->sheet, width, style, text);
    sf_pages_room(p, need);
    if (!p->sheet)
        return;
    sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN + indent, p->y, width, need + 0.1 }, style, text);
    p->y += need + PARAGRAPH;
}

void sf_pages_text(sf_Pages *p, bool bold, const char *text)
{
    sf_Lettering style = running(p, bold);
    while (text && *text) { // line by line, so that a long statement may go on over the page
        char line[4096];
        size_t n = strcspn(text, "\n");
        snprintf(line, sizeof line, "%.*s", (int)(n < sizeof line ? n : sizeof line - 1), text);
        if (n)
            paragraph(p, 0, &style, line);
        else
            p->y += 1.5;
        text += n + (text[n] == '\n');
    }
}

void sf_pages_point(sf_Pages *p, const char *text)
{
    sf_Lettering style = running(p, false);
    sf_PaperMm line = style.size_pt * PT, need;
    if (!p->sheet)
        return;
    need = sf_sheet_text_height(p->sheet, sf_pages_width(p) - 5, &style, text);
    sf_pages_room(p, need);
    if (!p->sheet)
        return;
    sf_sheet_dot(p->sheet, (sf_Spot){ MARGIN + 1.8, p->y + 0.62 * line }, 0.55, SF_INK);
    paragraph(p, 5, &style, text);
}

void sf_pages_row(sf_Pages *p, const char *name, const char *value, const char *limit)
{
    sf_Lettering plain = running(p, false), bold = running(p, true);
    double width = sf_pages_width(p), one = NAME_SHARE * width, two = (VALUE_SHARE - NAME_SHARE) * width;
    double three = (1 - VALUE_SHARE) * width, need;
    if (!p->sheet)
        return;
    need = fmax(sf_sheet_text_height(p->sheet, one - 3, &plain, name),
                sf_sheet_text_height(p->sheet, two - 3, &bold, value));
    need = fmax(need, sf_sheet_text_height(p->sheet, three, &plain, limit));
    sf_pages_room(p, need);
    if (!p->sheet)
        return;
    sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN, p->y, one - 3, need + 0.1 }, &plain, name);
    sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN + one, p->y, two - 3, need + 0.1 }, &bold, value);
    if (*limit)
        sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN + one + two, p->y, three, need + 0.1 }, &plain, limit);
    p->y += need + 0.5;
}

static void paint_mark(sf_Sheet *sheet, sf_Box box, sf_BoxMark mark)
{
    const sf_Pen frame = { SF_INK, 0.3, SF_DASH_NONE }, strong = { SF_INK, 0.6, SF_DASH_NONE };
    double x = box.x, y = box.y, s = box.width;
    sf_sheet_rectangle(sheet, box, &frame);
    if (mark == SF_MARK_TICK) {
        const sf_Spot tick[] = { { x + 0.2 * s, y + 0.55 * s },
                                 { x + 0.42 * s, y + 0.8 * s },
                                 { x + 0.85 * s, y + 0.15 * s } };
        sf_sheet_polyline(sheet, tick, 3, false, &strong);
    } else if (mark == SF_MARK_AGAIN) {
        const sf_Spot cross[] = { { x, y }, { x + s, y }, { x + s, y + s }, { x, y + s } };
        sf_sheet_hatch(sheet, &(sf_Loop){ cross, 4 }, 1, 0.8, 0.7, &frame);
    } else if (mark == SF_MARK_NOT_NEEDED) {
        sf_sheet_line(sheet, (sf_Spot){ x + 0.2 * s, y + 0.5 * s }, (sf_Spot){ x + 0.8 * s, y + 0.5 * s }, &strong);
    }
}

void sf_pages_check(sf_Pages *p, sf_BoxMark mark, const char *title, const char *who)
{
    static const char *const words[] = { "", "", "OPEN  ", "AGAIN  ", "not needed  " };
    sf_Lettering style = running(p, false);
    const sf_Pen thin = { SF_INK_FAINT, 0.2, SF_DASH_NONE };
    double width = sf_pages_width(p), size = 3.0, left = 0.62 * width, need;
    char said[512];
    if (!p->sheet)
        return;
    snprintf(said, sizeof said, "%s%.450s", words[mark], who);
    need = fmax(sf_sheet_text_height(p->sheet, left - 8, &style, title),
                sf_sheet_text_height(p->sheet, width - left, &style, said));
    need = fmax(need, size + 0.6);
    sf_pages_room(p, need + 0.8);
    if (!p->sheet)
        return;
    paint_mark(p->sheet, (sf_Box){ MARGIN + 0.3, p->y + 0.4, size, size }, mark);
    sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN + 6, p->y, left - 8, need + 0.1 }, &style, title);
    if (*said)
        sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN + left, p->y, width - left, need + 0.1 }, &style, said);
    p->y += need;
    sf_sheet_line(p->sheet, (sf_Spot){ MARGIN + left, p->y + 0.1 }, (sf_Spot){ p->width - MARGIN, p->y + 0.1 }, &thin);
    p->y += 0.9;
}

void sf_pages_sign(sf_Pages *p, const char *const *words, const char *const *given, size_t count)
{
    const sf_Lettering small = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK };
    const sf_Pen line = { SF_INK, 0.25, SF_DASH_NONE };
    sf_Lettering style = running(p, true);
    double each = sf_pages_width(p) / (double)count;
    sf_pages_room(p, 16);
    if (!p->sheet)
        return;
    p->y += 9;
    for (size_t i = 0; i < count; i++) {
        double x = MARGIN + each * (double)i;
        if (given[i] && *given[i])
            sf_sheet_text(p->sheet, (sf_Spot){ x + 0.5, p->y - 1 }, &style, given[i]);
        sf_sheet_line(p->sheet, (sf_Spot){ x, p->y }, (sf_Spot){ x + each - 5, p->y }, &line);
        sf_sheet_text(p->sheet, (sf_Spot){ x, p->y + 3.4 }, &small, words[i]);
    }
    p->y += 6;
}

void sf_pages_caution(sf_Pages *p, const char *text)
{
    sf_Lettering style = running(p, true);
    const sf_Pen frame = { SF_INK_MARK, 0.6, SF_DASH_NONE };
    double width = sf_pages_width(p), need;
    if (!p->sheet)
        return;
    need = sf_sheet_text_height(p->sheet, width - 6, &style, text);
    sf_pages_room(p, need + 4);
    if (!p->sheet)
        return;
    sf_sheet_rectangle(p->sheet, (sf_Box){ MARGIN + 0.3, p->y + 0.3, width - 0.6, need + 2.8 }, &frame);
    sf_sheet_text_box(p->sheet, (sf_Box){ MARGIN + 3, p->y + 1.6, width - 6, need + 0.1 }, &style, text);
    p->y += need + 4.6;
}
