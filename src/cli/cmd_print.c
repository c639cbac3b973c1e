/* Labels, sheets and cards as PDF. */
#include "app/files.h"
#include "app/paper.h"
#include "cli/compose.h"
#include "print/order.h"

/* The options that every form has. */
enum { OUT, PAPER, FIRST };
#define OPTIONS_OUT                                                                                \
    [OUT] = {"out", FL_ARG_TEXT, .is_required = true,                                              \
             .help = "the PDF's file; - is standard output. A file that is there is replaced"},    \
    [PAPER] = {"paper", FL_ARG_TEXT, .choices = "a4|letter|a5", .help = "of sheets; a4"}

/* ---- writing ---- */

static void tell(const fl_call *call, const char *file, size_t bytes)
{
    if (call->s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "file", file);
        fl_json_put_int(w, "size_bytes", (int64_t)bytes);
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else {
        (void)printf("%s: %zu KiB. Print it at 100 %%, not fitted to the page.\n", file,
                     (bytes + 1023) / 1024);
    }
}

/* Makes what is ordered and writes it. */
static fl_status print_order(fl_call *call, fl_order *order, fl_err *err)
{
    fl_str pdf;
    fl_session *s = call->s;
    const char *file = fl_arena_copy_sv(&s->arena, call->value[OUT].text).ptr;
    bool needs_chances = order->kind != FL_ORDER_LABELS && order->kind != FL_ORDER_TEST_PAGE;
    fl_status status = needs_chances ? fl_session_chances(s, err) : FL_OK;
    fl_str_init(&pdf, FL_PDF_BYTES_MAX);
    order->app = &s->app;
    order->room = &s->room;
    order->chances = s->chances;
    order->of = call->words;
    order->n_of = call->n_words;
    order->paper =
        call->value[PAPER].choice >= 0 ? (fl_paper)call->value[PAPER].choice : FL_PAPER_A4;
    if (status == FL_OK) {
        status = fl_order_make(order, &pdf, err);
    }
    if (status == FL_OK) {
        status = fl_files_write(file, fl_str_sv(&pdf), true, err);
    }
    if (status == FL_OK && !fl_sv_eq_cstr(call->value[OUT].text, "-")) {
        tell(call, file, pdf.len);
    }
    fl_str_done(&pdf);
    return status;
}

/* ---- labels ---- */

enum { STOCK = FIRST, PRINTER, SKIP, COPIES, PLACES };

#define OPTIONS_LABELS                                                                             \
    OPTIONS_OUT,                                                                                   \
        [STOCK] = {"stock", FL_ARG_TEXT,                                                           \
                   .help = "the sheet or roll, of `print stocks`; a4-24-70x37"},                   \
        [PRINTER] = {"printer", FL_ARG_TEXT, .help = "whose offset counts (print printer)"}

static const fl_arg label_options[] = {
    OPTIONS_LABELS,
    [SKIP] = {"skip", FL_ARG_INT, .min = 0, .max = 200,
              .help = "labels of the first sheet that are used up"},
    [COPIES] = {"copies", FL_ARG_INT, .min = 1, .max = FL_ORDER_COPIES_MAX, .fallback = 1,
                .help = "of each"},
    [PLACES] = {"places", FL_ARG_FLAG, .help = "all bins, jars, spots, benches and enclosures"},
};

static fl_status labels(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_order order = {.kind = FL_ORDER_LABELS,
                      .stock = value[STOCK].text,
                      .printer = value[PRINTER].text,
                      .skip = (int)value[SKIP].integer,
                      .copies = (int)value[COPIES].integer,
                      .has_places = value[PLACES].is_given};
    return print_order(call, &order, err);
}

static const fl_arg test_options[] = {OPTIONS_LABELS};

static fl_status test_page(fl_call *call, fl_err *err)
{
    fl_order order = {.kind = FL_ORDER_TEST_PAGE,
                      .stock = call->value[STOCK].text,
                      .printer = call->value[PRINTER].text};
    return print_order(call, &order, err);
}

