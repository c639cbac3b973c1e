/* Columns to fields, rows to lots. */
#include "app/sheet_in.h"

#include <math.h>
#include <string.h>

#include "app/csv_in.h"
#include "base/limits.h"
#include "base/num.h"
#include "base/shown.h"
#include "base/str.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_sheet_field[FL_SHEET_FIELD_COUNT] = {FL_SHEET_FIELD_LIST(FL_WORD_ENTRY)};

typedef struct reading {
    const fl_room *room;
    const fl_sheet_options *options;
    fl_arena *arena;
    fl_csv csv;
    fl_sheet_in out;
    fl_id source, place; /* of the options; none */
} reading;

static void trouble(reading *r, int64_t line, fl_sv text)
{
    if (r->out.n_troubles < FL_SHEET_TROUBLES_MAX) {
        r->out.troubles[r->out.n_troubles++] = (fl_sheet_trouble){line, text};
    }
}

/* ---- the file ---- */

/* What stands most often between fields of the first line that has something. */
static char find_delimiter(fl_sv text)
{
    static const char candidates[] = {',', ';', '\t'};
    size_t best = 0;
    char found = ',';
    fl_sv rest = text;
    fl_sv line = {NULL, 0};
    while (rest.len > 0 && fl_sv_trim(line).len == 0) {
        line = fl_sv_split(&rest, '\n');
    }
    for (size_t i = 0; i < sizeof candidates; i++) {
        size_t n = 0;
        bool is_quoted = false;
        for (size_t k = 0; k < line.len; k++) {
            is_quoted = line.ptr[k] == '"' ? !is_quoted : is_quoted;
            n += !is_quoted && line.ptr[k] == candidates[i] ? 1U : 0U;
        }
        if (n > best) {
            best = n;
            found = candidates[i];
        }
    }
    return found;
}

/* ---- columns ---- */

typedef struct synonym {
    const char *name;
    fl_sheet_field field;
} synonym;

/* Names that columns have in spreadsheets, in English and German; compared without case. */
static const synonym synonyms[] = {
    {"plant", FL_SHEET_PLANT},       {"name", FL_SHEET_PLANT},
    {"species", FL_SHEET_PLANT},     {"what", FL_SHEET_PLANT},
    {"common name", FL_SHEET_PLANT}, {"pflanze", FL_SHEET_PLANT},
    {"art", FL_SHEET_PLANT},         {"taxon", FL_SHEET_TAXON},
    {"botanical", FL_SHEET_TAXON},   {"botanical name", FL_SHEET_TAXON},
    {"latin name", FL_SHEET_TAXON},  {"scientific name", FL_SHEET_TAXON},
    {"count", FL_SHEET_COUNT},       {"quantity", FL_SHEET_COUNT},
    {"qty", FL_SHEET_COUNT},         {"number", FL_SHEET_COUNT},
    {"n", FL_SHEET_COUNT},           {"pcs", FL_SHEET_COUNT},
    {"anzahl", FL_SHEET_COUNT},      {"menge", FL_SHEET_COUNT},
    {"form", FL_SHEET_FORM},         {"type", FL_SHEET_FORM},
    {"use", FL_SHEET_USE},           {"for", FL_SHEET_USE},
    {"purpose", FL_SHEET_USE},       {"zweck", FL_SHEET_USE},
    {"source", FL_SHEET_SOURCE},     {"from", FL_SHEET_SOURCE},
    {"shop", FL_SHEET_SOURCE},       {"seller", FL_SHEET_SOURCE},
    {"bought at", FL_SHEET_SOURCE},  {"quelle", FL_SHEET_SOURCE},
    {"herkunft", FL_SHEET_SOURCE},   {"date", FL_SHEET_DATE},
    {"arrived", FL_SHEET_DATE},      {"bought", FL_SHEET_DATE},
    {"came", FL_SHEET_DATE},         {"datum", FL_SHEET_DATE},
    {"place", FL_SHEET_PLACE},       {"where", FL_SHEET_PLACE},
    {"location", FL_SHEET_PLACE},    {"ort", FL_SHEET_PLACE},
    {"label", FL_SHEET_LABEL},       {"pesticide", FL_SHEET_LABEL},
    {"cost", FL_SHEET_COST},         {"price", FL_SHEET_COST},
    {"preis", FL_SHEET_COST},        {"note", FL_SHEET_NOTE},
    {"notes", FL_SHEET_NOTE},        {"remark", FL_SHEET_NOTE},
    {"notiz", FL_SHEET_NOTE},        {"bemerkung", FL_SHEET_NOTE},
};

