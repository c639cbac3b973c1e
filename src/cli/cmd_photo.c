/* A photo is kept with a lot, a place, a plant or a finding; listed; written to a file again. */
#include <stdio.h>

#include "app/files.h"
#include "app/photos.h"
#include "cli/compose.h"
#include "view/photos.h"
#include "view/words.h"

enum { OF = FL_OPTION_FIRST, CAPTION };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [OF] = {"of", FL_ARG_TEXT, .is_required = true,
            .help = "what it shows: a lot, place or plant, or the id of a finding"},
    [CAPTION] = {"caption", FL_ARG_TEXT, .help = "what is to be seen, in a few words"},
};

static fl_status keep_file(fl_call *call, fl_photo_kept *kept, fl_err *err)
{
    fl_str bytes;
    fl_str_init(&bytes, FL_PHOTO_BYTES_MAX + 1);
    fl_status status = fl_cli_read_file(call->words[0].ptr, FL_PHOTO_BYTES_MAX, &bytes, err);
    if (status == FL_OK) {
        status = fl_photo_keep(&call->s->app, fl_str_sv(&bytes), &call->s->arena, kept, err);
    }
    fl_str_done(&bytes);
    return status;
}

static fl_status photo(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *event = NULL;
    fl_photo_subject subject;
    fl_photo_kept kept;
    fl_status status = fl_photo_find_subject(&s->room, call->value[OF].text, &subject, err);
    if (status == FL_OK) {
        status = keep_file(call, &kept, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_PHOTO_ATTACHED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    event->body.photo_attached = (fl_ev_photo_attached){
        .subject = subject.id, .blob = kept.sha256, .caption = call->value[CAPTION].text};
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Kept: %d x %d pixels, %zu kB. Where and when the camera says it was taken "
                     "is not in it.\n",
                     kept.jpeg.width_px, kept.jpeg.height_px, (kept.jpeg.bytes + 1023) >> 10);
    }
    return status;
}

/* ---- which there are ---- */

static void print_photo(fl_session *s, const fl_event *event)
{
    const fl_ev_photo_attached *b = &event->body.photo_attached;
    const fl_photo_subject of = fl_photo_subject_of(&s->room, b->subject);
    const fl_lot *lot = fl_meaning_lot(&s->room.meaning, b->subject);
    fl_sv name = of.kind == FL_ENTITY_FINDING ? FL_SV("a finding") : FL_SV("a plant");
    if (lot != NULL) {
        name = fl_lot_label(s, lot);
    } else if (of.kind == FL_ENTITY_PLACE) {
        name = fl_room_place_name(&s->room, b->subject);
    }
    fl_sv on = fl_say_civil(&s->room, event->at_s, &s->arena);
    (void)printf("%.*s  %.*s  %.*s%s%.*s\n", FL_SV_ARG(on), FL_SV_ARG(b->blob), FL_SV_ARG(name),
                 b->caption.len > 0 ? ": " : "", FL_SV_ARG(b->caption));
}

static fl_status list(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_photo_subject subject = {.kind = FL_ENTITY_COUNT};
    fl_status status = FL_OK;
    if (call->n_words > 0) {
        status = fl_photo_find_subject(&s->room, call->words[0], &subject, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_photos(&view, NULL, subject.id);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    const fl_event **photos = NULL;
    size_t n = fl_photos_of(&s->room, subject.id, &s->arena, &photos);
    for (size_t i = 0; i < n; i++) {
        print_photo(s, photos[i]);
    }
    if (n == 0) {
        (void)puts("No photo yet. To keep one: fernlock photo FILE.jpg --of LOT");
    }
    return FL_OK;
}

static fl_status save(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_sv bytes;
    fl_status status = fl_photo_bytes(&s->app, call->words[0], &s->arena, &bytes, err);
    return status == FL_OK ? fl_files_write(call->words[1].ptr, bytes, false, err) : status;
}

static const fl_verb verbs[] = {
    {.name = "list",
     .usage = "[LOT|PLACE|PLANT|FINDING]",
     .summary = "Which photos there are, the newest first.",
     .args = FL_VERB_WORDS("LOT|PLACE|PLANT|FINDING", 1),
     .fn = list},
    {.name = "save",
     .usage = "SHA256 FILE.jpg",
     .summary = "Writes one to a file; its SHA-256 is in the list.",
     .args = FL_VERB_WORDS("SHA256 FILE.jpg", 2),
     .words_min = 2,
     .needs = FL_NEEDS_APP,
     .fn = save},
    {.usage = "FILE.jpg --of LOT|PLACE|PLANT|FINDING [--caption TEXT]",
     .summary = "Keeps a photo (JPEG, at most 2 MB) with what it shows.",
     .args = FL_VERB_ARGS_WORDS(options, "FILE.jpg", 1),
     .words_min = 1,
     .fn = photo},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_photo;
const fl_command fl_command_photo = {
    .name = "photo",
    .rank = 44,
    .summary = "keep a photo with a lot, place, plant or finding",
    .usage = "FILE.jpg --of LOT|PLACE|PLANT|FINDING [--caption TEXT] | list | save",
    .example = "fernlock photo leaf.jpg --of \"bin 2\" --caption \"webbing under a leaf\"",
    .fn = run,
    .help = help,
};
