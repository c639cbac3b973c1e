/* Cards to JSON and back. */
#include "app/card_file.h"

#include <string.h>

#include "base/limits.h"
#include "base/shown.h"
#include "json/json.h"
#include "json/schema.h"

static const char *const precisions[FL_PRECISION_COUNT] = {"exact", "hour", "day", "month", "year"};

/* ---- writing ---- */

static void put_text(fl_json_writer *w, const char *key, fl_sv text)
{
    if (text.len > 0) {
        fl_json_put_text(w, key, text);
    }
}

static void put_at(fl_json_writer *w, const char *key, int64_t at_s)
{
    char text[FL_CIVIL_TEXT_MAX];
    fl_json_put_cstr(w, key, fl_civil_format_utc(text, at_s));
}

static void put_lot(fl_json_writer *w, const fl_card *card)
{
    char id[FL_ID_TEXT_MAX];
    const fl_lot *lot = card->lot;
    fl_json_begin_object(w, "lot");
    fl_json_put_cstr(w, "id", fl_id_format(id, lot->id));
    fl_json_put_text(w, "code", card->code);
    fl_json_put_text(w, "plant", card->plant);
    put_text(w, "taxon", card->taxon);
    fl_json_put_cstr(w, "form", fl_words_form[lot->form].word);
    fl_json_put_int(w, "count", lot->count);
    put_text(w, "label_active", lot->label_active);
    fl_json_put_bool(w, "is_label_clean", lot->is_label_clean);
    fl_json_end(w);
    fl_json_begin_object(w, "provenance");
    put_text(w, "source", card->source);
    put_text(w, "source_kind", card->source_kind);
    fl_json_put_bool(w, "keeps_animals", card->source_keeps_animals);
    put_at(w, "since_at", lot->born_s);
    fl_json_put_cstr(w, "since_precision", precisions[lot->precision]);
    fl_json_end(w);
}

/* What goes first when the card is too large. */
static bool is_spare(const fl_card_line *line)
{
    return line->kind == FL_PAST_LOOK || line->kind == FL_PAST_STOOD;
}

static void put_past(fl_json_writer *w, const fl_card *card, size_t n_left_out)
{
    fl_json_begin_array(w, "past");
    for (size_t i = 0; i < card->n_lines; i++) {
        const fl_card_line *line = &card->lines[i];
        if (n_left_out > 0 && is_spare(line)) {
            n_left_out--;
            continue;
        }
        fl_json_begin_object(w, NULL);
        put_at(w, "at", line->at_s);
        fl_json_put_cstr(w, "precision", precisions[line->precision]);
        fl_json_put_cstr(w, "kind", fl_words_past[line->kind].word);
        fl_json_put_text(w, "text", line->text);
        if (line->is_mother) {
            fl_json_put_bool(w, "is_mother", true);
        }
        put_text(w, "teller", line->teller);
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_chance(fl_json_writer *w, const fl_lot_chance *chance, bool is_unseen)
{
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "threat", chance->threat->code);
    fl_json_put_cstr(w, "name", chance->threat->name);
    fl_json_put_number(w, "prob", chance->chance);
    fl_json_put_number(w, "prob_least", chance->least);
    fl_json_put_number(w, "prob_most", chance->most);
    if (is_unseen) {
        fl_json_put_bool(w, "is_unseen", true);
    }
    fl_json_end(w);
}

static void put_state(fl_json_writer *w, const fl_card *card)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_json_begin_array(w, "chances");
    for (size_t i = 0; i < card->n_chances; i++) {
        put_chance(w, &card->chances[i], false);
    }
    for (size_t i = 0; i < card->n_unseen; i++) {
        put_chance(w, &card->unseen[i], true);
    }
    fl_json_end(w);
    if (card->has_gate) {
        fl_json_begin_object(w, "gate");
        fl_json_put_bool(w, "is_quiet", card->gate.answer.is_open);
        fl_json_begin_array(w, "uses");
        for (int use = 0; use < FL_USE_COUNT; use++) {
            if ((card->gate.uses & (1U << use)) != 0) {
                fl_json_put_cstr(w, NULL, fl_words_use[use].word);
            }
        }
        fl_json_end(w);
        fl_json_end(w);
    }
    fl_json_begin_array(w, "assumed");
    for (size_t i = 0; i < card->n_assumed; i++) {
        fl_json_put_text(w, NULL, card->assumed[i]);
    }
    fl_json_end(w);
    fl_json_put_cstr(w, "knowledge", fl_hash_format(hex, fl_know_hash()));
}

