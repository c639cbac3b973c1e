/* The history card as a file: JSON of our own, `schema/history_card.json`, version 1. Given away
 * with a plant; read by another room, whose lot gets this past, marked as told by another
 * (the event history_told). A member "signature" is kept free for signing. */
#ifndef FL_APP_CARD_FILE_H
#define FL_APP_CARD_FILE_H

#include "app/card.h"
#include "base/str.h"

#define FL_CARD_FORMAT "fernlock-history"
#define FL_CARD_VERSION 1
/* A card must fit into one event with room to spare. */
#define FL_CARD_BYTES_MAX ((size_t)56 * 1024)

/* Appends the card as JSON, a member a line. When it would be larger than FL_CARD_BYTES_MAX, the
 * oldest looks and stays are left out until it fits (*n_left_out says how many). */
fl_status fl_card_write(const fl_card *card, fl_str *out, size_t *n_left_out,
                        fl_err *err) FL_MUST_USE;

/* A card that was read. Views into the arena. */
typedef struct fl_card_read {
    fl_sv canonical; /* its canonical bytes, for the event */
    fl_sv from;
    fl_sv plant, taxon;
    fl_form form;
    int64_t count;
    fl_sv source, source_kind;
    bool source_keeps_animals;
    fl_sv label_active;
    bool is_label_clean;
    int64_t made_s, since_s;
    size_t n_past;
} fl_card_read;

/* Reads a file. FL_EFORMAT: no JSON; FL_EINVAL: no card, or of a newer version, naming the member;
 * FL_ETOOBIG. */
fl_status fl_card_parse(fl_sv text, fl_arena *arena, fl_card_read *out, fl_err *err) FL_MUST_USE;

#endif
