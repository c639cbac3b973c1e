/* Reading a pasted list, line by line, and making its events. */
#include "app/moving_in.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "app/sheet_in.h"
#include "base/limits.h"
#include "base/num.h"

#define NAME_TOO_LONG "a name is longer than 200 bytes: give a shorter one"
#define COUNT_MAX 100000
#define TROUBLES_MAX 50
#define LIVED_IN (1U << FL_USE_AMPHIBIAN | 1U << FL_USE_REPTILE | 1U << FL_USE_INVERTEBRATE)

typedef struct reader {
    const fl_room *room;
    fl_id key;
    fl_arena *arena;
    fl_moving_in *out;
    fl_moving_place *place; /* the last that was named */
    size_t line;
} reader;

/* ---- small text ---- */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static fl_sv cut(fl_sv text, size_t from, size_t to)
{
    return fl_sv_trim((fl_sv){text.ptr + from, to - from});
}

/* Index of the last `c`; len when there is none. */
static size_t last_of(fl_sv text, char c)
{
    for (size_t i = text.len; i > 0; i--) {
        if (text.ptr[i - 1] == c) {
            return i - 1;
        }
    }
    return text.len;
}

static size_t first_of(fl_sv text, char c)
{
    const char *at = text.len > 0 ? memchr(text.ptr, c, text.len) : NULL;
    return at != NULL ? (size_t)(at - text.ptr) : text.len;
}

/* What stands in brackets at the end, taken off the text; empty when nothing does. */
static fl_sv take_brackets(fl_sv *text)
{
    const size_t open = last_of(*text, '(');
    if (open == text->len || text->ptr[text->len - 1] != ')') {
        return FL_SV("");
    }
    const fl_sv inside = cut(*text, open + 1, text->len - 1);
    *text = cut(*text, 0, open);
    return inside;
}

static bool has_word(fl_sv text, const char *word)
{
    const size_t n = strlen(word);
    for (size_t i = 0; i + n <= text.len; i++) {
        if (fl_sv_eq_nocase((fl_sv){text.ptr + i, n}, fl_sv_from_cstr(word))) {
            return true;
        }
    }
    return false;
}

static void add_trouble(reader *r, const char *what)
{
    if (r->out->n_troubles < TROUBLES_MAX) {
        r->out->troubles[r->out->n_troubles++] =
            (fl_moving_trouble){.line = r->line, .text = fl_arena_printf(r->arena, "%s", what)};
    }
}

/* ---- places ---- */

/* Who is meant by the words in brackets: ours, and the animals' common names. */
static unsigned uses_of(fl_sv words)
{
    static const struct {
        const char *word;
        fl_use use;
    } known[] = {
        {"amphibian", FL_USE_AMPHIBIAN},    {"frog", FL_USE_AMPHIBIAN},
        {"toad", FL_USE_AMPHIBIAN},         {"newt", FL_USE_AMPHIBIAN},
        {"salamander", FL_USE_AMPHIBIAN},   {"reptile", FL_USE_REPTILE},
        {"gecko", FL_USE_REPTILE},          {"lizard", FL_USE_REPTILE},
        {"snake", FL_USE_REPTILE},          {"skink", FL_USE_REPTILE},
        {"anole", FL_USE_REPTILE},          {"chameleon", FL_USE_REPTILE},
        {"turtle", FL_USE_REPTILE},         {"invertebrate", FL_USE_INVERTEBRATE},
        {"isopod", FL_USE_INVERTEBRATE},    {"springtail", FL_USE_INVERTEBRATE},
        {"mantis", FL_USE_INVERTEBRATE},    {"spider", FL_USE_INVERTEBRATE},
        {"millipede", FL_USE_INVERTEBRATE}, {"beetle", FL_USE_INVERTEBRATE},
        {"ants", FL_USE_INVERTEBRATE},      {"stock", FL_USE_STOCK},
        {"mothers", FL_USE_STOCK},          {"plants", FL_USE_PLANTS_ONLY},
    };
    unsigned uses = 0;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        uses |= has_word(words, known[i].word) ? 1U << known[i].use : 0;
    }
    return uses;
}

