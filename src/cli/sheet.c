/* Tonight's run sheet as lines. */
#include "cli/sheet.h"

#include <stdio.h>

#include "view/evening.h"

static void print_clock(const fl_session *s, int64_t at_s)
{
    int64_t local_s = at_s + (int64_t)s->room.tz_offset_min * 60;
    int64_t of_day_s = ((local_s % 86400) + 86400) % 86400;
    (void)printf("%02d:%02d", (int)(of_day_s / 3600), (int)(of_day_s / 60 % 60));
}

static void print_item(fl_session *s, const fl_evening *e, const fl_evening_item *item)
{
    fl_sv text = fl_say_item(e, item, &s->arena);
    (void)printf("  ");
    print_clock(s, item->start_s);
    (void)printf(" to ");
    print_clock(s, item->end_s);
    (void)printf("  %.*s", FL_SV_ARG(text));
    if (item->lot >= 0) {
        const fl_evening_lot *lot = &e->lots[item->lot];
        fl_sv label = fl_lot_label(s, lot->lot);
        (void)printf(": %.*s", FL_SV_ARG(label));
        if (lot->steps[item->step].state == FL_STEP_RUNS) {
            (void)printf(", running");
        }
    }
    if (item->tub > 0 && item->job == FL_BENCH_STEP) {
        (void)printf(", tub %d", item->tub);
    }
    (void)printf("\n");
}

void fl_print_sheet(fl_session *s, const fl_evening *e)
{
    if (e->n_items == 0) {
        return;
    }
    int64_t from_s = e->begun_s == INT64_MIN ? e->start_s : e->now_s;
    fl_sv span = fl_say_span(e->finish_low_s > from_s ? e->finish_low_s - from_s : 0,
                             e->finish_high_s > from_s ? e->finish_high_s - from_s : 0, &s->arena);
    (void)printf("%s: %.*s with %d tub%s, done between ",
                 e->begun_s == INT64_MIN ? "Tonight" : "Still tonight", FL_SV_ARG(span), e->n_tubs,
                 e->n_tubs == 1 ? "" : "s");
    print_clock(s, e->finish_low_s);
    (void)printf(" and ");
    print_clock(s, e->finish_high_s);
    (void)printf(". Clean before suspect; no tub for two purchases before it is disinfected.\n");
    for (size_t i = 0; i < e->n_items; i++) {
        print_item(s, e, &e->items[i]);
    }
}
