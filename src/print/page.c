/* PDF pages by cairo, text by pango. */
#include "print/page.h"

#include <assert.h>
#include <fontconfig/fontconfig.h>
#include <math.h>
#include <string.h>

#include <cairo-pdf.h>
#include <cairo.h>
#include <pango/pangocairo.h>
#include <pango/pangofc-fontmap.h>

#include "base/alloc.h"
#include "base/civil.h"

#define PAGE_LEAST_MM 5.0
#define PAGE_MOST_MM 2000.0
#define PI 3.14159265358979323846

struct fl_pdf {
    fl_str bytes;
    cairo_surface_t *surface;
    cairo_t *cr;
    PangoFontMap *fonts;
    PangoContext *context;
    PangoLayout *layout;
    double offset_x_mm, offset_y_mm;
    int n_unknown;
    bool is_failed; /* the bytes did not fit */
};

/* ---- fonts ---- */

/* No file of the machine's settings counts: only which fonts are installed. */
static const char font_settings[] =
    "<?xml version=\"1.0\"?><fontconfig>"
    "<dir>/usr/share/fonts</dir><dir>/usr/local/share/fonts</dir>"
    "<dir>/System/Library/Fonts</dir><dir>/Library/Fonts</dir>"
    "<cachedir>/var/cache/fontconfig</cachedir>"
    "<alias binding=\"strong\"><family>Fernlock</family><prefer>"
    "<family>DejaVu Sans</family><family>WenQuanYi Micro Hei</family>"
    "<family>Garuda</family><family>Lohit Devanagari</family></prefer></alias>"
    "<alias binding=\"strong\"><family>Fernlock Mono</family><prefer>"
    "<family>DejaVu Sans Mono</family><family>WenQuanYi Micro Hei</family></prefer></alias>"
    "</fontconfig>";

static fl_status open_fonts(fl_pdf *pdf, fl_err *err)
{
    FcConfig *config = FcConfigCreate();
    bool is_loaded =
        config != NULL &&
        FcConfigParseAndLoadFromMemory(config, (const FcChar8 *)font_settings, FcTrue) == FcTrue &&
        FcConfigBuildFonts(config) == FcTrue;
    const FcFontSet *set = is_loaded ? FcConfigGetFonts(config, FcSetSystem) : NULL;
    fl_status status =
        set != NULL && set->nfont > 0
            ? FL_OK
            : fl_fail(err, FL_EIO, "no font is installed: install fonts-dejavu-core");
    if (status == FL_OK) {
        pdf->fonts = pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT);
        pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(pdf->fonts), config);
    }
    if (config != NULL) {
        FcConfigDestroy(config);
    }
    return status;
}

/* Laid out as for an endlessly fine printer. */
static void open_layout(fl_pdf *pdf)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pdf->context = pango_font_map_create_context(pdf->fonts);
    pango_cairo_context_set_font_options(pdf->context, options);
    pango_cairo_context_set_resolution(pdf->context, 72.0);
    pango_context_set_round_glyph_positions(pdf->context, FALSE);
    pango_context_set_language(pdf->context, pango_language_from_string("en"));
    pango_context_set_base_dir(pdf->context, PANGO_DIRECTION_LTR);
    pdf->layout = pango_layout_new(pdf->context);
    cairo_font_options_destroy(options);
}

/* ---- life ---- */

static cairo_status_t take_bytes(void *context, const unsigned char *data, unsigned length)
{
    fl_pdf *pdf = context;
    fl_str_append(&pdf->bytes, (fl_sv){(const char *)data, length});
    return pdf->bytes.is_full ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

static void set_origin(fl_pdf *pdf)
{
    const double pt_per_mm = 1.0 / FL_MM_PER_PT;
    cairo_identity_matrix(pdf->cr);
    cairo_scale(pdf->cr, pt_per_mm, pt_per_mm);
    cairo_translate(pdf->cr, pdf->offset_x_mm, pdf->offset_y_mm);
    cairo_set_source_rgb(pdf->cr, 0, 0, 0);
}

static void describe(fl_pdf *pdf, const fl_pdf_options *options)
{
    char date[FL_CIVIL_TEXT_MAX];
    fl_str title;
    fl_str_init(&title, 400);
    fl_str_append(&title, options->title);
    if (title.len > 0) {
        cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_TITLE, title.ptr);
    }
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATOR, "fernlock");
    (void)fl_civil_format_utc(date, options->made_s);
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_MOD_DATE, date);
    fl_str_done(&title);
}

static bool is_page_size(double mm)
{
    return mm >= PAGE_LEAST_MM && mm <= PAGE_MOST_MM;
}

