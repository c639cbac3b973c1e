/* Photos in a room: kept once and stripped, listed by what they show, and refused where they are no
 * photos or show nothing that is there. */
#include <string.h>

#include "app/photos.h"
#include "base/limits.h"
#include "json/event_codec.h"
#include "support/keeper.h"

/* A picture of T.81 annex B's segments, 1 x 1, with a comment that must not be kept. */
static const char picture[] = "\xFF\xD8"
                              "\xFF\xFE\x00\x0C"
                              "my address"
                              "\xFF\xC0\x00\x08\x08\x00\x01\x00\x01\x00"
                              "\xFF\xDA\x00\x02"
                              "xyz"
                              "\xFF\xD9";
#define PICTURE ((fl_sv){picture, sizeof picture - 1})

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_room room;
    fl_id bench, lot;
    fl_err err;
} stage;

static void begin(stage *s)
{
    memset(s, 0, sizeof *s);
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    fl_id shop = fl_keeper_source(&s->k, "shop", FL_SOURCE_CHAIN_STORE, false);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->lot = fl_keeper_arrive(&s->k, shop, fl_keeper_id(&s->k), s->bench, FL_FORM_POTTED,
                              FL_USE_STOCK, 2);
}

static void end(stage *s)
{
    fl_arena_done(&s->arena);
    fl_keeper_done(&s->k);
}

static fl_photo_kept keep(stage *s)
{
    fl_photo_kept kept;
    check_ok(fl_photo_keep(&s->k.app, PICTURE, &s->arena, &kept, &s->err), &s->err);
    return kept;
}

static fl_status attach(stage *s, fl_id subject, fl_sv blob, const char *caption)
{
    fl_event event = {
        .id = fl_keeper_id(&s->k), .kind = FL_KIND_PHOTO_ATTACHED, .at_s = fl_app_now(&s->k.app)};
    event.body.photo_attached = (fl_ev_photo_attached){
        .subject = subject, .blob = blob, .caption = fl_sv_from_cstr(caption)};
    return fl_app_record_events(&s->k.app, &event, 1, &s->err);
}

static void test_kept_once_and_stripped(void **state)
{
    stage s;
    fl_sv bytes;
    fl_hash *hashes;
    size_t n = 0;
    (void)state;
    begin(&s);
    fl_photo_kept one = keep(&s);
    fl_photo_kept two = keep(&s);
    check_true(fl_sv_eq(one.sha256, two.sha256));
    check_int(one.jpeg.bytes, PICTURE.len - 14);
    check_ok(fl_photo_bytes(&s.k.app, one.sha256, &s.arena, &bytes, &s.err), &s.err);
    check_int(bytes.len, one.jpeg.bytes);
    check_int(memcmp(bytes.ptr, "\xFF\xD8\xFF\xC0", 4), 0);
    check_ok(fl_store_blobs(s.k.app.store, &s.arena, &hashes, &n, &s.err), &s.err);
    check_int(n, 1);
    end(&s);
}

static void test_listed_by_what_they_show(void **state)
{
    stage s;
    const fl_event **list;
    (void)state;
    begin(&s);
    fl_sv blob = keep(&s).sha256;
    (void)fl_keeper_look(&s.k, s.bench, FL_EFFORT_CAREFUL, 0, "aphid", s.lot);
    check_ok(fl_room_load(&s.k.app, &s.room, &s.err), &s.err);
    check_int(s.room.meaning.n_findings, 1);
    fl_id finding = s.room.meaning.findings[0].finding;
    fl_room_done(&s.room);
    check_ok(attach(&s, s.bench, blob, "the bench"), &s.err);
    check_ok(attach(&s, finding, blob, "an aphid"), &s.err);
    check_ok(attach(&s, s.lot, blob, ""), &s.err);
    check_ok(fl_room_load(&s.k.app, &s.room, &s.err), &s.err);
    check_int(fl_photos_of(&s.room, s.bench, &s.arena, &list), 1);
    check_sv(list[0]->body.photo_attached.caption, "the bench");
    check_int(fl_photos_of(&s.room, s.lot, &s.arena, &list), 2); /* its finding's too */
    check_int(fl_photos_of(&s.room, finding, &s.arena, &list), 1);
    check_int(fl_photos_of(&s.room, (fl_id){{0}}, &s.arena, &list), 3);
    check_int(fl_photo_subject_of(&s.room, finding).kind, FL_ENTITY_FINDING);
    fl_room_done(&s.room);
    end(&s);
}