static void stocks_json(void)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_stocks_put(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status stocks(fl_call *call, fl_err *err)
{
    (void)err;
    if (call->s->cli->is_json) {
        stocks_json();
        return FL_OK;
    }
    for (size_t i = 0; i < FL_STOCK_COUNT; i++) {
        (void)printf("%-24s %s\n", fl_stocks[i].name, fl_stocks[i].text);
    }
    return FL_OK;
}

/* ---- settings ---- */

enum { NAME, X_MM, Y_MM };

static const fl_arg printer_options[] = {
    [NAME] = {"name", FL_ARG_TEXT, .help = "of the printer; left out: the usual one"},
    [X_MM] = {"x-mm", FL_ARG_NUMBER, .is_required = true, .min = -FL_PAPER_OFFSET_MAX_MM,
              .max = FL_PAPER_OFFSET_MAX_MM, .help = "to the right; of a test page"},
    [Y_MM] = {"y-mm", FL_ARG_NUMBER, .is_required = true, .min = -FL_PAPER_OFFSET_MAX_MM,
              .max = FL_PAPER_OFFSET_MAX_MM, .help = "down"},
};

static fl_status printer(fl_call *call, fl_err *err)
{
    const fl_printer offset = {call->value[X_MM].number, call->value[Y_MM].number};
    fl_status status = fl_paper_set_printer(&call->s->app, call->value[NAME].text, offset, err);
    if (status == FL_OK && !call->s->cli->is_json) {
        (void)printf("What it prints is moved %g mm to the right and %g mm down.\n", offset.x_mm,
                     offset.y_mm);
    }
    return status;
}

static fl_status address(fl_call *call, fl_err *err)
{
    fl_sv url;
    fl_session *s = call->s;
    fl_status status = FL_OK;
    if (call->n_words > 0) {
        status = fl_label_url(call->words[0], FL_SV("ABCDEF"), &s->arena, &url, err);
        if (status == FL_OK) {
            status = fl_paper_set_base_url(&s->app, call->words[0], err);
        }
    }
    if (status == FL_OK) {
        status = fl_paper_base_url(&s->app, &s->arena, &url, err);
    }
    if (status == FL_OK) {
        (void)printf("%.*s\n", FL_SV_ARG(url));
    }
    return status;
}

/* ---- sheets and cards ---- */

enum { TUB_ML = FIRST, LABEL };

static const fl_arg evening_options[] = {
    OPTIONS_OUT,
    [TUB_ML] = {"tub-ml", FL_ARG_NUMBER, .min = 50, .max = 200000, .fallback = 1000,
                .help = "how much each dip is mixed for; 1000"},
    [LABEL] = {"label-pct", FL_ARG_NUMBER, .min = 0.5, .max = 20,
               .help = "strength on the bleach bottle's label, when none is recorded"},
};
static const fl_arg sheet_options[] = {OPTIONS_OUT};

static fl_status evening(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_order order = {.kind = FL_ORDER_EVENING,
                      .tub_ml = value[TUB_ML].number,
                      .label_pct = value[LABEL].is_given ? value[LABEL].number : 0.0};
    return print_order(call, &order, err);
}

enum { FROM_DAY = FIRST, TO_DAY };

static const fl_arg pesticide_options[] = {
    OPTIONS_OUT,
    [FROM_DAY] = {"from", FL_ARG_TEXT, .help = "the first day: 2026-01-01"},
    [TO_DAY] = {"to", FL_ARG_TEXT, .help = "the last day"},
};

static fl_status pesticides(fl_call *call, fl_err *err)
{
    fl_order order = {.kind = FL_ORDER_PESTICIDES,
                      .from = call->value[FROM_DAY].text,
                      .to = call->value[TO_DAY].text};
    return print_order(call, &order, err);
}

#define SHEET(function, order_kind)                                                                \
    static fl_status function(fl_call *call, fl_err *err)                                          \
    {                                                                                              \
        fl_order order = {.kind = (order_kind)};                                                   \
        return print_order(call, &order, err);                                                     \
    }
SHEET(round_of_looks, FL_ORDER_ROUND)
SHEET(place_card, FL_ORDER_PLACE)
SHEET(sitter, FL_ORDER_SITTER)
SHEET(outbreak, FL_ORDER_OUTBREAK)
SHEET(lot_card, FL_ORDER_CARD)
SHEET(complaint, FL_ORDER_COMPLAINT)

static const fl_verb verbs[] = {
    {.name = "labels",
     .usage = "[LOT|PLACE]… --out FILE.pdf [--stock S] [--skip N] [--copies N] [--places]",
     .summary = "Labels with a QR code and a short code. Without names: every lot that is not "
                "released. They are no plant passports: those are an authority's.",
     .args = FL_VERB_ARGS_WORDS(label_options, "LOT|PLACE", FL_WORDS_MAX),
     .fn = labels},
    {.name = "test-page",
     .usage = "--out FILE.pdf [--stock S] [--printer P]",
     .summary = "The outlines of the labels and a ruler of 50 mm, to find the printer's offset.",
     .args = FL_VERB_ARGS(test_options),
     .fn = test_page},
    {.name = "stocks",
     .usage = "",
     .summary = "The sheets and rolls that labels are made for.",
     .needs = FL_NEEDS_NOTHING,
     .fn = stocks},
    {.name = "printer",
     .usage = "[--name P] --x-mm X --y-mm Y",
     .summary = "How far what a printer prints is to be moved.",
     .args = FL_VERB_ARGS(printer_options),
     .needs = FL_NEEDS_APP,
     .fn = printer},
    {.name = "address",
     .usage = "[http://NAME:PORT]",
     .summary = "The address that labels lead to; with one, sets it.",
     .args = FL_VERB_WORDS("http://NAME:PORT", 1),
     .needs = FL_NEEDS_APP,
     .fn = address},
    {.name = "evening",
     .usage = "--out FILE.pdf [--tub-ml N] [--label-pct N]",
     .summary = "Tonight's run sheet, with recipes and cautions.",
     .args = FL_VERB_ARGS(evening_options),
     .fn = evening},
    {.name = "round",
     .usage = "--out FILE.pdf",
     .summary = "A round of looks: every place in quarantine, cleanest first.",
     .args = FL_VERB_ARGS(sheet_options),
     .fn = round_of_looks},
    {.name = "place",
     .usage = "PLACE --out FILE.pdf",
     .summary = "The card that hangs on a bin or an enclosure, with a log to fill in.",
     .args = FL_VERB_ARGS_WORDS(sheet_options, "PLACE", 1),
     .words_min = 1,
     .fn = place_card},
    {.name = "sitter",
     .usage = "--out FILE.pdf",
     .summary = "A sheet for whoever looks after the room while you are away.",
     .args = FL_VERB_ARGS(sheet_options),
     .fn = sitter},
    {.name = "outbreak",
     .usage = "FINDING|PLACE --out FILE.pdf",
     .summary = "The story of a find: what, from where, who else, what was done.",
     .args = FL_VERB_ARGS_WORDS(sheet_options, "FINDING|PLACE", 1),
     .words_min = 1,
     .fn = outbreak},
    {.name = "card",
     .usage = "LOT --out FILE.pdf",
     .summary = "The history card of a lot. It is no official phytosanitary document and no plant "
                "passport.",
     .args = FL_VERB_ARGS_WORDS(sheet_options, "LOT", 1),
     .words_min = 1,
     .fn = lot_card},
    {.name = "complaint",
     .usage = "CODE --out FILE.pdf",
     .summary = "The answer to a customer's complaint, with what it rests on.",
     .args = FL_VERB_ARGS_WORDS(sheet_options, "CODE", 1),
     .words_min = 1,
     .fn = complaint},
    {.name = "pesticides",
     .usage = "--out FILE.pdf [--from DATE] [--to DATE]",
     .summary = "The record of pesticides. Whether it is enough is your authority's to say.",
     .args = FL_VERB_ARGS(pesticide_options),
     .fn = pesticides},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_print;
const fl_command fl_command_print = {
    .name = "print",
    .rank = 60,
    .summary = "labels, sheets and cards on paper (PDF)",
    .usage = "labels|test-page|stocks|printer|address|evening|round|place|sitter|outbreak|card|"
             "complaint|pesticides …",
    .example = "fernlock print labels --stock a4-21-63.5x38.1 --out labels.pdf",
    .fn = run,
    .help = help,
};
