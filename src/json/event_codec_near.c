/* The kinds nearest to a word that is none: for the message that refuses it. */
#include "json/event_codec_fields.h"

#define WORD_MAX 32 /* what is longer is cut */
#define N_NEAR 3
#define PART_MIN 3
#define ALIKE_PART_GAIN 8 /* "moved_lot" is nearer to "lot_moved" than letters say */

static int least(int a, int b, int c)
{
    int ab = a < b ? a : b;
    return ab < c ? ab : c;
}

/* Edits (insert, delete, replace) from one word to the other: Levenshtein's distance, by rows. */
static int edit_distance(fl_sv a, fl_sv b)
{
    int row[WORD_MAX + 1];
    for (size_t j = 0; j <= b.len; j++) {
        row[j] = (int)j;
    }
    for (size_t i = 0; i < a.len; i++) {
        int diagonal = row[0];
        row[0] = (int)i + 1;
        for (size_t j = 0; j < b.len; j++) {
            int above = row[j + 1];
            int replaced = diagonal + (a.ptr[i] == b.ptr[j] ? 0 : 1);
            row[j + 1] = least(replaced, above + 1, row[j] + 1);
            diagonal = above;
        }
    }
    return row[b.len];
}

/* True when one of two parts begins with the other: "void" and "voided". */
static bool is_alike(fl_sv a, fl_sv b)
{
    size_t len = a.len < b.len ? a.len : b.len;
    return len >= PART_MIN && fl_sv_eq((fl_sv){a.ptr, len}, (fl_sv){b.ptr, len});
}

/* How many of the parts of `a` between '_' are alike to one of `b`. */
static int count_alike_parts(fl_sv a, fl_sv b)
{
    int count = 0;
    while (a.len > 0) {
        fl_sv part = fl_sv_split(&a, '_');
        fl_sv rest = b;
        bool is_found = false;
        while (rest.len > 0 && !is_found) {
            is_found = is_alike(part, fl_sv_split(&rest, '_'));
        }
        count += is_found ? 1 : 0;
    }
    return count;
}

void fl_event_near_kinds(fl_sv word, fl_str *out)
{
    int cost[FL_KIND_COUNT];
    fl_sv cut = {word.ptr, word.len > WORD_MAX ? WORD_MAX : word.len};
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        fl_sv kind = fl_sv_from_cstr(fl_kinds[i].word);
        cost[i] = edit_distance(cut, kind) - ALIKE_PART_GAIN * count_alike_parts(cut, kind);
    }
    for (int n = 0; n < N_NEAR; n++) {
        int best = 0;
        for (int i = 1; i < FL_KIND_COUNT; i++) {
            best = cost[i] < cost[best] ? i : best;
        }
        fl_str_append_cstr(out, n == 0 ? "" : ", ");
        fl_str_append_cstr(out, fl_kinds[best].word);
        cost[best] = WORD_MAX * 2; /* taken */
    }
}
