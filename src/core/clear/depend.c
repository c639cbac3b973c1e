/* Digests of carriers, one pass over the happenings, and what is needed for some of them, one pass
 * back. Whatever core/clear/spread reads of a happening is taken in here; what it changes on a
 * carrier changes that carrier's digest. */
#include "core/clear/depend.h"

#include <string.h>

/* ---- mixing ---- */

bool fl_digest_eq(fl_digest x, fl_digest y)
{
    return x.a == y.a && x.b == y.b;
}

static uint64_t stirred(uint64_t key)
{
    key ^= key >> 32;
    key *= UINT64_C(0xD6E8FEB86659FD93);
    key ^= key >> 29;
    key *= UINT64_C(0x9FB21C651E98DF25);
    return key ^ (key >> 32);
}

void fl_digest_word(fl_digest *d, uint64_t word)
{
    d->a = stirred(d->a ^ word);
    d->b = stirred((d->b << 23 | d->b >> 41) + (word ^ UINT64_C(0x9E3779B97F4A7C15)));
}

void fl_digest_real(fl_digest *d, double value)
{
    uint64_t bits = 0;
    memcpy(&bits, &value, sizeof bits);
    fl_digest_word(d, bits);
}

void fl_digest_id(fl_digest *d, fl_id id)
{
    uint64_t half[2];
    memcpy(half, id.b, sizeof half);
    fl_digest_word(d, half[0]);
    fl_digest_word(d, half[1]);
}

void fl_digest_text(fl_digest *d, fl_sv text)
{
    fl_digest_word(d, text.len);
    for (size_t i = 0; i < text.len; i += sizeof(uint64_t)) {
        uint64_t word = 0;
        memcpy(&word, &text.ptr[i], text.len - i < sizeof word ? text.len - i : sizeof word);
        fl_digest_word(d, word);
    }
}

void fl_digest_other(fl_digest *d, fl_digest other)
{
    fl_digest_word(d, other.a);
    fl_digest_word(d, other.b);
}

/* ---- the pass ---- */

size_t fl_depend_words(size_t n_marks)
{
    return (n_marks + 63) / 64;
}

typedef struct pass {
    const fl_network *network;
    const fl_depend_env *env;
    fl_depend *out;
    size_t n_words;
    size_t n_marks; /* so far */
} pass;

static uint64_t *marks_of(const pass *p, size_t carrier)
{
    return &p->out->may_hold[carrier * p->n_words];
}

static void set_mark(const pass *p, size_t carrier, size_t mark)
{
    marks_of(p, carrier)[mark / 64] |= UINT64_C(1) << (mark % 64);
}

static void begin(pass *p)
{
    fl_depend *o = p->out;
    memset(o->may_hold, 0, p->network->n_carriers * p->n_words * sizeof o->may_hold[0]);
    for (size_t i = 0; i < p->network->n_carriers; i++) {
        const fl_carrier *carrier = &p->network->carriers[i];
        fl_digest *d = &o->carriers[i];
        *d = (fl_digest){1, 2};
        fl_digest_id(d, carrier->id);
        fl_digest_word(d, (carrier->has_gasket ? 1U : 0U) | (carrier->is_closed_box ? 2U : 0U));
        if (carrier->lot == FL_NO_INDEX) {
            fl_digest_id(d, carrier->place);
            fl_digest_other(d, p->env->place(p->env->context, carrier->place));
        }
        o->has_find[i] = false;
    }
    for (size_t i = 0; i < o->n_lots; i++) {
        o->lots[i] = p->env->lot(p->env->context, i);
        o->stands_on[i] = FL_NO_INDEX;
    }
    for (size_t i = 0; i < p->network->n_roots; i++) {
        o->roots[i] = (fl_digest){3, 4};
    }
    for (size_t i = 0; i < o->n_marks; i++) {
        o->blames[i] = (fl_digest){5, 6};
    }
}

/* What is the same for every kind: what it is, when, by which event. */
static void take_head(fl_digest *d, const fl_happening *h)
{
    fl_digest_word(d, (uint64_t)h->kind);
    fl_digest_word(d, (uint64_t)h->at_h);
    fl_digest_id(d, h->event->id);
}

/* A root's prior counts from here on for the forms it has now. */
static void take_root(const pass *p, const fl_told *told)
{
    const fl_happening *h = &told->happening;
    fl_root root = p->network->roots[h->root];
    fl_digest *r = &p->out->roots[h->root];
    root.forms = told->forms;
    fl_digest_word(r, (uint64_t)root.kind);
    fl_digest_id(r, root.key);
    fl_digest_word(r, (uint64_t)root.at_h);
    fl_digest_word(r, root.forms);
    fl_digest_other(r, p->env->root(p->env->context, &root));
    fl_digest *d = &p->out->carriers[h->carrier];
    take_head(d, h);
    fl_digest_other(d, *r);
    set_mark(p, h->carrier, h->root);
}

static void take_transfer(const pass *p, const fl_happening *h)
{
    fl_digest way = {7, 8};
    take_head(&way, h);
    fl_digest_word(&way, (uint64_t)h->link);
    fl_digest_real(&way, h->factor);
    fl_digest_real(&way, h->days);
    fl_digest from = p->out->carriers[h->other];
    fl_digest_other(&p->out->carriers[h->other], way); /* its copies are brought up to the hour */
    fl_digest_other(&p->out->carriers[h->carrier], way);
    fl_digest_other(&p->out->carriers[h->carrier], from);
    const uint64_t *there = marks_of(p, h->other);
    uint64_t *here = marks_of(p, h->carrier);
    for (size_t i = 0; i < p->n_words; i++) {
        here[i] |= there[i];
    }
}

