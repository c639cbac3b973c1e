/* What was understood of a spreadsheet. */
#include "view/sheet_in.h"

#include "view/put.h"

static void put_columns(const fl_view *v, const fl_sheet_in *sheet)
{
    fl_json_begin_array(v->w, "columns");
    for (size_t i = 0; i < sheet->n_columns; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_json_put_text(v->w, "name", sheet->columns[i].name);
        fl_json_put_cstr(v->w, "field", fl_words_sheet_field[sheet->columns[i].field].word);
        fl_json_put_bool(v->w, "is_told", sheet->columns[i].is_told);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_row(const fl_view *v, const fl_sheet_row *row)
{
    const fl_newcomer *lot = &row->lot;
    fl_json_begin_object(v->w, NULL);
    fl_json_put_int(v->w, "line", row->line);
    fl_json_put_text(v->w, "plant", lot->plant);
    fl_put_text(v->w, "taxon", lot->taxon);
    fl_json_put_int(v->w, "count", lot->count);
    fl_json_put_cstr(v->w, "form", fl_words_form[lot->form].word);
    fl_json_put_cstr(v->w, "use", fl_words_use[lot->use].word);
    fl_json_put_text(v->w, "source", fl_room_source_name(v->room, lot->source));
    fl_json_put_text(v->w, "place", fl_room_place_name(v->room, lot->place));
    fl_put_on(v, "on", lot->at_s);
    fl_put_text(v->w, "label", lot->is_label_clean ? FL_SV("clean") : lot->label_active);
    fl_json_put_number(v->w, "cost", lot->cost);
    fl_put_text(v->w, "note", lot->note);
    fl_json_end(v->w);
}

void fl_view_sheet_in(const fl_view *v, const char *key, const fl_sheet_in *sheet, bool is_recorded,
                      fl_sv batch)
{
    static const char *const dates[] = {"ask", "dmy", "mdy"};
    const char delimiter[2] = {sheet->delimiter, '\0'};
    fl_json_begin_object(v->w, key);
    fl_json_put_bool(v->w, "is_recorded", is_recorded);
    fl_put_text(v->w, "batch", batch);
    fl_json_put_cstr(v->w, "encoding", sheet->encoding);
    fl_json_put_cstr(v->w, "delimiter", delimiter);
    fl_json_put_cstr(v->w, "dates", dates[sheet->dates]);
    put_columns(v, sheet);
    fl_json_begin_array(v->w, "rows");
    for (size_t i = 0; i < sheet->n_rows; i++) {
        put_row(v, &sheet->rows[i]);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "troubles");
    for (size_t i = 0; i < sheet->n_troubles; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_json_put_int(v->w, "line", sheet->troubles[i].line);
        fl_json_put_text(v->w, "text", sheet->troubles[i].text);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}
