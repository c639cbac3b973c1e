/* Whole files: the export of the room, a lot's history card, and a card that came with a plant. */
#include <stdio.h>

#include "app/card_file.h"
#include "app/card_take.h"
#include "app/export.h"
#include "app/files.h"
#include "app/newcomer.h"
#include "base/shown.h"
#include "http/api.h"

#define EXPORT_BYTES_MAX ((int64_t)512 << 20) /* more is for the command line */

/* ---- export ---- */

static fl_status read_file(const char *path, size_t size, fl_arena *arena, fl_sv *out, fl_err *err)
{
    char *bytes = FL_ARENA_ARRAY(arena, char, size);
    FILE *file = fopen(path, "rb");
    size_t got = file != NULL ? fread(bytes, 1, size, file) : 0;
    if (file != NULL) {
        (void)fclose(file);
    }
    *out = (fl_sv){bytes, got};
    return got == size ? FL_OK : fl_fail(err, FL_EIO, "%.150s: it cannot be read back", path);
}

/* "One tap": the same zip as `fernlock export`, made beside the room and sent. */
fl_status fl_api_export(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    const fl_export_options options = {.has_bom = false};
    const char *folder = NULL;
    fl_exported done;
    fl_sv bytes;
    fl_status status = fl_files_make_scratch(app->dir, "export", &x->arena, &folder, err);
    if (status != FL_OK) {
        return status;
    }
    const char *path = fl_files_join(&x->arena, folder, "room.zip");
    status = fl_app_export(app, path, &options, &done, err);
    if (status == FL_OK && done.bytes > EXPORT_BYTES_MAX) {
        status = fl_fail(err, FL_ETOOBIG,
                         "the export has %lld MB: make it with `fernlock export` on the computer",
                         (long long)(done.bytes >> 20));
    }
    if (status == FL_OK) {
        status = read_file(path, (size_t)done.bytes, &x->arena, &bytes, err);
    }
    if (status == FL_OK) {
        fl_api_reply_file(x, "application/zip", "room.zip", bytes);
    }
    fl_files_remove_scratch(folder);
    return status;
}

/* ---- cards ---- */

fl_status fl_api_card(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_str text;
    fl_card card;
    const fl_lot *lot = NULL;
    size_t n_left_out = 0;
    fl_status status = fl_snapshot_take(x->snapshot, app, err);
    if (status == FL_OK) {
        status = fl_room_find_lot(&x->snapshot->room, x->param[0], &lot, err);
    }
    if (status == FL_OK) {
        status = fl_card_make(&x->snapshot->room, x->snapshot->chances, lot, &x->arena, &card, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_str_init(&text, FL_CARD_BYTES_MAX + 1);
    status = fl_card_write(&card, &text, &n_left_out, err);
    if (status == FL_OK) {
        const char *name =
            fl_arena_printf(&x->arena, "history-%.*s.json", FL_SV_ARG(card.code)).ptr;
        fl_api_reply_file(x, "application/json", name,
                          fl_arena_copy_sv(&x->arena, fl_str_sv(&text)));
    }
    fl_str_done(&text);
    return status;
}

/* The text of a member, in the exchange's arena. */
static fl_sv text_of(fl_exchange *x, const fl_json_value *root, const char *key)
{
    return fl_arena_copy_sv(&x->arena, fl_json_text(fl_json_get(root, key)));
}

static fl_status read_taking(fl_exchange *x, const fl_json_value *root, const fl_app *app,
                             fl_card_taking *out, fl_err *err)
{
    fl_precision precision;
    fl_sv use = fl_json_text(fl_json_get(root, "use"));
    int found = use.len > 0 ? fl_word_find(fl_words_use, FL_USE_COUNT, use) : FL_USE_STOCK;
    if (found < 0) {
        return fl_fail(err, FL_EINVAL, "/use: \"%.*s\" is no use", FL_SHOWN(use));
    }
    *out = (fl_card_taking){.source = text_of(x, root, "source"),
                            .place = text_of(x, root, "place"),
                            .use = (fl_use)found,
                            .count = 0};
    (void)fl_json_int(fl_json_get(root, "count"), &out->count);
    fl_status status = fl_id_parse(fl_json_text(fl_json_get(root, "id")), &out->key, err);
    if (status == FL_OK) {
        status = fl_civil_parse(fl_json_text(fl_json_get(root, "occurred_at")), app->tz_offset_min,
                                &out->at_s, &precision, err);
    }
    return status;
}

static fl_status take_card(fl_exchange *x, fl_app *app, const fl_json_value *root, fl_err *err)
{
    fl_str text;
    fl_room room;
    fl_card_read card;
    fl_card_taking taking;
    fl_id lot;
    fl_str_init(&text, FL_CARD_BYTES_MAX + 1);
    fl_status status = read_taking(x, root, app, &taking, err);
    if (status == FL_OK) {
        status = fl_json_canonical(fl_json_get(root, "card"), &text, err);
    }
    if (status == FL_OK) {
        status = fl_card_parse(fl_str_sv(&text), &x->arena, &card, err);
    }
    fl_str_done(&text);
    if (status == FL_OK) {
        status = fl_room_load(app, &room, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = fl_card_take(app, &room, &card, &taking, &lot, err);
    fl_room_done(&room);
    if (status == FL_OK) {
        char id[FL_ID_TEXT_MAX];
        char code[FL_CODE_TEXT_MAX];
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "lot_id", fl_id_format(id, lot));
        fl_json_put_cstr(w, "code", fl_id_code(code, lot));
        fl_json_put_text(w, "name", card.plant);
        fl_json_put_text(w, "teller", card.from);
        fl_json_put_int(w, "lines", (int64_t)card.n_past);
        fl_json_put_text(w, "batch", fl_newcomer_device(taking.key, &x->arena));
        fl_json_end(w);
        x->reply = fl_reply_json(201, w, &x->arena);
    }
    return status;
}

fl_status fl_api_card_take(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status == FL_OK &&
        fl_json_type_of(fl_json_get(fl_json_root(doc), "card")) != FL_JSON_OBJECT) {
        status = fl_fail(err, FL_EINVAL, "/card: give the history card as it was given");
    }
    if (status == FL_OK) {
        status = take_card(x, app, fl_json_root(doc), err);
    }
    fl_json_free(doc);
    return status;
}