static fl_place_kind kind_of(fl_sv name)
{
    if (has_word(name, "bin") || has_word(name, "box")) {
        return FL_PLACE_BIN;
    }
    return has_word(name, "jar") ? FL_PLACE_JAR : FL_PLACE_ENCLOSURE;
}

static const fl_ev_place_set *place_in_room(const fl_room *room, fl_sv name)
{
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        if (fl_sv_eq_nocase(place->name, name) && !place->is_retired) {
            return place;
        }
    }
    return NULL;
}

static fl_id id_named(const reader *r, const char *what, fl_sv name)
{
    char *lower = fl_arena_alloc(r->arena, name.len + 1, 1);
    for (size_t i = 0; i < name.len; i++) {
        lower[i] = (char)tolower((unsigned char)name.ptr[i]);
    }
    return fl_id_derive(r->key, fl_arena_printf(r->arena, "%s/%s", what, lower));
}

static fl_status name_place(reader *r, fl_sv text, fl_err *err)
{
    fl_sv name = fl_sv_trim(text);
    const fl_sv animals = take_brackets(&name);
    fl_moving_in *out = r->out;
    if (name.len == 0) {
        add_trouble(r, "a place needs a name before the colon");
        r->place = NULL;
        return FL_OK;
    }
    if (name.len > FL_NAME_BYTES_MAX || animals.len > FL_NAME_BYTES_MAX) {
        add_trouble(r, NAME_TOO_LONG);
        r->place = NULL;
        return FL_OK;
    }
    for (size_t i = 0; i < out->n_places; i++) {
        if (fl_sv_eq_nocase(out->places[i].name, name)) {
            r->place = &out->places[i];
            return FL_OK;
        }
    }
    if (out->n_places == FL_MOVING_IN_PLACES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the list names more than %d places: give it in parts",
                       FL_MOVING_IN_PLACES_MAX);
    }
    const fl_ev_place_set *known = place_in_room(r->room, name);
    const unsigned uses = uses_of(animals);
    const bool is_lived_in = (uses & LIVED_IN) != 0;
    r->place = &out->places[out->n_places++];
    *r->place =
        (fl_moving_place){.name = fl_arena_copy_sv(r->arena, name),
                          .place = known != NULL ? known->place : id_named(r, "place", name),
                          .is_new = known == NULL,
                          .kind = known != NULL ? known->kind : kind_of(name),
                          .uses = known != NULL ? known->uses
                                  : uses != 0   ? uses
                                                : 1U << FL_USE_PLANTS_ONLY,
                          .animals = is_lived_in ? fl_arena_copy_sv(r->arena, animals) : FL_SV("")};
    return FL_OK;
}

/* ---- plants ---- */

/* A number at the start or the end of the text, taken off it: "3 ", "3x", "x3", "(3)". */
static int64_t take_count(fl_sv *text)
{
    fl_sv rest = *text;
    fl_sv number = {text->ptr, 0};
    int64_t count = 1;
    while (number.len < rest.len && is_digit(rest.ptr[number.len])) {
        number.len++;
    }
    if (number.len > 0 && number.len < rest.len) {
        rest = cut(rest, number.len, rest.len);
        if (rest.len > 1 && (rest.ptr[0] == 'x' || rest.ptr[0] == 'X') && rest.ptr[1] == ' ') {
            rest = cut(rest, 1, rest.len);
        }
    } else {
        fl_sv left = rest;
        const fl_sv inside = take_brackets(&left);
        const size_t x = last_of(rest, 'x');
        number = inside.len > 0 && is_digit(inside.ptr[0]) ? inside : FL_SV("");
        if (number.len == 0 && x < rest.len && x > 0 && rest.ptr[x - 1] == ' ') {
            number = cut(rest, x + 1, rest.len);
            left = cut(rest, 0, x);
        }
        rest = left;
    }
    if (number.len == 0 || fl_num_parse_int(number, "count", 1, COUNT_MAX, &count, NULL) != FL_OK) {
        return 1;
    }
    *text = rest;
    return count;
}

