/* The words of sources. */
#include "view/words_source.h"

#include <math.h>

#include "base/str.h"

#define TEXT_BYTES_MAX 500

const char *fl_say_source_kinds(fl_source_kind kind)
{
    static const char *const kinds[FL_SOURCE_COUNT] = {
        [FL_SOURCE_CHAIN_STORE] = "chain stores",
        [FL_SOURCE_NURSERY] = "nurseries",
        [FL_SOURCE_MARKET_STALL] = "market stalls",
        [FL_SOURCE_MAIL_ORDER] = "mail order",
        [FL_SOURCE_TISSUE_CULTURE_LAB] = "tissue-culture labs",
        [FL_SOURCE_TRADE] = "trades with other keepers",
        [FL_SOURCE_OWN_STOCK] = "own stock",
        [FL_SOURCE_OWN_ENCLOSURE] = "own enclosures",
        [FL_SOURCE_OUTDOORS] = "what is from outdoors",
    };
    return kinds[kind];
}

/* "our judgement and your 14 purchases": what the kind's figure leans on. */
static fl_sv say_leans_on(const fl_source_risk *r, fl_arena *arena)
{
    int n = r->n_purchases + r->n_of_kind;
    if (n == 0) {
        return FL_SV("our judgement");
    }
    return n == 1 ? FL_SV("our judgement and your one purchase")
                  : fl_arena_printf(arena, "our judgement and your %d purchases", n);
}

fl_sv fl_say_source_risk(const fl_ev_source_set *source, const fl_source_risk *r, fl_arena *arena)
{
    fl_sv names = fl_say_plural(r->threat, arena);
    fl_sv kind = fl_say_chance(r->kind_mean, arena);
    fl_sv next = fl_say_chance(r->mean, arena);
    fl_sv leans_on = say_leans_on(r, arena);
    fl_str text;
    fl_str_init(&text, TEXT_BYTES_MAX);
    if (r->n_purchases == 0) {
        fl_str_appendf(&text, "No purchase here yet; %s: %.*s for %.*s (%.*s).",
                       fl_say_source_kinds(source->kind), FL_SV_ARG(kind), FL_SV_ARG(names),
                       FL_SV_ARG(leans_on));
    } else {
        fl_str_appendf(&text, "%d of %d purchase%s here carried %.*s; %s: %.*s (%.*s).", r->n_found,
                       r->n_purchases, r->n_purchases == 1 ? "" : "s", FL_SV_ARG(names),
                       fl_say_source_kinds(source->kind), FL_SV_ARG(kind), FL_SV_ARG(leans_on));
    }
    if (r->n_purchases > 0 && !fl_sv_eq(next, kind)) {
        fl_str_appendf(&text, " The next one: %.*s.", FL_SV_ARG(next));
    } else if (r->n_purchases > 0) {
        fl_str_append_cstr(&text, " The next one: about as likely.");
    }
    fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}

fl_sv fl_say_own_record(int n, fl_arena *arena)
{
    if (n >= FL_OWN_PURCHASES) {
        return FL_SV("");
    }
    return fl_arena_printf(arena, "Mostly our judgement: %d of %d purchases of your own so far.", n,
                           FL_OWN_PURCHASES);
}