static fl_sheet_field field_of(fl_sv name)
{
    for (size_t i = 0; i < sizeof synonyms / sizeof synonyms[0]; i++) {
        if (fl_sv_eq_nocase(name, fl_sv_from_cstr(synonyms[i].name))) {
            return synonyms[i].field;
        }
    }
    return FL_SHEET_NONE;
}

static fl_status match_one(reading *r, fl_sv pair, fl_err *err)
{
    fl_sv word = pair;
    fl_sv name = fl_sv_trim(fl_sv_split(&word, '='));
    int field = fl_word_find(fl_words_sheet_field, FL_SHEET_FIELD_COUNT, fl_sv_trim(word));
    if (field < 0) {
        return fl_fail(err, FL_EINVAL,
                       "match \"%.*s\": give COLUMN=FIELD, the field one of plant, taxon, count, "
                       "form, use, source, date, place, label, cost, note, none",
                       FL_SHOWN(pair));
    }
    for (size_t i = 0; i < r->out.n_columns; i++) {
        if (fl_sv_eq_nocase(r->out.columns[i].name, name)) {
            r->out.columns[i].field = (fl_sheet_field)field;
            r->out.columns[i].is_told = true;
            return FL_OK;
        }
    }
    return fl_fail(err, FL_EINVAL, "match: there is no column \"%.*s\"", FL_SHOWN(name));
}

/* A field that two columns claim: the one that was told wins, then the first. */
static void settle(reading *r)
{
    for (size_t i = 0; i < r->out.n_columns; i++) {
        fl_sheet_column *a = &r->out.columns[i];
        for (size_t k = 0; k < r->out.n_columns && a->field != FL_SHEET_NONE; k++) {
            fl_sheet_column *b = &r->out.columns[k];
            bool loses = k != i && b->field == a->field &&
                         (b->is_told ? !a->is_told || k < i : !a->is_told && k < i);
            if (loses) {
                a->field = FL_SHEET_NONE;
            }
        }
    }
}

static fl_status match_columns(reading *r, fl_err *err)
{
    fl_status status = FL_OK;
    fl_sv rest = r->options->match;
    r->out.n_columns = r->csv.n_columns;
    r->out.columns = FL_ARENA_ARRAY(r->arena, fl_sheet_column, r->csv.n_columns);
    for (size_t i = 0; i < r->csv.n_columns; i++) {
        fl_sv name = fl_arena_copy_sv(r->arena, r->csv.columns[i]);
        r->out.columns[i] = (fl_sheet_column){.name = name, .field = field_of(name)};
    }
    while (rest.len > 0 && status == FL_OK) {
        status = match_one(r, fl_sv_split(&rest, ','), err);
    }
    settle(r);
    return status;
}

static bool has_column(const reading *r, fl_sheet_field field)
{
    for (size_t i = 0; i < r->out.n_columns; i++) {
        if (r->out.columns[i].field == field) {
            return true;
        }
    }
    return false;
}

/* A cell as one line: a line break in it, or another control character, becomes a space; events
 * take none in names. A note keeps its lines. */