static const fl_ev_plant_set *plant_in_room(const fl_room *room, fl_sv name)
{
    for (size_t i = 0; i < room->defs.plants.count; i++) {
        const fl_ev_plant_set *plant = &room->defs.plants.events[i]->body.plant_set;
        if (fl_sv_eq_nocase(plant->name, name) || fl_sv_eq_nocase(plant->taxon, name)) {
            return plant;
        }
    }
    return NULL;
}

static fl_status add_plant(reader *r, fl_sv text, int64_t told, fl_err *err)
{
    fl_sv name = fl_sv_trim(text);
    while (name.len > 0 && (name.ptr[0] == '-' || name.ptr[0] == '*')) {
        name = cut(name, 1, name.len);
    }
    const int64_t count = told > 0 ? told : take_count(&name);
    if (name.len == 0) {
        return FL_OK;
    }
    if (name.len > FL_NAME_BYTES_MAX) {
        add_trouble(r, NAME_TOO_LONG);
        return FL_OK;
    }
    if (r->place == NULL) {
        add_trouble(r, "no place is named yet: write \"Tank one:\" on a line before its plants");
        return FL_OK;
    }
    if (r->out->n_lots == FL_MOVING_IN_LOTS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the list has more than %d plants: give it in parts",
                       FL_MOVING_IN_LOTS_MAX);
    }
    const fl_ev_plant_set *known = plant_in_room(r->room, name);
    r->out->lots[r->out->n_lots++] =
        (fl_moving_lot){.line = r->line,
                        .place = r->place,
                        .name = fl_arena_copy_sv(r->arena, name),
                        .plant = known != NULL ? known->plant : id_named(r, "plant", name),
                        .is_new = known == NULL,
                        .row = fl_know_plant_find(name),
                        .count = count};
    return FL_OK;
}

/* A spreadsheet's line: place, plant, and a count when there is a third cell. */
static fl_status read_cells(reader *r, fl_sv line, fl_err *err)
{
    fl_sv rest = line;
    const fl_sv place = fl_sv_trim(fl_sv_split(&rest, '\t'));
    const fl_sv plant = fl_sv_trim(fl_sv_split(&rest, '\t'));
    const fl_sv cell = fl_sv_trim(fl_sv_split(&rest, '\t'));
    int64_t count = 0;
    if (cell.len > 0 && fl_num_parse_int(cell, "count", 1, COUNT_MAX, &count, NULL) != FL_OK) {
        if (r->line > 1) { /* the first line may be the columns' names */
            add_trouble(r, "the third cell is how many: a whole number");
        }
        return FL_OK;
    }
    const fl_status status = place.len > 0 ? name_place(r, place, err) : FL_OK;
    return status == FL_OK ? add_plant(r, plant, count, err) : status;
}

/* Names are one line of text: an event takes no control character but the tab between cells. */
static bool has_control(fl_sv line)
{
    for (size_t i = 0; i < line.len; i++) {
        unsigned char c = (unsigned char)line.ptr[i];
        if ((c < 0x20 && c != '\t') || c == 0x7f) {
            return true;
        }
    }
    return false;
}

static fl_status read_line(reader *r, fl_sv raw, fl_err *err)
{
    const fl_sv line = fl_sv_trim(raw);
    const size_t colon = first_of(line, ':');
    if (line.len == 0) {
        return FL_OK;
    }
    if (has_control(line)) {
        add_trouble(r, "it has a control character: give plain text");
        return FL_OK;
    }
    if (first_of(line, '\t') < line.len) {
        return read_cells(r, raw, err);
    }
    fl_status status = FL_OK;
    fl_sv plants = line;
    if (colon < line.len) {
        status = name_place(r, (fl_sv){line.ptr, colon}, err);
        plants = cut(line, colon + 1, line.len);
    }
    while (status == FL_OK && plants.len > 0) {
        status = add_plant(r, fl_sv_split(&plants, ','), 0, err);
    }
    return status;
}