static void test_what_is_refused(void **state)
{
    stage s;
    fl_photo_kept kept;
    (void)state;
    begin(&s);
    check_int(fl_photo_keep(&s.k.app, FL_SV("GIF89a"), &s.arena, &kept, &s.err), FL_EFORMAT);
    size_t len = FL_PHOTO_BYTES_MAX + 1;
    char *big = fl_arena_alloc(&s.arena, len, 1);
    check_int(fl_photo_keep(&s.k.app, (fl_sv){big, len}, &s.arena, &kept, &s.err), FL_ETOOBIG);
    check_contains(s.err.message, "at most 2048 kB");
    fl_sv blob = keep(&s).sha256;
    check_int(attach(&s, fl_keeper_id(&s.k), blob, "of nothing"), FL_ENOTFOUND);
    check_contains(s.err.message, "there is no lot, place, finding or plant");
    char other[65];
    memset(other, 'a', 64);
    other[64] = '\0';
    check_int(attach(&s, s.lot, fl_sv_from_cstr(other), "not kept"), FL_ENOTFOUND);
    check_contains(s.err.message, "keep them first");
    fl_sv bytes;
    check_int(fl_photo_bytes(&s.k.app, FL_SV("../room.sqlite"), &s.arena, &bytes, &s.err),
              FL_ENOTFOUND);
    fl_hash hash = fl_hash_of("readings", 8);
    check_ok(fl_store_blob_put(s.k.app.store, hash, FL_SV("readings"), &s.err), &s.err);
    char hex[FL_HASH_TEXT_MAX];
    check_int(fl_photo_bytes(&s.k.app, fl_sv_from_cstr(fl_hash_format(hex, hash)), &s.arena, &bytes,
                             &s.err),
              FL_ENOTFOUND); /* a batch of readings is no photo */
    end(&s);
}

/* One thing has at most FL_PHOTOS_OF_ONE_MAX photos, a room so many bytes of them; what no event
 * names is counted. */
static void test_limits(void **state)
{
    stage s;
    fl_verified found;
    int64_t count = 0;
    int64_t bytes = 0;
    fl_photo_kept kept;
    (void)state;
    begin(&s);
    fl_sv blob = keep(&s).sha256;
    check_ok(fl_app_verify(&s.k.app, &found, &s.err), &s.err);
    check_int(found.n_orphans, 1);
    for (int i = 0; i < FL_PHOTOS_OF_ONE_MAX; i++) {
        check_ok(attach(&s, s.lot, blob, ""), &s.err);
    }
    check_int(attach(&s, s.lot, blob, ""), FL_ETOOBIG);
    check_contains(s.err.message, "200 photos of this already");
    fl_err_clear(&s.err);
    check_ok(attach(&s, s.bench, blob, ""), &s.err); /* another thing has its own */
    check_ok(fl_app_verify(&s.k.app, &found, &s.err), &s.err);
    check_int(found.n_orphans, 0);
    check_ok(fl_store_blob_size(s.k.app.store, &count, &bytes, &s.err), &s.err);
    check_int(count, 1);
    check_int(bytes, PICTURE.len - 14);
    s.k.app.blob_bytes_max = bytes + 1;
    (void)keep(&s); /* what is there already is fine */
    char other[sizeof picture];
    memcpy(other, picture, sizeof picture);
    memcpy(other + PICTURE.len - 5, "abc", 3); /* the picture itself */
    check_int(fl_photo_keep(&s.k.app, (fl_sv){other, PICTURE.len}, &s.arena, &kept, &s.err),
              FL_ETOOBIG);
    check_contains(s.err.message, "all it may hold");
    fl_err_clear(&s.err);
    s.k.app.blob_bytes_max = 2 * bytes;
    check_ok(fl_photo_keep(&s.k.app, (fl_sv){other, PICTURE.len}, &s.arena, &kept, &s.err), &s.err);
    end(&s);
}