static fl_sv one_line(const reading *r, fl_sv text, bool is_note)
{
    char *line = NULL;
    for (size_t i = 0; i < text.len; i++) {
        unsigned char c = (unsigned char)text.ptr[i];
        bool is_kept = is_note && (c == '\n' || c == '\r' || c == '\t');
        if ((c < 0x20 || c == 0x7f) && !is_kept) {
            if (line == NULL) {
                line = FL_ARENA_ARRAY(r->arena, char, text.len);
                memcpy(line, text.ptr, text.len);
            }
            line[i] = ' ';
        }
    }
    return fl_sv_trim(line != NULL ? (fl_sv){line, text.len} : text);
}

/* The row's text of a field; empty without a column. */
static fl_sv cell(const reading *r, size_t row, fl_sheet_field field)
{
    for (size_t i = 0; i < r->out.n_columns; i++) {
        if (r->out.columns[i].field == field) {
            return one_line(r, fl_csv_text(&r->csv, row, i), field == FL_SHEET_NOTE);
        }
    }
    return FL_SV("");
}

/* ---- words ---- */

typedef struct alias {
    const char *text;
    int value;
} alias;

static const alias forms[] = {
    {"pot", FL_FORM_POTTED},
    {"plant", FL_FORM_POTTED},
    {"topf", FL_FORM_POTTED},
    {"cutting", FL_FORM_UNROOTED_CUTTING},
    {"cuttings", FL_FORM_UNROOTED_CUTTING},
    {"steckling", FL_FORM_UNROOTED_CUTTING},
    {"tc", FL_FORM_TISSUE_CULTURE},
    {"in vitro", FL_FORM_TISSUE_CULTURE},
    {"moss", FL_FORM_MOSS_CLUMP},
    {"moos", FL_FORM_MOSS_CLUMP},
    {"seeds", FL_FORM_SEED},
    {"samen", FL_FORM_SEED},
};

static const alias uses[] = {
    {"plants", FL_USE_PLANTS_ONLY},   {"pflanzen", FL_USE_PLANTS_ONLY},
    {"frog", FL_USE_AMPHIBIAN},       {"frogs", FL_USE_AMPHIBIAN},
    {"amphibians", FL_USE_AMPHIBIAN}, {"gecko", FL_USE_REPTILE},
    {"reptiles", FL_USE_REPTILE},     {"isopods", FL_USE_INVERTEBRATE},
    {"mother", FL_USE_STOCK},         {"invertebrates", FL_USE_INVERTEBRATE},
};

/* "Bare-root" and "bare root" are bare_root. */
static bool is_same_word(fl_sv text, const char *word)
{
    size_t len = strlen(word);
    if (text.len != len) {
        return false;
    }
    for (size_t i = 0; i < len; i++) {
        char a = text.ptr[i];
        a = (char)(a >= 'A' && a <= 'Z' ? a - 'A' + 'a' : a == ' ' || a == '-' ? '_' : a);
        char b = (char)(word[i] == ' ' ? '_' : word[i]);
        if (a != b) {
            return false;
        }
    }
    return true;
}

static int find_word(fl_sv text, const fl_word *list, int count, const alias *aliases, size_t n)
{
    for (int i = 0; i < count; i++) {
        if (is_same_word(text, list[i].word) || is_same_word(text, list[i].text)) {
            return i;
        }
    }
    for (size_t i = 0; i < n; i++) {
        if (is_same_word(text, aliases[i].text)) {
            return aliases[i].value;
        }
    }
    return -1;
}

/* ---- rows ---- */

/* One row while it is read; the first trouble of it ends it. */
typedef struct row_reading {
    reading *r;
    size_t row;
    int64_t line;
    bool is_good;
    fl_newcomer lot;
} row_reading;

static void spoil(row_reading *w, fl_sv text)
{
    if (w->is_good) {
        trouble(w->r, w->line, text);
    }
    w->is_good = false;
}

