// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/sheet.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/sheet_inside.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static const sf_PaperMm LEAST_SIDE = 10, MOST_SIDE = 1200;
static const double POINTS_PER_MM = 72 / 25.4;
static const double IMAGE_PX_PER_MM = 10; // about 250 to the inch: finer is lost on paper

sf_Status sf_sheet_kind(sf_SheetKind *kind, const char *path, sf_Error *err)
{
    static const char *const endings[] = { ".png", ".svg", ".pdf" };
    size_t length = strlen(path);
    for (int i = 0; i < 3; i++)
        if (length > 4 && strcasecmp(path + length - 4, endings[i]) == 0) {
            *kind = (sf_SheetKind)i;
            return SF_OK;
        }
    return SF_FAIL(err, SF_E_USAGE, path, "%s: a picture's name ends in .png, .svg or .pdf", path);
}

bool sf_sheet_bytes_add(sf_SheetBytes *bytes, const void *more, size_t count)
{
    if (bytes->broken)
        return false;
    if (count > bytes->room - bytes->size) {
        size_t room = 2 * (bytes->size + count) + 4096;
        unsigned char *moved = sf_realloc(bytes->data, room, 1);
        if (!moved) {
            bytes->broken = true;
            return false;
        }
        bytes->data = moved;
        bytes->room = room;
    }
    memcpy(bytes->data + bytes->size, more, count);
    bytes->size += count;
    return true;
}

static cairo_status_t collect(void *closure, const unsigned char *data, unsigned int length)
{
    return sf_sheet_bytes_add(closure, data, length) ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

// A PDF without a date, so that the same drawing gives the same bytes.
static void open_surface(sf_Sheet *s)
{
    double w = s->width * POINTS_PER_MM, h = s->height * POINTS_PER_MM;
    switch (s->kind) {
    case SF_SHEET_PNG:
        s->surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)lround(s->width * SF_SHEET_PX_PER_MM),
                                                (int)lround(s->height * SF_SHEET_PX_PER_MM));
        break;
    case SF_SHEET_SVG:
        // Letters are rounded to 1/64 of a unit, so a unit is a tenth of a millimetre; sf_svg_settle says so.
        s->surface = cairo_svg_surface_create_for_stream(collect, &s->bytes, s->width * SF_SVG_UNITS_PER_MM,
                                                         s->height * SF_SVG_UNITS_PER_MM);
        break;
    case SF_SHEET_PDF:
        s->surface = cairo_pdf_surface_create_for_stream(collect, &s->bytes, w, h);
        cairo_pdf_surface_set_metadata(s->surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
        break;
    }
    s->cairo = cairo_create(s->surface);
    const double scales[] = { SF_SHEET_PX_PER_MM, SF_SVG_UNITS_PER_MM, POINTS_PER_MM };
    const double scale = scales[s->kind];
    cairo_scale(s->cairo, scale, scale);
    cairo_set_line_join(s->cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_fill_rule(s->cairo, CAIRO_FILL_RULE_EVEN_ODD);
}

sf_Status sf_sheet_create(sf_Sheet **sheet, sf_SheetKind kind, sf_PaperMm width, sf_PaperMm height, sf_Error *err)
{
    *sheet = NULL;
    if (!(width >= LEAST_SIDE && width <= MOST_SIDE && height >= LEAST_SIDE && height <= MOST_SIDE))
        return SF_FAIL(err, SF_E_RANGE, NULL, "a sheet of %g x %g mm: %g to %g mm a side can be drawn", width, height,
                       LEAST_SIDE, MOST_SIDE);
    sf_Sheet *s = sf_alloc(1, sizeof *s);
    if (!s)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    s->kind = kind;
    s->width = width;
    s->height = height;
    open_surface(s);
    sf_Status status;
    if (cairo_status(s->cairo) != CAIRO_STATUS_SUCCESS)
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "no memory for a sheet of %g x %g mm", width, height);
    else
        status = sf_sheet_open_lettering(s, err);
    if (status != SF_OK) {
        sf_sheet_destroy(&s);
        return status;
    }
    sf_sheet_fill_box(s, sf_sheet_box(s), SF_PAPER);
    *sheet = s;
    return SF_OK;
}

