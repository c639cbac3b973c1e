/* QR codes by libqrencode. */
#include "print/qr.h"

#include <errno.h>
#include <string.h>

#include <qrencode.h>

#include "base/shown.h"

static bool is_alphanumeric(fl_sv text)
{
    static const char allowed[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] == '\0' || strchr(allowed, text.ptr[i]) == NULL) {
            return false;
        }
    }
    return text.len > 0;
}

/* The lowest bit of libqrencode's byte says black. */
static void copy_bits(const QRcode *code, fl_arena *arena, fl_qr *out)
{
    size_t n = (size_t)code->width * (size_t)code->width;
    unsigned char *bits = FL_ARENA_ARRAY(arena, unsigned char, n);
    for (size_t i = 0; i < n; i++) {
        bits[i] = code->data[i] & 1U;
    }
    *out = (fl_qr){.modules = code->width, .bits = bits};
}

static bool is_ascii(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] <= ' ' || text.ptr[i] > '~') {
            return false;
        }
    }
    return text.len > 0;
}

static fl_status encode(fl_sv text, QRencodeMode mode, fl_arena *arena, fl_qr *out, fl_err *err)
{
    fl_sv copy = fl_arena_copy_sv(arena, text);
    QRinput *input = QRinput_new2(0, QR_ECLEVEL_M);
    QRcode *code = NULL;
    if (input != NULL &&
        QRinput_append(input, mode, (int)copy.len, (const unsigned char *)copy.ptr) == 0) {
        code = QRcode_encodeInput(input);
    }
    if (code != NULL) {
        copy_bits(code, arena, out);
        QRcode_free(code);
    }
    QRinput_free(input);
    return code != NULL
               ? FL_OK
               : fl_fail(err, FL_ETOOBIG, "\"%.*s\": too long for a label's code", FL_SHOWN(text));
}

fl_status fl_qr_make(fl_sv text, fl_arena *arena, fl_qr *out, fl_err *err)
{
    if (!is_alphanumeric(text)) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\": not text for a label's code", FL_SHOWN(text));
    }
    return encode(text, QR_MODE_AN, arena, out, err);
}

fl_status fl_qr_make_bytes(fl_sv text, fl_arena *arena, fl_qr *out, fl_err *err)
{
    if (!is_ascii(text)) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\": not text for a code", FL_SHOWN(text));
    }
    return encode(text, QR_MODE_8, arena, out, err);
}

int fl_qr_side(const fl_qr *qr)
{
    return qr->modules + 2 * FL_QR_QUIET;
}

void fl_qr_draw(fl_pdf *pdf, const fl_qr *qr, double x_mm, double y_mm, double module_mm)
{
    const double corner[2] = {x_mm + FL_QR_QUIET * module_mm, y_mm + FL_QR_QUIET * module_mm};
    fl_pdf_fill_grid(pdf, corner, module_mm, qr->bits, qr->modules);
}
