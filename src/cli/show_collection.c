/* `show collection`: what there is, by plant. */
#include "cli/answer.h"
#include "cli/show.h"
#include "view/collection.h"

static void print_plant(fl_session *s, const fl_collection_plant *p)
{
    const fl_sv texts[] = {fl_say_mothers(&s->room, p, &s->arena), fl_say_cuttings(p, &s->arena),
                           fl_say_rooting(p, &s->arena)};
    (void)printf("%.*s: %lld\n", FL_SV_ARG(p->name), (long long)p->count);
    for (size_t i = 0; i < p->n_lots; i++) {
        const fl_collection_lot *l = &p->lots[i];
        const fl_sv place = fl_room_place_name(&s->room, l->lot->place);
        const fl_sv quiet = fl_say_quiet_for(l, &s->arena);
        const fl_sv code = fl_code_of(s, l->lot->id);
        const fl_sv giving = fl_say_giving(&s->room, l, &s->arena);
        (void)printf("  %.*s, %lld %s %.*s%s: %.*s%s%.*s\n", FL_SV_ARG(code),
                     (long long)l->lot->count, fl_place_in(s, l->lot->place), FL_SV_ARG(place),
                     l->is_mother ? ", mother" : "", FL_SV_ARG(quiet), giving.len > 0 ? "; " : "",
                     FL_SV_ARG(giving));
    }
    for (size_t i = 0; i < sizeof texts / sizeof texts[0] && p->n_mothers > 0; i++) {
        if (texts[i].len > 0) {
            (void)printf("  %.*s\n", FL_SV_ARG(texts[i]));
        }
    }
}

fl_status fl_show_collection(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_collection collection;
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_collection_make(&s->room, s->chances, &s->arena, &collection, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_collection(&view, NULL, &collection);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    for (size_t i = 0; i < collection.n_plants; i++) {
        print_plant(s, &collection.plants[i]);
    }
    const fl_sv missing = fl_say_no_backup(&collection, &s->arena);
    if (missing.len > 0) {
        (void)printf("%.*s\n", FL_SV_ARG(missing));
    }
    if (collection.n_plants == 0) {
        (void)puts("Nothing grows here yet.");
    }
    return FL_OK;
}