static void take_count(row_reading *w)
{
    fl_sv text = cell(w->r, w->row, FL_SHEET_COUNT);
    w->lot.count = 1;
    if (text.len > 0 && fl_num_parse_int(text, "count", 1, 1000000, &w->lot.count, NULL) != FL_OK) {
        spoil(w, fl_arena_printf(w->r->arena, "count \"%.*s\": give a whole number of 1 or more",
                                 FL_SHOWN(text)));
    }
}

static int take_word(row_reading *w, fl_sheet_field field, int fallback, const alias *aliases,
                     size_t n)
{
    bool is_form = field == FL_SHEET_FORM;
    const fl_word *list = is_form ? fl_words_form : fl_words_use;
    int count = is_form ? (int)FL_FORM_COUNT : (int)FL_USE_COUNT;
    fl_sv text = cell(w->r, w->row, field);
    int found = text.len > 0 ? find_word(text, list, count, aliases, n) : fallback;
    if (found < 0) {
        fl_str names;
        fl_str_init(&names, 300);
        for (int i = 0; i < count; i++) {
            fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", list[i].word);
        }
        spoil(w, fl_arena_printf(w->r->arena, "%s \"%.*s\": give one of %s",
                                 fl_words_sheet_field[field].word, FL_SHOWN(text), names.ptr));
        fl_str_done(&names);
    }
    return found < 0 ? 0 : found;
}

static void take_source(row_reading *w)
{
    fl_err why = {0};
    const fl_ev_source_set *source = NULL;
    fl_sv text = cell(w->r, w->row, FL_SHEET_SOURCE);
    w->lot.source = w->r->source;
    if (text.len == 0 && fl_id_is_none(w->r->source)) {
        spoil(w, FL_SV("no source: give a column, or one source for all"));
    } else if (text.len > 0 && fl_room_find_source(w->r->room, text, &source, &why) != FL_OK) {
        spoil(w, fl_arena_printf(w->r->arena, "%s (first: fernlock source add)", why.message));
    } else if (text.len > 0) {
        w->lot.source = source->source;
    }
}

static void take_place(row_reading *w)
{
    fl_err why = {0};
    const fl_ev_place_set *place = NULL;
    fl_sv text = cell(w->r, w->row, FL_SHEET_PLACE);
    w->lot.place = w->r->place;
    if (text.len == 0 && fl_id_is_none(w->r->place)) {
        spoil(w, FL_SV("no place: give a column, or one place for all, usually the bench"));
    } else if (text.len > 0 && fl_room_find_place(w->r->room, text, &place, &why) != FL_OK) {
        spoil(w, fl_arena_printf(w->r->arena, "%s", why.message));
    } else if (text.len > 0) {
        w->lot.place = place->place;
    }
}

static void take_date(row_reading *w)
{
    fl_date_shape shape = FL_DATE_NONE;
    fl_sv text = cell(w->r, w->row, FL_SHEET_DATE);
    w->lot.at_s = w->r->options->at_s;
    w->lot.precision = w->r->options->precision;
    if (text.len == 0) {
        return;
    }
    w->lot.precision = FL_PRECISION_DAY;
    shape = fl_sheet_date(text, w->r->out.dates, w->r->room->tz_offset_min, &w->lot.at_s);
    bool is_wrong = (shape == FL_DATE_DMY && w->r->out.dates == FL_SHEET_DATES_MDY) ||
                    (shape == FL_DATE_MDY && w->r->out.dates == FL_SHEET_DATES_DMY);
    if (shape == FL_DATE_NONE || is_wrong) {
        spoil(w, fl_arena_printf(w->r->arena, "date \"%.*s\": give 2026-03-04", FL_SHOWN(text)));
    } else if (w->lot.at_s > w->r->room->now_s + FL_FUTURE_S_MAX) {
        int64_t today_s = w->lot.at_s - FL_DAY_S / 2; /* its noon may be ahead, today itself not */
        if (today_s > w->r->room->now_s) {
            spoil(w, fl_arena_printf(w->r->arena, "date \"%.*s\" is ahead", FL_SHOWN(text)));
        }
        w->lot.at_s = w->r->room->now_s;
    }
}