fl_status fl_pdf_new(const fl_pdf_options *options, fl_pdf **out, fl_err *err)
{
    if (!is_page_size(options->width_mm) || !is_page_size(options->height_mm)) {
        return fl_fail(err, FL_EDOMAIN, "a page of %g x %g mm: give %g to %g", options->width_mm,
                       options->height_mm, PAGE_LEAST_MM, PAGE_MOST_MM);
    }
    fl_pdf *pdf = fl_alloc(1, sizeof *pdf);
    fl_str_init(&pdf->bytes, FL_PDF_BYTES_MAX);
    fl_status status = open_fonts(pdf, err);
    if (status != FL_OK) {
        fl_pdf_free(pdf);
        return status;
    }
    open_layout(pdf);
    pdf->surface = cairo_pdf_surface_create_for_stream(
        take_bytes, pdf, options->width_mm / FL_MM_PER_PT, options->height_mm / FL_MM_PER_PT);
    pdf->cr = cairo_create(pdf->surface);
    pdf->offset_x_mm = options->offset_x_mm;
    pdf->offset_y_mm = options->offset_y_mm;
    describe(pdf, options);
    set_origin(pdf);
    *out = pdf;
    return FL_OK;
}

void fl_pdf_free(fl_pdf *pdf)
{
    if (pdf == NULL) {
        return;
    }
    if (pdf->layout != NULL) {
        g_object_unref(pdf->layout);
        g_object_unref(pdf->context);
    }
    if (pdf->cr != NULL) {
        cairo_destroy(pdf->cr);
    }
    if (pdf->surface != NULL) { /* it writes into pdf->bytes until it is gone */
        cairo_surface_destroy(pdf->surface);
    }
    if (pdf->fonts != NULL) { /* the map does not let its configuration go by itself */
        pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(pdf->fonts), NULL);
        g_object_unref(pdf->fonts);
    }
    fl_str_done(&pdf->bytes);
    fl_alloc_free(pdf);
}

void fl_pdf_next_page(fl_pdf *pdf)
{
    cairo_show_page(pdf->cr);
    set_origin(pdf);
}

fl_status fl_pdf_finish(fl_pdf *pdf, fl_str *out, fl_err *err)
{
    cairo_show_page(pdf->cr);
    cairo_surface_finish(pdf->surface);
    cairo_status_t cause = cairo_status(pdf->cr);
    cause = cause == CAIRO_STATUS_SUCCESS ? cairo_surface_status(pdf->surface) : cause;
    if (pdf->bytes.is_full) {
        return fl_fail(err, FL_ETOOBIG, "more than %zu bytes of PDF: print fewer at a time",
                       FL_PDF_BYTES_MAX);
    }
    if (cause != CAIRO_STATUS_SUCCESS) {
        return fl_fail(err, FL_EIO, "the PDF: %s", cairo_status_to_string(cause));
    }
    fl_str_append(out, fl_str_sv(&pdf->bytes));
    return out->is_full ? fl_fail(err, FL_ETOOBIG, "the PDF is larger than its reader takes")
                        : FL_OK;
}

int fl_pdf_unknown(const fl_pdf *pdf)
{
    return pdf->n_unknown;
}

/* ---- text ---- */

static void set_font(fl_pdf *pdf, const fl_text *text)
{
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, text->is_mono ? "Fernlock Mono" : "Fernlock");
    pango_font_description_set_absolute_size(font, text->size_pt * FL_MM_PER_PT * PANGO_SCALE);
    pango_font_description_set_weight(font,
                                      text->is_bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_style(font,
                                     text->is_italic ? PANGO_STYLE_OBLIQUE : PANGO_STYLE_NORMAL);
    pango_layout_set_font_description(pdf->layout, font);
    pango_font_description_free(font);
}

