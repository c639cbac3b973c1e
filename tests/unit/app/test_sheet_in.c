/* app/sheet_in.h and newcomer.h: encodings (RFC 3629 for UTF-8, RFC 2781 for UTF-16, code page 1252
 * by its own table), quoting by RFC 4180, columns, dates, and the batch with its way back. */
#include <math.h>
#include <string.h>

#include "app/sheet_in.h"
#include "support/keeper.h"

/* Local noon of the first day: the keeper's room is an hour east of UTC. */
#define NOON_S (FL_KEEPER_START_S - FL_HOUR_S)

typedef struct rig {
    fl_keeper k;
    fl_arena arena;
    fl_sheet_options options;
} rig;

static void begin(rig *r)
{
    fl_keeper_init(&r->k);
    fl_arena_init(&r->arena);
    (void)fl_keeper_source(&r->k, "Corner Nursery", FL_SOURCE_NURSERY, false);
    (void)fl_keeper_source(&r->k, "swap", FL_SOURCE_TRADE, false);
    (void)fl_keeper_place(&r->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_keeper_ask(&r->k);
    r->options = (fl_sheet_options){.source = FL_SV("Corner Nursery"),
                                    .place = FL_SV("bench"),
                                    .form = FL_FORM_POTTED,
                                    .use = FL_USE_STOCK,
                                    .at_s = r->k.now_s,
                                    .key = fl_id_random()};
}

static void end(rig *r)
{
    fl_arena_done(&r->arena);
    fl_keeper_done(&r->k);
}

static fl_sheet_in read_text(rig *r, fl_sv text)
{
    fl_sheet_in sheet;
    check_ok(fl_sheet_in_read(&r->k.room, text, &r->options, &r->arena, &sheet, &r->k.err),
             &r->k.err);
    return sheet;
}

static void check_trouble(const fl_sheet_in *sheet, size_t at, int64_t line, const char *text)
{
    check_true(at < sheet->n_troubles);
    check_int(sheet->troubles[at].line, line);
    check_contains(sheet->troubles[at].text.ptr, text);
}

static void test_columns_and_rows(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    fl_sheet_in sheet = read_text(
        &r, FL_SV("\xef\xbb\xbfPlant;Qty;Form;For;From;Arrived;Price;Colour;Notes\r\n"
                  "creeping fig;2;plug;frogs;swap;2026-02-25;4,50;green;\"a \"\"good\"\" one;\r\n"
                  "with two lines\"\r\n"
                  "\r\n"
                  "moss;;Moss-clump;stock;;;;;\r\n"));
    check_str(sheet.encoding, "UTF-8");
    check_int(sheet.delimiter, ';');
    check_int(sheet.n_troubles, 0);
    check_int(sheet.n_rows, 2);
    check_int(sheet.columns[7].field, FL_SHEET_NONE);
    const fl_newcomer *fig = &sheet.rows[0].lot;
    check_int(sheet.rows[0].line, 2);
    check_sv(fig->plant, "creeping fig");
    check_int(fig->count, 2);
    check_int(fig->form, FL_FORM_PLUG);
    check_int(fig->use, FL_USE_AMPHIBIAN);
    check_sv(fl_room_source_name(&r.k.room, fig->source), "swap");
    check_int(fig->at_s, NOON_S - 5 * FL_DAY_S);
    check_int(fig->precision, FL_PRECISION_DAY);
    check_close(fig->cost, 4.5, 1e-12, 0.0);
    check_sv(fig->note, "a \"good\" one;\r\nwith two lines");
    const fl_newcomer *moss = &sheet.rows[1].lot;
    check_int(sheet.rows[1].line, 5);
    check_int(moss->count, 1);
    check_int(moss->form, FL_FORM_MOSS_CLUMP);
    check_true(isnan(moss->cost));
    check_sv(fl_room_source_name(&r.k.room, moss->source), "Corner Nursery");
    end(&r);
}

static void test_matching(void **state)
{
    rig r;
    fl_sheet_in sheet;
    (void)state;
    begin(&r);
    r.options.match = FL_SV("Was=plant,Plant=none,Stk=count");
    sheet = read_text(&r, FL_SV("Plant\tWas\tStk\nx\tPilea\t3\n"));
    check_int(sheet.delimiter, '\t');
    check_int(sheet.n_rows, 1);
    check_sv(sheet.rows[0].lot.plant, "Pilea");
    check_int(sheet.rows[0].lot.count, 3);
    r.options.match = FL_SV("Wer=plant");
    check_int(
        fl_sheet_in_read(&r.k.room, FL_SV("a,b\n1,2\n"), &r.options, &r.arena, &sheet, &r.k.err),
        FL_EINVAL);
    r.options.match = FL_SV("a=colour");
    check_int(
        fl_sheet_in_read(&r.k.room, FL_SV("a,b\n1,2\n"), &r.options, &r.arena, &sheet, &r.k.err),
        FL_EINVAL);
    r.options.match = FL_SV("");
    sheet = read_text(&r, FL_SV("a,b\n1,2\n"));
    check_trouble(&sheet, 0, 0, "no column holds the plant");
    end(&r);
}

static void test_troubles_name_their_lines(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    r.options.form = -1;
    fl_sheet_in sheet = read_text(&r, FL_SV("plant,count,form,source,place,date,cost\n"
                                            "a,0,potted,,,,\n"
                                            "b,1,tree,,,,\n"
                                            "c,1,,,,,\n"
                                            "d,1,potted,nowhere,,,\n"
                                            "e,1,potted,,cellar,,\n"
                                            "f,1,potted,,,2026-02-31,\n"
                                            "g,1,potted,,,2027-02-01,\n"
                                            "h,1,potted,,,,dear\n"
                                            ",1,potted,,,,\n"
                                            "j,1,potted,,,,\n"));
    check_int(sheet.n_rows, 1);
    check_int(sheet.n_troubles, 9);
    check_trouble(&sheet, 0, 2, "count \"0\"");
    check_trouble(&sheet, 1, 3, "form \"tree\": give one of potted");
    check_trouble(&sheet, 2, 4, "form \"\"");
    check_trouble(&sheet, 3, 5, "nowhere");
    check_trouble(&sheet, 4, 6, "cellar");
    check_trouble(&sheet, 5, 7, "date \"2026-02-31\"");
    check_trouble(&sheet, 6, 8, "is ahead");
    check_trouble(&sheet, 7, 9, "cost \"dear\"");
    check_trouble(&sheet, 8, 10, "no plant");
    end(&r);
}

/* Days and months never change places by guess. */
/* Found by tests/fuzz/fuzz_lots: an event takes one line, and a cell may hold more. */
static void test_a_name_is_one_line(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    fl_sheet_in sheet =
        read_text(&r, FL_SV("Plant;Notes\r\n\"creeping\nfig\x0b\";\"a\nb\x02\"\r\n"));
    check_int(sheet.n_troubles, 0);
    check_sv(sheet.rows[0].lot.plant, "creeping fig");
    check_sv(sheet.rows[0].lot.note, "a\nb");
    end(&r);
}

static void test_dates(void **state)
{
    static const struct {
        const char *text;
        fl_date_shape shape;
        const char *day; /* as read with the day first */
    } cases[] = {
        {"2026-03-04", FL_DATE_FIXED, "2026-03-04"},
        {"4.3.2026", FL_DATE_FIXED, "2026-03-04"},
        {"4. 3. 26", FL_DATE_FIXED, "2026-03-04"},
        {"25/03/2026", FL_DATE_DMY, "2026-03-25"},
        {"03/25/2026", FL_DATE_MDY, "2026-03-25"},
        {"03/04/2026", FL_DATE_OPEN, "2026-04-03"},
        {"04/04/2026", FL_DATE_FIXED, "2026-04-04"},
        {"13/13/2026", FL_DATE_NONE, ""},
        {"2026-13-01", FL_DATE_NONE, ""},
        {"soon", FL_DATE_NONE, ""},
        {"3/4", FL_DATE_NONE, ""},
        {"29.2.2025", FL_DATE_NONE, ""},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[FL_CIVIL_TEXT_MAX];
        int64_t at_s = 0;
        fl_sv date = fl_sv_from_cstr(cases[i].text);
        check_int(fl_sheet_date(date, FL_SHEET_DATES_ASK, 60, &at_s), cases[i].shape);
        if (cases[i].shape != FL_DATE_NONE) {
            check_str(fl_civil_format_date(text, at_s, 60), cases[i].day);
        }
    }
    int64_t at_s = 0;
    char text[FL_CIVIL_TEXT_MAX];
    check_int(fl_sheet_date(FL_SV("03/04/2026"), FL_SHEET_DATES_MDY, 0, &at_s), FL_DATE_OPEN);
    check_str(fl_civil_format_date(text, at_s, 0), "2026-03-04");
}

static void test_dates_of_a_file(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    fl_sheet_in sheet = read_text(&r, FL_SV("plant,date\na,03/01/2026\nb,02/01/2026\n"));
    check_trouble(&sheet, 0, 0, "Say dmy or mdy");
    r.options.dates = FL_SHEET_DATES_MDY;
    sheet = read_text(&r, FL_SV("plant,date\na,02/01/2026\n"));
    check_int(sheet.n_troubles, 0);
    check_int(sheet.rows[0].lot.at_s, NOON_S - 29 * FL_DAY_S); /* 1 February */
    r.options.dates = FL_SHEET_DATES_ASK;
    sheet = read_text(&r, FL_SV("plant,date\na,02/01/2026\nb,25/01/2026\n")); /* b tells of a */
    check_int(sheet.n_troubles, 0);
    check_int(sheet.dates, FL_SHEET_DATES_DMY);
    check_int(sheet.rows[0].lot.at_s, NOON_S - 59 * FL_DAY_S); /* 2 January */
    sheet = read_text(&r, FL_SV("plant,date\na,25/01/2026\nb,01/25/2026\n"));
    check_trouble(&sheet, 0, 0, "some have the day first");
    end(&r);
}

static void test_encodings(void **state)
{
    static const char utf16[] = "\xff\xfe"
                                "F\0\xe4\0\x3c\xd8\x31\xdf"; /* Fä, then U+1F331, a pair */
    fl_arena arena;
    const char *encoding = NULL;
    (void)state;
    fl_arena_init(&arena);
    check_sv(fl_sheet_decode((fl_sv){utf16, 10}, &arena, &encoding), "F\xc3\xa4\xf0\x9f\x8c\xb1");
    check_str(encoding, "UTF-16");
    check_sv(fl_sheet_decode((fl_sv){"\0F\0\xe4", 4}, &arena, &encoding), "F\xc3\xa4");
    check_sv(fl_sheet_decode(FL_SV("F\xe4rn \x80 \x96"), &arena, &encoding),
             "F\xc3\xa4rn \xe2\x82\xac \xe2\x80\x93");
    check_str(encoding, "Windows-1252");
    check_sv(fl_sheet_decode(FL_SV("\xef\xbb\xbf"
                                   "F\xc3\xa4rn"),
                             &arena, &encoding),
             "F\xc3\xa4rn");
    check_str(encoding, "UTF-8");
    /* overlong and surrogate forms are no UTF-8 (RFC 3629 section 3) */
    (void)fl_sheet_decode(FL_SV("\xc0\xaf"), &arena, &encoding);
    check_str(encoding, "Windows-1252");
    (void)fl_sheet_decode(FL_SV("\xed\xa0\x80"), &arena, &encoding);
    check_str(encoding, "Windows-1252");
    fl_arena_done(&arena);
}

static size_t record(rig *r, const fl_sheet_in *sheet)
{
    fl_event *events = NULL;
    size_t n = 0;
    fl_sheet_in_events(sheet, &r->k.room, r->options.key, &r->arena, &events, &n);
    check_ok(fl_app_record_events(&r->k.app, events, n, &r->k.err), &r->k.err);
    fl_keeper_ask(&r->k);
    return n;
}

/* Sent twice it is recorded once; taken back, nothing of it counts. */
static void test_batch(void **state)
{
    static const char text[] = "plant,count,date\nFicus pumila,2,2026-02-20\nunnamed fern,1,\n"
                               "Ficus pumila,4,2026-02-20\n";
    rig r;
    size_t n_voided = 0;
    int64_t position = 0;
    (void)state;
    begin(&r);
    fl_sheet_in sheet = read_text(&r, FL_SV(text));
    check_int(record(&r, &sheet), 5); /* two plants, three lots */
    check_int(r.k.room.meaning.n_lots, 3);
    const fl_lot *a = NULL;
    check_ok(fl_room_find_lot(&r.k.room, FL_SV("unnamed fern"), &a, &r.k.err), &r.k.err);
    const fl_id arrival = a->arrival; /* the snapshot is read anew below */
    check_ok(fl_app_position(&r.k.app, &position, &r.k.err), &r.k.err);
    sheet = read_text(&r, FL_SV(text)); /* now the room has the plants */
    check_int(record(&r, &sheet), 3);
    int64_t again = 0;
    check_ok(fl_app_position(&r.k.app, &again, &r.k.err), &r.k.err);
    check_int(again, position);
    /* lots of one source and day came home together */
    size_t n_of_day = 0;
    for (size_t i = 0; i < r.k.room.meaning.n_lots; i++) {
        const fl_lot *lot = &r.k.room.meaning.lots[i];
        n_of_day += !fl_id_eq(lot->arrival, arrival);
    }
    check_int(n_of_day, 2);
    fl_sv batch = fl_newcomer_device(r.options.key, &r.arena);
    check_ok(fl_newcomer_undo(&r.k.app, &r.k.room, batch, FL_SV("test"), &n_voided, &r.k.err),
             &r.k.err);
    check_int(n_voided, 5);
    fl_keeper_ask(&r.k);
    check_int(r.k.room.meaning.n_lots, 0);
    check_int(fl_newcomer_undo(&r.k.app, &r.k.room, batch, FL_SV("test"), &n_voided, &r.k.err),
              FL_ENOTFOUND);
    check_int(fl_newcomer_undo(&r.k.app, &r.k.room, FL_SV(""), FL_SV("test"), &n_voided, &r.k.err),
              FL_ENOTFOUND); /* never all events without a device */
    end(&r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_columns_and_rows),
    cmocka_unit_test(test_matching),
    cmocka_unit_test(test_troubles_name_their_lines),
    cmocka_unit_test(test_a_name_is_one_line),
    cmocka_unit_test(test_dates),
    cmocka_unit_test(test_dates_of_a_file),
    cmocka_unit_test(test_encodings),
    cmocka_unit_test(test_batch),
};
FL_TEST_MAIN(tests)