/* A photo or readings whose bytes are gone altogether: verify says so, and which they are. */
static void test_missing_bytes_are_seen(void **state)
{
    stage s;
    fl_verified found;
    fl_fact facts[4];
    size_t n_facts = 0;
    fl_str text;
    (void)state;
    begin(&s);
    check_ok(attach(&s, s.lot, keep(&s).sha256, ""), &s.err);
    check_ok(fl_app_verify(&s.k.app, &found, &s.err), &s.err);
    fl_event event = {
        .id = fl_keeper_id(&s.k), .kind = FL_KIND_READINGS_IMPORTED, .at_s = fl_app_now(&s.k.app)};
    event.body.readings_imported = (fl_ev_readings_imported){
        .place = s.bench, .n_readings = 1, .from_s = event.at_s, .to_s = event.at_s};
    char hex[FL_HASH_TEXT_MAX];
    event.body.readings_imported.blob = fl_sv_from_cstr(fl_hash_format(hex, fl_hash_of("gone", 4)));
    check_int(fl_app_record_events(&s.k.app, &event, 1, &s.err), FL_ENOTFOUND); /* the usual way */
    fl_str_init(&text, FL_EVENT_BYTES_MAX);
    check_ok(fl_event_write(&event, &text, &s.err), &s.err);
    check_ok(fl_event_facts(&event, facts, 4, &n_facts, &s.err), &s.err);
    check_ok(fl_store_begin(s.k.app.store, &s.err), &s.err);
    check_ok(fl_store_journal_append(s.k.app.store, &event, fl_str_sv(&text), facts, n_facts,
                                     event.at_s, &s.err),
             &s.err);
    check_ok(fl_store_commit(s.k.app.store, &s.err), &s.err);
    fl_str_done(&text);
    check_int(fl_app_verify(&s.k.app, &found, &s.err), FL_ECORRUPT);
    check_contains(s.err.message, hex);
    end(&s);
}

static void test_to_be_named_later(void **state)
{
    stage s;
    const fl_lot **list;
    (void)state;
    begin(&s);
    fl_id lot = fl_keeper_id(&s.k);
    fl_event event = {.kind = FL_KIND_LOT_ALREADY_HERE};
    event.body.lot_already_here = (fl_ev_lot_already_here){
        .lot = lot, .name = FL_SV(FL_UNNAMED_PLANT), .count = 1, .place = s.bench};
    fl_keeper_record(&s.k, &event);
    check_ok(fl_room_load(&s.k.app, &s.room, &s.err), &s.err);
    check_int(fl_photos_to_name(&s.room, &s.arena, &list), 0); /* no photo tells which */
    fl_room_done(&s.room);
    check_ok(attach(&s, lot, keep(&s).sha256, ""), &s.err);
    check_ok(attach(&s, lot, keep(&s).sha256, "closer"), &s.err);
    check_ok(fl_room_load(&s.k.app, &s.room, &s.err), &s.err);
    check_int(fl_photos_to_name(&s.room, &s.arena, &list), 1);
    check_true(fl_id_eq(list[0]->id, lot));
    fl_room_done(&s.room);
    fl_event voided = {.kind = FL_KIND_EVENT_VOIDED}; /* named: told anew under the same id */
    voided.body.event_voided = (fl_ev_event_voided){.event = event.id};
    fl_keeper_record(&s.k, &voided);
    fl_event named = {.kind = FL_KIND_LOT_ALREADY_HERE};
    named.body.lot_already_here = event.body.lot_already_here;
    named.body.lot_already_here.name = FL_SV("Ficus pumila");
    fl_keeper_record(&s.k, &named);
    check_ok(fl_room_load(&s.k.app, &s.room, &s.err), &s.err);
    check_int(fl_photos_to_name(&s.room, &s.arena, &list), 0);
    const fl_event **photos;
    check_int(fl_photos_of(&s.room, lot, &s.arena, &photos), 2);
    fl_room_done(&s.room);
    end(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_kept_once_and_stripped), cmocka_unit_test(test_listed_by_what_they_show),
    cmocka_unit_test(test_what_is_refused),        cmocka_unit_test(test_limits),
    cmocka_unit_test(test_missing_bytes_are_seen), cmocka_unit_test(test_to_be_named_later),
};
FL_TEST_MAIN(tests)