void sf_sheet_describe(sf_Sheet *sheet, const char *title, const char *text)
{
    sf_free(sheet->title);
    sf_free(sheet->description);
    sheet->title = sf_copy_text(title, strlen(title));
    sheet->description = sf_copy_text(text, strlen(text));
    if (!sheet->title || !sheet->description)
        sheet->no_memory = true;
}

void sf_sheet_destroy(sf_Sheet **sheet)
{
    if (!sheet || !*sheet)
        return;
    sf_Sheet *s = *sheet;
    if (s->layout)
        g_object_unref(s->layout);
    if (s->context)
        g_object_unref(s->context);
    if (s->fonts)
        g_object_unref(s->fonts);
    cairo_destroy(s->cairo);
    cairo_surface_destroy(s->surface); // may still write into the bytes
    sf_free(s->bytes.data);
    sf_free(s->title);
    sf_free(s->description);
    sf_free(s);
    *sheet = NULL;
}

static sf_Status trouble(const sf_Sheet *s, sf_Error *err)
{
    cairo_status_t status = cairo_status(s->cairo);
    if (s->no_memory || s->bytes.broken || status == CAIRO_STATUS_NO_MEMORY)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing");
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(s->surface);
    if (s->no_pages)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "a second page was begun on a sheet that is no PDF");
    if (status != CAIRO_STATUS_SUCCESS)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "the drawing library refused: %s", cairo_status_to_string(status));
    return SF_OK;
}

void sf_sheet_next_page(sf_Sheet *sheet)
{
    const char *first;
    if (sheet->kind != SF_SHEET_PDF) {
        sheet->no_pages = true;
        return;
    }
    (void)sf_sheet_faults(sheet, &first);
    sheet->overlaps_counted = false;
    sheet->text_count = 0;
    cairo_show_page(sheet->cairo);
    sf_sheet_fill_box(sheet, sf_sheet_box(sheet), SF_PAPER);
}

sf_Status sf_sheet_finish(sf_Sheet **sheet, unsigned char **bytes, size_t *size, sf_Error *err)
{
    sf_Sheet *s = *sheet;
    sf_Status status;
    SF_TRY_DONE(trouble(s, err));
    if (s->kind == SF_SHEET_PNG) {
        cairo_surface_flush(s->surface);
        (void)cairo_surface_write_to_png_stream(s->surface, collect, &s->bytes); // its only failure here is our memory
    } else {
        if (s->kind == SF_SHEET_PDF && s->title)
            cairo_pdf_surface_set_metadata(s->surface, CAIRO_PDF_METADATA_TITLE, s->title);
        cairo_show_page(s->cairo);
        cairo_surface_finish(s->surface);
    }
    SF_TRY_DONE(trouble(s, err));
    if (s->kind == SF_SHEET_PNG)
        SF_TRY_DONE(sf_png_settle(&s->bytes, SF_SHEET_PX_PER_MM, err));
    if (s->kind == SF_SHEET_SVG)
        SF_TRY_DONE(sf_svg_settle(s, err));
    *bytes = s->bytes.data;
    *size = s->bytes.size;
    s->bytes.data = NULL;
done:
    sf_sheet_destroy(sheet);
    return status;
}

sf_Box sf_sheet_box(const sf_Sheet *sheet)
{
    return (sf_Box){ 0, 0, sheet->width, sheet->height };
}

// ---- lines and regions ---------------------------------------------------------------------------------------------

static void set_colour(sf_Sheet *s, sf_Colour c)
{
    cairo_set_source_rgb(s->cairo, c.red, c.green, c.blue);
}

