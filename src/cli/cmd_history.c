/* A lot's history card as a file: given away with a plant, and taken in with one. */
#include "app/card_file.h"
#include "app/card_take.h"
#include "app/files.h"
#include "app/newcomer.h"
#include "cli/compose.h"

/* ---- giving ---- */

enum { OUT };

static const fl_arg write_options[] = {
    [OUT] = {"out", FL_ARG_TEXT, .is_required = true,
             .help = "the file; - is standard output. A file that is there is replaced"},
};

static fl_status write_card(fl_call *call, fl_err *err)
{
    fl_str text;
    fl_card card;
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    size_t n_left_out = 0;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status == FL_OK) {
        status = fl_card_make(&s->room, s->chances, lot, &s->arena, &card, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_str_init(&text, FL_CARD_BYTES_MAX + 1);
    status = fl_card_write(&card, &text, &n_left_out, err);
    if (status == FL_OK) {
        const char *path = fl_arena_copy_sv(&s->arena, call->value[OUT].text).ptr;
        status = fl_files_write(path, fl_str_sv(&text), true, err);
    }
    fl_str_done(&text);
    bool is_told =
        status == FL_OK && !fl_sv_eq_cstr(call->value[OUT].text, "-") && !s->cli->is_json;
    if (is_told) {
        (void)printf("%.*s: %.*s, %zu lines of its past.\n", FL_SV_ARG(call->value[OUT].text),
                     FL_SV_ARG(card.plant), card.n_lines - n_left_out);
    }
    if (is_told && n_left_out > 0) {
        (void)printf("The %zu oldest looks and stays are left out: a card is small.\n", n_left_out);
    }
    return status;
}

/* ---- taking ---- */

enum { SOURCE = FL_OPTION_FIRST, PLACE, USE, COUNT };

static const fl_arg read_options[] = {
    FL_OPTIONS_RECORDING,
    [SOURCE] = {"source", FL_ARG_TEXT, .is_required = true, .help = "who you had it from"},
    [PLACE] = {"place", FL_ARG_TEXT, .is_required = true,
               .help = "where it stands now, usually the bench"},
    [USE] = {"use", FL_ARG_TEXT, .choices = "plants_only|reptile|invertebrate|amphibian|stock",
             .help = "what it is for; stock, the strictest"},
    [COUNT] = {"count", FL_ARG_INT, .min = 1, .max = 100000, .help = "how many you got"},
};

static fl_status read_card(fl_call *call, fl_err *err)
{
    fl_str text;
    fl_card_read card;
    fl_session *s = call->s;
    fl_id lot = {{0}};
    const fl_arg_value *value = call->value;
    const fl_card_taking taking = {.key = fl_compose_id(s),
                                   .source = value[SOURCE].text,
                                   .place = value[PLACE].text,
                                   .use = value[USE].choice >= 0 ? (fl_use)value[USE].choice
                                                                 : FL_USE_STOCK,
                                   .count = value[COUNT].is_given ? value[COUNT].integer : 0,
                                   .at_s = s->at_s};
    fl_str_init(&text, 2 * FL_CARD_BYTES_MAX);
    fl_status status = fl_cli_read_file(call->words[0].ptr, 2 * FL_CARD_BYTES_MAX, &text, err);
    if (status == FL_OK) {
        status = fl_card_parse(fl_str_sv(&text), &s->arena, &card, err);
    }
    fl_str_done(&text);
    if (status == FL_OK) {
        status = fl_card_take(&s->app, &s->room, &card, &taking, &lot, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_sv code = fl_code_of(s, lot);
    fl_sv batch = fl_newcomer_device(taking.key, &s->arena);
    if (s->cli->is_json) {
        char id[FL_ID_TEXT_MAX];
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "lot_id", fl_id_format(id, lot));
        fl_json_put_text(w, "code", code);
        fl_json_put_text(w, "teller", card.from);
        fl_json_put_int(w, "lines", (int64_t)card.n_past);
        fl_json_put_text(w, "batch", batch);
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    (void)printf("%.*s (%.*s) has the past that %.*s told: %zu lines. It counts for nothing in "
                 "the chances:\nwhat was not looked at here is not known here.\n",
                 FL_SV_ARG(card.plant), FL_SV_ARG(code), FL_SV_ARG(card.from), card.n_past);
    (void)printf("To take it back: fernlock arrive undo %.*s\n", FL_SV_ARG(batch));
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "write",
     .usage = "LOT --out FILE.json",
     .summary = "The lot's history card as a file, to go with the plant.",
     .args = FL_VERB_ARGS_WORDS(write_options, "LOT", 1),
     .words_min = 1,
     .fn = write_card},
    {.name = "read",
     .usage = "FILE.json --source S --place BENCH [--use U] [--count N]",
     .summary = "A plant that came with a card: it arrives, and has that past, as told by another.",
     .args = FL_VERB_ARGS_WORDS(read_options, "FILE.json", 1),
     .words_min = 1,
     .fn = read_card},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_history;
const fl_command fl_command_history = {
    .name = "history",
    .rank = 62,
    .summary = "a lot's history card as a file, out and in",
    .usage = "write LOT --out FILE.json | read FILE.json --source S --place P",
    .example = "fernlock history write K7F2QX --out fern.json",
    .fn = run,
    .help = help,
};