/* "4,50", "4.50", "€ 4.50": digits, one separator. */
static void take_cost(row_reading *w)
{
    char plain[40];
    size_t n = 0;
    fl_sv text = cell(w->r, w->row, FL_SHEET_COST);
    w->lot.cost = (double)NAN;
    for (size_t i = 0; i < text.len && n < sizeof plain - 1; i++) {
        char c = text.ptr[i];
        bool is_digit = c >= '0' && c <= '9';
        if (is_digit || c == '.' || c == ',') {
            plain[n++] = (char)(c == ',' ? '.' : c);
        }
    }
    if (text.len > 0 &&
        fl_num_parse_double_in((fl_sv){plain, n}, "cost", 0, 1e6, &w->lot.cost, NULL) != FL_OK) {
        spoil(w, fl_arena_printf(w->r->arena, "cost \"%.*s\": give a number", FL_SHOWN(text)));
    }
}

static void take_label(row_reading *w)
{
    fl_sv text = cell(w->r, w->row, FL_SHEET_LABEL);
    w->lot.is_label_clean = fl_sv_eq_nocase(text, FL_SV("clean"));
    w->lot.label_active = w->lot.is_label_clean ? FL_SV("") : fl_arena_copy_sv(w->r->arena, text);
    if (text.len > FL_NAME_BYTES_MAX) {
        spoil(w, FL_SV("label: longer than 200 bytes"));
    }
}

static void take_names(row_reading *w)
{
    fl_sv name = cell(w->r, w->row, FL_SHEET_PLANT);
    fl_sv taxon = cell(w->r, w->row, FL_SHEET_TAXON);
    fl_sv note = cell(w->r, w->row, FL_SHEET_NOTE);
    name = name.len > 0 ? name : taxon;
    if (name.len == 0) {
        spoil(w, FL_SV("no plant: what is it called?"));
    }
    if (name.len > FL_NAME_BYTES_MAX || taxon.len > FL_NAME_BYTES_MAX ||
        note.len > FL_NOTE_BYTES_MAX) {
        spoil(w, FL_SV("a name longer than 200 bytes, or a note longer than 4000"));
    }
    w->lot.plant = fl_arena_copy_sv(w->r->arena, name);
    w->lot.taxon = fl_arena_copy_sv(w->r->arena, taxon);
    w->lot.note = fl_arena_copy_sv(w->r->arena, note);
}

static bool is_empty_row(const reading *r, size_t row)
{
    for (size_t i = 0; i < r->csv.n_columns; i++) {
        if (fl_sv_trim(fl_csv_text(&r->csv, row, i)).len > 0) {
            return false;
        }
    }
    return true;
}

static void read_row(reading *r, size_t row)
{
    row_reading w = {.r = r, .row = row, .line = r->csv.lines[row], .is_good = true};
    if (is_empty_row(r, row)) {
        return;
    }
    take_names(&w);
    take_count(&w);
    w.lot.form = (fl_form)take_word(&w, FL_SHEET_FORM, r->options->form, forms,
                                    sizeof forms / sizeof forms[0]);
    w.lot.use =
        (fl_use)take_word(&w, FL_SHEET_USE, r->options->use, uses, sizeof uses / sizeof uses[0]);
    take_source(&w);
    take_place(&w);
    take_date(&w);
    take_cost(&w);
    take_label(&w);
    if (w.is_good) {
        r->out.rows[r->out.n_rows++] = (fl_sheet_row){w.line, w.lot};
    }
}

/* ---- days and months ---- */