static void stroke(sf_Sheet *s, const sf_Pen *pen)
{
    static const double dashes[][4] = {
        { 0 }, { 1.2, 0.8 }, { 3, 1.0 }, { 4, 0.8, 0.8, 0.8 }, { 0.01, 0.9 },
    };
    static const int counts[] = { 0, 2, 2, 4, 2 };
    set_colour(s, pen->colour);
    cairo_set_line_width(s->cairo, pen->width);
    cairo_set_line_cap(s->cairo, pen->dash == SF_DASH_DOTS ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
    cairo_set_dash(s->cairo, dashes[pen->dash], counts[pen->dash], 0);
    cairo_stroke(s->cairo);
}

static void trace(sf_Sheet *s, const sf_Spot *spots, size_t count, bool closed)
{
    for (size_t i = 0; i < count; i++)
        cairo_line_to(s->cairo, spots[i].x, spots[i].y);
    if (closed && count > 0)
        cairo_close_path(s->cairo);
}

// All but the first run backwards: some readers of SVG take a clip by the winding and not by the even-odd rule.
static void trace_loops(sf_Sheet *s, const sf_Loop *loops, size_t count)
{
    cairo_new_path(s->cairo);
    for (size_t i = 0; i < count; i++) {
        cairo_new_sub_path(s->cairo);
        for (size_t j = 0; j < loops[i].count; j++) {
            sf_Spot spot = loops[i].spots[i == 0 ? j : loops[i].count - 1 - j];
            cairo_line_to(s->cairo, spot.x, spot.y);
        }
        cairo_close_path(s->cairo);
    }
}

static void trace_circle(sf_Sheet *s, sf_Spot centre, sf_PaperMm radius)
{
    cairo_new_sub_path(s->cairo);
    cairo_arc(s->cairo, centre.x, centre.y, fmax(radius, 0), 0, 2 * SF_PI);
    cairo_close_path(s->cairo);
}

void sf_sheet_line(sf_Sheet *sheet, sf_Spot from, sf_Spot to, const sf_Pen *pen)
{
    sf_sheet_polyline(sheet, (const sf_Spot[]){ from, to }, 2, false, pen);
}

void sf_sheet_polyline(sf_Sheet *sheet, const sf_Spot *spots, size_t count, bool closed, const sf_Pen *pen)
{
    cairo_new_path(sheet->cairo);
    trace(sheet, spots, count, closed);
    stroke(sheet, pen);
}

void sf_sheet_rectangle(sf_Sheet *sheet, sf_Box box, const sf_Pen *pen)
{
    cairo_new_path(sheet->cairo);
    cairo_rectangle(sheet->cairo, box.x, box.y, box.width, box.height);
    stroke(sheet, pen);
}

void sf_sheet_circle(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm radius, const sf_Pen *pen)
{
    cairo_new_path(sheet->cairo);
    trace_circle(sheet, centre, radius);
    stroke(sheet, pen);
}

void sf_sheet_dot(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm radius, sf_Colour colour)
{
    cairo_new_path(sheet->cairo);
    trace_circle(sheet, centre, radius);
    set_colour(sheet, colour);
    cairo_fill(sheet->cairo);
}

void sf_sheet_fill(sf_Sheet *sheet, const sf_Loop *loops, size_t count, sf_Colour colour)
{
    trace_loops(sheet, loops, count);
    set_colour(sheet, colour);
    cairo_fill(sheet->cairo);
}

void sf_sheet_fill_box(sf_Sheet *sheet, sf_Box box, sf_Colour colour)
{
    cairo_new_path(sheet->cairo);
    cairo_rectangle(sheet->cairo, box.x, box.y, box.width, box.height);
    set_colour(sheet, colour);
    cairo_fill(sheet->cairo);
}

void sf_sheet_hatch(sf_Sheet *sheet, const sf_Loop *loops, size_t count, double angle, sf_PaperMm pitch,
                    const sf_Pen *pen)
{
    double x0, y0, x1, y1;
    trace_loops(sheet, loops, count);
    cairo_path_extents(sheet->cairo, &x0, &y0, &x1, &y1);
    cairo_save(sheet->cairo);
    cairo_clip(sheet->cairo);
    // Lines n.p = k pitch with n across them; y runs down, so a rising line has the direction (cos, -sin).
    double nx = sin(angle), ny = cos(angle), dx = cos(angle), dy = -sin(angle);
    double cx = (x0 + x1) / 2, cy = (y0 + y1) / 2, reach = hypot(x1 - x0, y1 - y0) / 2;
    double along = cx * dx + cy * dy, across = cx * nx + cy * ny;
    for (double k = ceil((across - reach) / pitch); k * pitch <= across + reach; k++) {
        double px = k * pitch * nx + along * dx, py = k * pitch * ny + along * dy;
        cairo_move_to(sheet->cairo, px - reach * dx, py - reach * dy);
        cairo_line_to(sheet->cairo, px + reach * dx, py + reach * dy);
    }
    stroke(sheet, pen);
    cairo_restore(sheet->cairo);
}

void sf_sheet_clip(sf_Sheet *sheet, const sf_Loop *loops, size_t count)
{
    cairo_save(sheet->cairo);
    trace_loops(sheet, loops, count);
    cairo_clip(sheet->cairo);
}

void sf_sheet_clip_band(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm outer, sf_PaperMm inner)
{
    cairo_save(sheet->cairo);
    cairo_new_path(sheet->cairo);
    trace_circle(sheet, centre, outer);
    cairo_new_sub_path(sheet->cairo);
    cairo_arc_negative(sheet->cairo, centre.x, centre.y, fmax(inner, 0), 2 * SF_PI, 0);
    cairo_close_path(sheet->cairo);
    cairo_clip(sheet->cairo);
}

void sf_sheet_unclip(sf_Sheet *sheet)
{
    cairo_restore(sheet->cairo);
}

// ---- pictures ------------------------------------------------------------------------------------------------------

// Mean grey of a block of the picture.
static unsigned block_mean(const uint8_t *grey, size_t columns, size_t rows, size_t x, size_t y, size_t step)
{
    unsigned long sum = 0, n = 0;
    for (size_t j = y * step; j < (y + 1) * step && j < rows; j++)
        for (size_t i = x * step; i < (x + 1) * step && i < columns; i++, n++)
            sum += grey[j * columns + i];
    return (unsigned)((sum + n / 2) / (n ? n : 1));
}

void sf_sheet_image(sf_Sheet *sheet, const uint8_t *grey, size_t columns, size_t rows, sf_Box box)
{
    size_t step = (size_t)fmax(1, round((double)columns / (box.width * IMAGE_PX_PER_MM)));
    size_t w = (columns + step - 1) / step, h = (rows + step - 1) / step;
    cairo_surface_t *image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)w, (int)h);
    unsigned char *data = cairo_image_surface_get_data(image);
    if (!data) {
        sheet->no_memory = true;
        cairo_surface_destroy(image);
        return;
    }
    size_t stride = (size_t)cairo_image_surface_get_stride(image);
    for (size_t y = 0; y < h; y++)
        for (size_t x = 0; x < w; x++) {
            uint32_t value = block_mean(grey, columns, rows, x, y, step) * 0x010101u;
            memcpy(data + y * stride + 4 * x, &value, sizeof value);
        }
    cairo_surface_mark_dirty(image);
    cairo_save(sheet->cairo);
    cairo_translate(sheet->cairo, box.x, box.y);
    // The last block may reach beyond the picture, so a pixel's size comes from the picture and not from the blocks.
    cairo_scale(sheet->cairo, box.width * (double)step / (double)columns, box.height * (double)step / (double)rows);
    cairo_set_source_surface(sheet->cairo, image, 0, 0);
    cairo_pattern_set_filter(cairo_get_source(sheet->cairo), CAIRO_FILTER_GOOD);
    cairo_paint(sheet->cairo);
    cairo_restore(sheet->cairo);
    cairo_surface_destroy(image);
}