static void write_once(const fl_card *card, size_t n_left_out, fl_str *out)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "format", FL_CARD_FORMAT);
    fl_json_put_int(w, "version", FL_CARD_VERSION);
    put_at(w, "made_at", card->made_s);
    fl_json_put_text(w, "from", card->from);
    fl_json_put_cstr(w, "notice", FL_CARD_NOTICE);
    put_lot(w, card);
    put_past(w, card, n_left_out);
    put_state(w, card);
    fl_json_end(w);
    fl_json_write(w, true, out);
    fl_json_writer_free(w);
}

fl_status fl_card_write(const fl_card *card, fl_str *out, size_t *n_left_out, fl_err *err)
{
    fl_str text;
    size_t left_out = 0;
    size_t n_spare = 0;
    for (size_t i = 0; i < card->n_lines; i++) {
        n_spare += is_spare(&card->lines[i]) ? 1U : 0U;
    }
    for (;;) {
        fl_str_init(&text, (size_t)8 << 20);
        write_once(card, left_out, &text);
        if (text.len <= FL_CARD_BYTES_MAX || left_out >= n_spare) {
            break;
        }
        size_t step = n_spare / 16 + 1;
        left_out = left_out + step < n_spare ? left_out + step : n_spare;
        fl_str_done(&text);
    }
    fl_status status = text.len <= FL_CARD_BYTES_MAX
                           ? FL_OK
                           : fl_fail(err, FL_ETOOBIG, "the card of \"%.*s\" has %zu bytes",
                                     FL_SHOWN(card->plant), text.len);
    if (status == FL_OK) {
        fl_str_append(out, fl_str_sv(&text));
        *n_left_out = left_out;
    }
    fl_str_done(&text);
    return status;
}

/* ---- reading ---- */

static fl_status check_version(const fl_json_value *root, fl_err *err)
{
    int64_t version = 0;
    fl_sv format = fl_json_text(fl_json_get(root, "format"));
    if (!fl_sv_eq_cstr(format, FL_CARD_FORMAT)) {
        return fl_fail(err, FL_EINVAL, "/format: this is no history card (%s)", FL_CARD_FORMAT);
    }
    if (!fl_json_int(fl_json_get(root, "version"), &version) || version > FL_CARD_VERSION) {
        return fl_fail(err, FL_EINVAL,
                       "/version: this card was written by a newer fernlock than reads it");
    }
    return fl_schema_check(fl_schema_of_card(), root, err);
}

static fl_sv text_of(const fl_json_value *object, const char *key, fl_arena *arena)
{
    return fl_arena_copy_sv(arena, fl_json_text(fl_json_get(object, key)));
}

static fl_status take(const fl_json_value *root, fl_arena *arena, fl_card_read *out, fl_err *err)
{
    const fl_json_value *lot = fl_json_get(root, "lot");
    const fl_json_value *from = fl_json_get(root, "provenance");
    fl_precision precision;
    fl_str canonical;
    fl_card_read card = {.from = text_of(root, "from", arena),
                         .plant = text_of(lot, "plant", arena),
                         .taxon = text_of(lot, "taxon", arena),
                         .label_active = text_of(lot, "label_active", arena),
                         .is_label_clean = fl_json_bool(fl_json_get(lot, "is_label_clean"), false),
                         .source = text_of(from, "source", arena),
                         .source_kind = text_of(from, "source_kind", arena),
                         .source_keeps_animals =
                             fl_json_bool(fl_json_get(from, "keeps_animals"), false),
                         .n_past = fl_json_size(fl_json_get(root, "past"))};
    card.form =
        (fl_form)fl_word_find(fl_words_form, FL_FORM_COUNT, fl_json_text(fl_json_get(lot, "form")));
    (void)fl_json_int(fl_json_get(lot, "count"), &card.count);
    fl_status status = fl_civil_parse(fl_json_text(fl_json_get(root, "made_at")), 0, &card.made_s,
                                      &precision, err);
    if (status == FL_OK) {
        status = fl_civil_parse(fl_json_text(fl_json_get(from, "since_at")), 0, &card.since_s,
                                &precision, err);
    }
    fl_str_init(&canonical, FL_EVENT_BYTES_MAX);
    if (status == FL_OK) {
        status = fl_json_canonical(root, &canonical, err);
    }
    if (status == FL_OK && canonical.len > FL_CARD_BYTES_MAX) {
        status = fl_fail(err, FL_ETOOBIG, "the card has more than %zu bytes", FL_CARD_BYTES_MAX);
    }
    if (status == FL_OK) {
        card.canonical = fl_arena_copy_sv(arena, fl_str_sv(&canonical));
        *out = card;
    }
    fl_str_done(&canonical);
    return status;
}

fl_status fl_card_parse(fl_sv text, fl_arena *arena, fl_card_read *out, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_status status = fl_json_parse(text, &doc, err);
    if (status == FL_OK) {
        status = check_version(fl_json_root(doc), err);
    }
    if (status == FL_OK) {
        status = take(fl_json_root(doc), arena, out, err);
    }
    fl_json_free(doc);
    return status;
}
