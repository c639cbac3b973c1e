/* Photos with what they are of. */
#include "view/photos.h"

#include "view/put.h"
#include "view/words.h"

static const char *kind_word(fl_entity kind)
{
    switch ((int)kind) {
    case FL_ENTITY_LOT:
        return "lot";
    case FL_ENTITY_PLACE:
        return "place";
    case FL_ENTITY_FINDING:
        return "finding";
    case FL_ENTITY_PLANT:
        return "plant";
    default:
        return "gone";
    }
}

/* The lot and the place that a subject belongs to; a finding has either or both. */
static void belongs_to(const fl_room *room, const fl_photo_subject *of, const fl_lot **lot,
                       fl_id *place)
{
    *lot = of->kind == FL_ENTITY_LOT ? fl_meaning_lot(&room->meaning, of->id) : NULL;
    *place = of->kind == FL_ENTITY_PLACE ? of->id : (fl_id){{0}};
    for (size_t i = 0; i < room->meaning.n_findings && of->kind == FL_ENTITY_FINDING; i++) {
        const fl_finding_now *finding = &room->meaning.findings[i];
        if (fl_id_eq(finding->finding, of->id)) {
            *lot = fl_meaning_lot(&room->meaning, finding->lot);
            *place = finding->place;
        }
    }
}

/* What a reader who cannot see it is told: the caption, else of what and when. */
static fl_sv alt_text(const fl_view *v, const fl_event *event, const fl_lot *lot, fl_id place)
{
    const fl_sv on = fl_say_civil(v->room, event->at_s, v->arena);
    fl_sv name = FL_SV("a plant");
    if (event->body.photo_attached.caption.len > 0) {
        return event->body.photo_attached.caption;
    }
    if (lot != NULL) {
        name = fl_room_lot_name(v->room, lot);
    } else if (!fl_id_is_none(place)) {
        name = fl_room_place_name(v->room, place);
    }
    return fl_arena_printf(v->arena, "Photo of %.*s, %.*s", FL_SV_ARG(name), FL_SV_ARG(on));
}

static void put_photo(const fl_view *v, const fl_event *event)
{
    const fl_ev_photo_attached *b = &event->body.photo_attached;
    const fl_photo_subject of = fl_photo_subject_of(v->room, b->subject);
    const fl_lot *lot = NULL;
    fl_id place;
    belongs_to(v->room, &of, &lot, &place);
    fl_json_begin_object(v->w, NULL);
    fl_put_id(v->w, "event_id", event->id);
    fl_json_put_text(v->w, "sha256", b->blob);
    fl_put_text(v->w, "caption", b->caption);
    fl_json_put_text(v->w, "alt_text", alt_text(v, event, lot, place));
    fl_put_at(v->w, "at", event->at_s);
    fl_put_on(v, "on", event->at_s);
    fl_put_id(v->w, "subject_id", b->subject);
    fl_json_put_cstr(v->w, "subject_kind", kind_word(of.kind));
    fl_put_lot_ref(v, "lot", lot);
    fl_put_place_ref(v, "place", place);
    fl_json_end(v->w);
}

/* A lot that waits for its name: how it came in, so that it can be told anew. */
static void put_unnamed(const fl_view *v, const fl_lot *lot)
{
    const fl_event **photos = NULL;
    size_t n = fl_photos_of(v->room, lot->id, v->arena, &photos);
    fl_json_begin_object(v->w, NULL);
    fl_put_lot_ref(v, "lot", lot);
    fl_put_place_ref(v, "place", lot->place);
    fl_put_id(v->w, "event_id", lot->born_by);
    fl_put_at(v->w, "at", lot->born_s);
    fl_json_put_int(v->w, "count", lot->count_born);
    fl_json_put_cstr(v->w, "form", fl_words_form[lot->form].word);
    fl_json_put_cstr(v->w, "use", fl_words_use[lot->use].word);
    fl_put_text(v->w, "sha256", n > 0 ? photos[0]->body.photo_attached.blob : FL_SV(""));
    fl_json_end(v->w);
}

void fl_view_photos(const fl_view *v, const char *key, fl_id subject)
{
    const fl_event **photos = NULL;
    const fl_lot **unnamed = NULL;
    size_t n = fl_photos_of(v->room, subject, v->arena, &photos);
    size_t n_unnamed = fl_id_is_none(subject) ? fl_photos_to_name(v->room, v->arena, &unnamed) : 0;
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "photos");
    for (size_t i = 0; i < n; i++) {
        put_photo(v, photos[i]);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "to_name");
    for (size_t i = 0; i < n_unnamed; i++) {
        put_unnamed(v, unnamed[i]);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}

void fl_view_photo_kept(fl_json_writer *w, const char *key, const fl_photo_kept *kept)
{
    fl_json_begin_object(w, key);
    fl_json_put_text(w, "sha256", kept->sha256);
    fl_json_put_int(w, "bytes", (int64_t)kept->jpeg.bytes);
    fl_json_put_int(w, "width_px", kept->jpeg.width_px);
    fl_json_put_int(w, "height_px", kept->jpeg.height_px);
    fl_json_put_int(w, "segments_dropped", kept->jpeg.n_dropped);
    fl_json_end(w);
}