/* One date that can be read only one way tells of all. */
static void settle_dates(reading *r)
{
    size_t n[FL_DATE_OPEN + 1] = {0};
    r->out.dates = r->options->dates;
    if (r->options->dates != FL_SHEET_DATES_ASK) {
        return;
    }
    for (size_t i = 0; i < r->csv.n_rows; i++) {
        int64_t at_s = 0;
        n[fl_sheet_date(cell(r, i, FL_SHEET_DATE), FL_SHEET_DATES_ASK, 0, &at_s)]++;
    }
    if (n[FL_DATE_DMY] > 0 && n[FL_DATE_MDY] > 0) {
        trouble(r, 0, FL_SV("dates: some have the day first, some the month: say dmy or mdy"));
    } else if (n[FL_DATE_DMY] + n[FL_DATE_MDY] > 0) {
        r->out.dates = n[FL_DATE_DMY] > 0 ? FL_SHEET_DATES_DMY : FL_SHEET_DATES_MDY;
    } else if (n[FL_DATE_OPEN] > 0) {
        trouble(r, 0,
                FL_SV("dates: is 03/04 the 3rd of April or the 4th of March? Say dmy or mdy"));
    }
}

/* ---- all of it ---- */

static fl_status read_defaults(reading *r, fl_err *err)
{
    const fl_ev_source_set *source = NULL;
    const fl_ev_place_set *place = NULL;
    fl_status status = FL_OK;
    if (r->options->source.len > 0) {
        status = fl_room_find_source(r->room, r->options->source, &source, err);
        r->source = status == FL_OK ? source->source : r->source;
    }
    if (status == FL_OK && r->options->place.len > 0) {
        status = fl_room_find_place(r->room, r->options->place, &place, err);
        r->place = status == FL_OK ? place->place : r->place;
    }
    return status;
}

static fl_status read_rows(reading *r, fl_err *err)
{
    if (r->csv.n_rows > FL_SHEET_LOTS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu rows: give at most %d at a time", r->csv.n_rows,
                       FL_SHEET_LOTS_MAX);
    }
    r->out.rows = FL_ARENA_ARRAY(r->arena, fl_sheet_row, r->csv.n_rows);
    if (!has_column(r, FL_SHEET_PLANT) && !has_column(r, FL_SHEET_TAXON)) {
        trouble(r, 0, FL_SV("no column holds the plant: match one, as in Name=plant"));
        return FL_OK;
    }
    settle_dates(r);
    for (size_t i = 0; i < r->csv.n_rows; i++) {
        read_row(r, i);
    }
    return FL_OK;
}

fl_status fl_sheet_in_read(const fl_room *room, fl_sv bytes, const fl_sheet_options *options,
                           fl_arena *arena, fl_sheet_in *out, fl_err *err)
{
    reading r = {.room = room, .options = options, .arena = arena};
    if (bytes.len > FL_SHEET_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu bytes: give at most %zu", bytes.len,
                       FL_SHEET_BYTES_MAX);
    }
    r.out.troubles = FL_ARENA_ARRAY(arena, fl_sheet_trouble, FL_SHEET_TROUBLES_MAX);
    fl_sv text = fl_sheet_decode(bytes, arena, &r.out.encoding);
    r.out.delimiter = find_delimiter(text);
    fl_status status = read_defaults(&r, err);
    if (status == FL_OK) {
        status = fl_csv_parse_by(text, "the sheet", r.out.delimiter, &r.csv, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = match_columns(&r, err);
    if (status == FL_OK) {
        status = read_rows(&r, err);
    }
    fl_csv_done(&r.csv);
    if (status == FL_OK) {
        *out = r.out;
    }
    return status;
}

void fl_sheet_in_events(const fl_sheet_in *sheet, const fl_room *room, fl_id key, fl_arena *arena,
                        fl_event **events, size_t *count)
{
    fl_newcomer_batch batch = {
        .room = room, .arena = arena, .key = key, .device = fl_newcomer_device(key, arena)};
    for (size_t i = 0; i < sheet->n_rows; i++) {
        fl_id lot;
        fl_newcomer_add(&batch, &sheet->rows[i].lot, &lot);
    }
    *events = batch.events;
    *count = batch.n;
}