static fl_extent set_text(fl_pdf *pdf, const fl_text *text)
{
    static const PangoAlignment aligns[] = {PANGO_ALIGN_LEFT, PANGO_ALIGN_CENTER,
                                            PANGO_ALIGN_RIGHT};
    PangoRectangle logical;
    set_font(pdf, text);
    pango_layout_set_text(pdf->layout, text->text.len > 0 ? text->text.ptr : "",
                          (int)text->text.len);
    pango_layout_set_width(pdf->layout,
                           text->width_mm > 0.0 ? (int)lround(text->width_mm * PANGO_SCALE) : -1);
    pango_layout_set_wrap(pdf->layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_alignment(pdf->layout, aligns[text->align]);
    pango_layout_set_ellipsize(pdf->layout,
                               text->lines_max > 0 ? PANGO_ELLIPSIZE_END : PANGO_ELLIPSIZE_NONE);
    pango_layout_set_height(pdf->layout, text->lines_max > 0 ? -text->lines_max : -1);
    pango_layout_get_extents(pdf->layout, NULL, &logical);
    return (fl_extent){.width_mm = (double)logical.width / PANGO_SCALE,
                       .height_mm = (double)logical.height / PANGO_SCALE,
                       .lines = pango_layout_get_line_count(pdf->layout),
                       .is_cut = pango_layout_is_ellipsized(pdf->layout) != FALSE};
}

fl_extent fl_pdf_measure(fl_pdf *pdf, const fl_text *text)
{
    return set_text(pdf, text);
}

fl_extent fl_pdf_text(fl_pdf *pdf, const fl_text *text)
{
    fl_extent extent = set_text(pdf, text);
    double grey = text->is_grey ? 0.35 : 0.0;
    pdf->n_unknown += pango_layout_get_unknown_glyphs_count(pdf->layout);
    cairo_set_source_rgb(pdf->cr, grey, grey, grey);
    cairo_move_to(pdf->cr, text->x_mm, text->y_mm);
    pango_cairo_show_layout(pdf->cr, pdf->layout);
    cairo_set_source_rgb(pdf->cr, 0, 0, 0);
    return extent;
}

/* ---- lines ---- */

static void stroke_path(fl_pdf *pdf, fl_stroke stroke)
{
    const double dash[] = {1.2, 1.2};
    cairo_set_line_width(pdf->cr, stroke.width_mm);
    cairo_set_source_rgb(pdf->cr, stroke.grey, stroke.grey, stroke.grey);
    if (stroke.is_dashed) {
        cairo_set_dash(pdf->cr, dash, 2, 0);
    }
    cairo_stroke(pdf->cr);
    cairo_set_dash(pdf->cr, NULL, 0, 0);
    cairo_set_source_rgb(pdf->cr, 0, 0, 0);
}

void fl_pdf_line(fl_pdf *pdf, const double from_mm[2], const double to_mm[2], fl_stroke stroke)
{
    cairo_move_to(pdf->cr, from_mm[0], from_mm[1]);
    cairo_line_to(pdf->cr, to_mm[0], to_mm[1]);
    stroke_path(pdf, stroke);
}

void fl_pdf_box(fl_pdf *pdf, const double box_mm[4], double radius_mm, fl_stroke stroke)
{
    double x = box_mm[0];
    double y = box_mm[1];
    double w = box_mm[2];
    double h = box_mm[3];
    double r = radius_mm;
    cairo_new_sub_path(pdf->cr);
    if (r > 0.0) {
        cairo_arc(pdf->cr, x + w - r, y + r, r, -PI / 2.0, 0.0);
        cairo_arc(pdf->cr, x + w - r, y + h - r, r, 0.0, PI / 2.0);
        cairo_arc(pdf->cr, x + r, y + h - r, r, PI / 2.0, PI);
        cairo_arc(pdf->cr, x + r, y + r, r, PI, 1.5 * PI);
        cairo_close_path(pdf->cr);
    } else {
        cairo_rectangle(pdf->cr, x, y, w, h);
    }
    stroke_path(pdf, stroke);
}

void fl_pdf_fill(fl_pdf *pdf, const double box_mm[4], double grey)
{
    cairo_set_source_rgb(pdf->cr, grey, grey, grey);
    cairo_rectangle(pdf->cr, box_mm[0], box_mm[1], box_mm[2], box_mm[3]);
    cairo_fill(pdf->cr);
    cairo_set_source_rgb(pdf->cr, 0, 0, 0);
}

/* Neighbours in a row are one rectangle. */
void fl_pdf_fill_grid(fl_pdf *pdf, const double corner_mm[2], double cell_mm,
                      const unsigned char *bits, int side)
{
    for (int row = 0; row < side; row++) {
        for (int column = 0; column < side; column++) {
            int length = 0;
            while (column + length < side && bits[row * side + column + length] != 0) {
                length++;
            }
            if (length > 0) {
                cairo_rectangle(pdf->cr, corner_mm[0] + column * cell_mm,
                                corner_mm[1] + row * cell_mm, length * cell_mm, cell_mm);
                column += length;
            }
        }
    }
    cairo_fill(pdf->cr);
}

void fl_pdf_caution_mark(fl_pdf *pdf, double x_mm, double y_mm, double side_mm)
{
    double height = side_mm * sqrt(3.0) / 2.0;
    cairo_move_to(pdf->cr, x_mm + side_mm / 2.0, y_mm);
    cairo_line_to(pdf->cr, x_mm + side_mm, y_mm + height);
    cairo_line_to(pdf->cr, x_mm, y_mm + height);
    cairo_close_path(pdf->cr);
    cairo_set_line_join(pdf->cr, CAIRO_LINE_JOIN_ROUND);
    stroke_path(pdf, (fl_stroke){.width_mm = side_mm * 0.09});
    cairo_rectangle(pdf->cr, x_mm + side_mm * 0.455, y_mm + height * 0.34, side_mm * 0.09,
                    height * 0.34);
    cairo_rectangle(pdf->cr, x_mm + side_mm * 0.455, y_mm + height * 0.76, side_mm * 0.09,
                    height * 0.10);
    cairo_fill(pdf->cr);
}

/* ---- places on the page ---- */

void fl_pdf_push_turned(fl_pdf *pdf, double x_mm, double y_mm)
{
    cairo_save(pdf->cr);
    cairo_translate(pdf->cr, x_mm, y_mm);
    cairo_rotate(pdf->cr, PI / 2.0);
}

void fl_pdf_push_box(fl_pdf *pdf, const double box_mm[4])
{
    cairo_save(pdf->cr);
    cairo_rectangle(pdf->cr, box_mm[0], box_mm[1], box_mm[2], box_mm[3]);
    cairo_clip(pdf->cr);
    cairo_translate(pdf->cr, box_mm[0], box_mm[1]);
}

void fl_pdf_pop(fl_pdf *pdf)
{
    cairo_restore(pdf->cr);
}
