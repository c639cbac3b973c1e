/* One reader for the command line and the API. */
#include "app/identify.h"

#include "base/shown.h"
#include "base/str.h"

#define NAMES_BYTES_MAX 400

static fl_status unknown_sign(fl_sv word, fl_err *err)
{
    fl_str words;
    fl_str_init(&words, NAMES_BYTES_MAX);
    for (int i = 0; i < FL_SIGN_COUNT; i++) {
        fl_str_appendf(&words, "%s%s", i == 0 ? "" : ", ", fl_words_sign[i].word);
    }
    fl_status status = fl_fail(err, FL_EINVAL, "unknown sign \"%.*s\": give %s", FL_SHOWN(word),
                               words.len > 0 ? words.ptr : "one of the questions");
    fl_str_done(&words);
    return status;
}

static fl_status unknown_value(fl_sign sign, fl_sv given, char between, fl_err *err)
{
    fl_str words;
    fl_str_init(&words, NAMES_BYTES_MAX);
    for (int i = 0; i < fl_ident_value_count(sign); i++) {
        fl_str_appendf(&words, "%s, ", fl_ident_value_word(sign, i));
    }
    fl_status status =
        fl_fail(err, FL_EINVAL, "%s%c%.*s: give %scannot_tell", fl_words_sign[sign].word, between,
                FL_SHOWN(given), words.len > 0 ? words.ptr : "");
    fl_str_done(&words);
    return status;
}

fl_status fl_identify_parse(fl_sv text, char between, fl_sign_answer *out, fl_err *err)
{
    fl_sv word = fl_sv_split(&text, between);
    int sign = fl_word_find(fl_words_sign, FL_SIGN_COUNT, word);
    if (sign < 0) {
        return unknown_sign(word, err);
    }
    int value = fl_ident_value_find((fl_sign)sign, text);
    if (value < FL_SIGN_CANNOT_TELL) {
        return unknown_value((fl_sign)sign, text, between, err);
    }
    *out = (fl_sign_answer){(fl_sign)sign, value};
    return FL_OK;
}