fl_status fl_moving_in_read(const fl_room *room, fl_sv text, fl_id key, fl_arena *arena,
                            fl_moving_in *out, fl_err *err)
{
    fl_moving_in made = {.places = FL_ARENA_ARRAY(arena, fl_moving_place, FL_MOVING_IN_PLACES_MAX),
                         .lots = FL_ARENA_ARRAY(arena, fl_moving_lot, FL_MOVING_IN_LOTS_MAX),
                         .troubles = FL_ARENA_ARRAY(arena, fl_moving_trouble, TROUBLES_MAX)};
    reader r = {.room = room, .key = key, .arena = arena, .out = &made};
    fl_sv rest;
    const char *encoding = NULL;
    fl_status status = FL_OK;
    if (text.len > FL_MOVING_IN_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the list has %zu bytes: at most %d, give it in parts",
                       text.len, FL_MOVING_IN_BYTES_MAX);
    }
    rest = fl_sheet_decode(text, arena, &encoding); /* what a spreadsheet's program saved */
    while (status == FL_OK && rest.len > 0) {
        r.line++;
        status = read_line(&r, fl_sv_split(&rest, '\n'), err);
    }
    if (status == FL_OK) {
        *out = made;
    }
    return status;
}

/* ---- events ---- */

static fl_event place_event(const fl_moving_place *place)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = (fl_ev_place_set){.place = place->place,
                                             .name = place->name,
                                             .kind = place->kind,
                                             .uses = place->uses,
                                             .animals = place->animals,
                                             .has_animals = place->animals.len > 0,
                                             .set_temp_c = (double)NAN,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    return event;
}

static fl_event plant_event(const fl_moving_lot *lot)
{
    fl_event event = {.kind = FL_KIND_PLANT_SET};
    event.body.plant_set = (fl_ev_plant_set){
        .plant = lot->plant,
        .name = lot->name,
        .taxon = fl_sv_from_cstr(lot->row != NULL ? lot->row->botanical_name : "")};
    return event;
}

static fl_event lot_event(const fl_moving_lot *lot, fl_id id)
{
    fl_event event = {.kind = FL_KIND_LOT_ALREADY_HERE};
    event.body.lot_already_here =
        (fl_ev_lot_already_here){.lot = id,
                                 .plant = lot->plant,
                                 .name = FL_SV(""),
                                 .count = lot->count,
                                 .form = FL_FORM_POTTED,
                                 .use = fl_use_strictest(lot->place->uses),
                                 .place = lot->place->place};
    return event;
}

/* What the event brings into being: its own id follows from it. */
static fl_id thing_of(const fl_event *event)
{
    if (event->kind == FL_KIND_PLACE_SET) {
        return event->body.place_set.place;
    }
    return event->kind == FL_KIND_PLANT_SET ? event->body.plant_set.plant
                                            : event->body.lot_already_here.lot;
}

void fl_moving_in_events(const fl_moving_in *moving, fl_id key, int64_t at_s, fl_arena *arena,
                         fl_event **events, size_t *count)
{
    fl_event *made = FL_ARENA_ARRAY(arena, fl_event, moving->n_places + 2 * moving->n_lots + 1);
    size_t n = 0;
    for (size_t i = 0; i < moving->n_places; i++) {
        if (moving->places[i].is_new) {
            made[n++] = place_event(&moving->places[i]);
        }
    }
    for (size_t i = 0; i < moving->n_lots; i++) {
        bool is_made = !moving->lots[i].is_new;
        for (size_t k = 0; k < i && !is_made; k++) {
            is_made = fl_id_eq(moving->lots[k].plant, moving->lots[i].plant);
        }
        if (!is_made) {
            made[n++] = plant_event(&moving->lots[i]);
        }
    }
    for (size_t i = 0; i < moving->n_lots; i++) {
        made[n++] =
            lot_event(&moving->lots[i], fl_id_derive(key, fl_arena_printf(arena, "lot/%zu", i)));
    }
    for (size_t i = 0; i < n; i++) {
        made[i].id = fl_id_derive(thing_of(&made[i]), FL_SV("moving in"));
        made[i].at_s = at_s;
    }
    *events = made;
    *count = n;
}