static void take_part(const pass *p, const fl_happening *h)
{
    fl_digest *lot = &p->out->lots[h->lot];
    take_head(lot, h);
    fl_digest_word(lot, (uint64_t)h->step->step);
    fl_digest_word(lot, (uint64_t)h->step->agent);
    fl_digest_real(lot, h->step->temp_c);
    fl_digest_real(lot, h->step->minutes);
    fl_digest_word(lot, (uint64_t)h->n_plants);
    fl_digest_other(&p->out->carriers[h->carrier], *lot);
    p->out->stands_on[h->lot] = h->carrier;
}

/* A lot brings along what its steps have done to it, and takes it away. */
static void take_stand(const pass *p, const fl_happening *h)
{
    size_t before = p->out->stands_on[h->lot];
    fl_digest stand = p->out->lots[h->lot];
    take_head(&stand, h);
    if (before != FL_NO_INDEX) {
        fl_digest_word(&p->out->carriers[before], 9);
        fl_digest_other(&p->out->carriers[before], stand);
    }
    if (h->carrier != FL_NO_INDEX) {
        fl_digest_other(&p->out->carriers[h->carrier], stand);
    }
    p->out->stands_on[h->lot] = h->carrier;
}

static void take_found(const pass *p, const fl_happening *h)
{
    fl_digest *d = &p->out->carriers[h->carrier];
    take_head(d, h);
    fl_digest_id(d, h->finding->finding);
    fl_digest_text(d, h->finding->threat);
    fl_digest_text(d, h->finding->stage);
    fl_digest_word(d, (uint64_t)h->finding->count);
    fl_digest_word(d, h->finding->is_removed ? 1U : 0U);
    p->out->has_find[h->carrier] = true;
}

/* A find weighs the priors of all roots that may be here, and what finds elsewhere made of them; it
 * makes something of them in its turn, and is a root itself from now on. */
static void take_find(pass *p, size_t carrier)
{
    fl_digest *d = &p->out->carriers[carrier];
    for (size_t i = 0; i < p->n_marks; i++) {
        if ((marks_of(p, carrier)[i / 64] >> (i % 64) & 1U) != 0) {
            fl_digest_other(d, p->out->blames[i]);
            if (i < p->network->n_roots) {
                fl_digest_other(d, p->out->roots[i]);
            }
        }
    }
    for (size_t i = 0; i < p->n_marks; i++) {
        if ((marks_of(p, carrier)[i / 64] >> (i % 64) & 1U) != 0) {
            fl_digest_other(&p->out->blames[i], *d);
        }
    }
    if (p->n_marks < p->out->n_marks) {
        set_mark(p, carrier, p->n_marks++);
    }
    p->out->has_find[carrier] = false;
}

static void take_look(pass *p, const fl_happening *h)
{
    fl_digest *d = &p->out->carriers[h->carrier];
    take_head(d, h);
    fl_digest_real(d, h->frac_seen);
    fl_digest_word(d, (uint64_t)h->look->effort);
    fl_digest_word(d, h->look->devices);
    fl_digest_word(d, (h->look->is_after_dark ? 1U : 0U) | (h->has_unidentified ? 2U : 0U));
    if (p->out->has_find[h->carrier]) {
        take_find(p, h->carrier);
    }
}

static void take_place(const pass *p, const fl_happening *h)
{
    fl_digest *d = &p->out->carriers[h->carrier];
    take_head(d, h);
    fl_digest_id(d, h->place);
    if (!fl_id_is_none(h->place)) {
        fl_digest_other(d, p->env->place(p->env->context, h->place));
    }
}

static void take(pass *p, const fl_told *told)
{
    const fl_happening *h = &told->happening;
    switch (h->kind) {
    case FL_HAP_ROOT:
        take_root(p, told);
        return;
    case FL_HAP_TRANSFER:
        take_transfer(p, h);
        return;
    case FL_HAP_PLACE:
        take_place(p, h);
        return;
    case FL_HAP_PART:
        take_part(p, h);
        return;
    case FL_HAP_STAND:
        take_stand(p, h);
        return;
    case FL_HAP_FOUND:
        take_found(p, h);
        return;
    case FL_HAP_LOOK:
        take_look(p, h);
        return;
    case FL_HAP_CLOSE:
    case FL_HAP_TREATED:
    case FL_HAP_OPENED:
        take_head(&p->out->carriers[h->carrier], h);
        fl_digest_real(&p->out->carriers[h->carrier], h->factor);
        fl_digest_word(&p->out->carriers[h->carrier], (uint64_t)h->n_plants);
        return;
    }
}

void fl_depend_digest(const fl_network *network, const fl_depend_env *env, const fl_told *told,
                      size_t n, fl_depend *out)
{
    pass p = {.network = network,
              .env = env,
              .out = out,
              .n_words = fl_depend_words(out->n_marks),
              .n_marks = network->n_roots};
    begin(&p);
    for (size_t i = 0; i < n; i++) {
        take(&p, &told[i]);
    }
}

/* ---- the pass back ---- */

void fl_depend_close(const fl_told *told, size_t n, size_t *until)
{
    for (size_t i = n; i > 0; i--) {
        const fl_happening *h = &told[i - 1].happening;
        if (h->kind == FL_HAP_TRANSFER && i - 1 < until[h->carrier] && until[h->other] < i - 1) {
            until[h->other] = i - 1;
        }
    }
}
