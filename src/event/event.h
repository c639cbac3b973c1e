/* The events of the journal: what happened, as plain structs. Start here to learn the domain.
 *
 * An event is never edited or removed; a correction voids one and adds another. Texts and arrays
 * are views into the caller's arena. Ids are made by the client; an event's own id is its
 * idempotency key. Every body says what happened, never what it means: meaning is core/ledger. */
#ifndef FL_EVENT_EVENT_H
#define FL_EVENT_EVENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/civil.h"
#include "base/id.h"
#include "base/sv.h"
#include "event/words.h"

/* X(enum, JSON kind, rank among events of the same moment, what a person reads).
 * Rank: definitions, arrive, clean, step, move, look, finding, hold, release, the rest. */
#define FL_KIND_LIST(X)                                                                            \
    X(FL_KIND_SOURCE_SET, "source_set", 0, "a source was added or changed")                        \
    X(FL_KIND_PLANT_SET, "plant_set", 0, "a plant was added or changed")                           \
    X(FL_KIND_PLACE_SET, "place_set", 0, "a place was added or changed")                           \
    X(FL_KIND_BOTTLE_OPENED, "bottle_opened", 0, "a bottle was opened")                            \
    X(FL_KIND_BOTTLE_TESTED, "bottle_tested", 0, "a test strip was read")                          \
    X(FL_KIND_LOT_ALREADY_HERE, "lot_already_here", 1, "a lot that was already here")              \
    X(FL_KIND_LOT_ARRIVED, "lot_arrived", 1, "a lot arrived")                                      \
    X(FL_KIND_LOT_CUT, "lot_cut", 1, "cuttings or divisions were taken")                           \
    X(FL_KIND_LOT_SPLIT, "lot_split", 1, "a lot was split")                                        \
    X(FL_KIND_PLACE_CLEANED, "place_cleaned", 2, "a place was cleaned")                            \
    X(FL_KIND_STEP_STARTED, "step_started", 3, "a step was started")                               \
    X(FL_KIND_STEP_DONE, "step_done", 3, "steps were done")                                        \
    X(FL_KIND_STEP_ABANDONED, "step_abandoned", 3, "a step was abandoned")                         \
    X(FL_KIND_LOT_MOVED, "lot_moved", 4, "lots were moved")                                        \
    X(FL_KIND_CARD_SET, "card_set", 4, "a card or bait was set or taken away")                     \
    X(FL_KIND_LOOK_DONE, "look_done", 5, "a look was done")                                        \
    X(FL_KIND_FINDING_IDENTIFIED, "finding_identified", 6, "a finding was identified")             \
    X(FL_KIND_FINDING_RETRACTED, "finding_retracted", 6, "a finding was taken back")               \
    X(FL_KIND_TOLERATED_SET, "tolerated_set", 6, "a threat is tolerated in a place, or no more")   \
    X(FL_KIND_ANIMAL_NOTED, "animal_noted", 6, "an animal was ill, died or was tested")            \
    X(FL_KIND_HOLD_SET, "hold_set", 7, "a hold was set")                                           \
    X(FL_KIND_HOLD_LIFTED, "hold_lifted", 7, "a hold was lifted")                                  \
    X(FL_KIND_LOT_RELEASED, "lot_released", 8, "a lot was released")                               \
    X(FL_KIND_LOT_LOST, "lot_lost", 9, "plants of a lot were lost")                                \
    X(FL_KIND_READINGS_IMPORTED, "readings_imported", 9, "logger readings were imported")          \
    X(FL_KIND_PHOTO_ATTACHED, "photo_attached", 9, "a photo was attached")                         \
    X(FL_KIND_HISTORY_TOLD, "history_told", 9, "another keeper told a lot's past")                 \
    X(FL_KIND_COMPLAINT_NOTED, "complaint_noted", 9, "a customer found something on a plant")      \
    X(FL_KIND_BUILD_PLANNED, "build_planned", 9, "a build was planned or changed")                 \
    X(FL_KIND_KNOWLEDGE_SET, "knowledge_set", 9, "a figure was replaced by the keeper's own")      \
    X(FL_KIND_ROOM_SET, "room_set", 9, "the room's settings were changed")                         \
    X(FL_KIND_EVENT_VOIDED, "event_voided", 9, "an event was voided")

#define FL_KIND_ENUM(name, word, rank, text) name,
typedef enum fl_kind { FL_KIND_LIST(FL_KIND_ENUM) FL_KIND_COUNT } fl_kind;
#undef FL_KIND_ENUM

typedef struct fl_kind_info {
    const char *word;
    int rank;
    const char *text;
} fl_kind_info;
extern const fl_kind_info fl_kinds[FL_KIND_COUNT];

/* The kind of a JSON word, or -1. */
int fl_kind_find(fl_sv word);

/* A list of ids inside an event. */
typedef struct fl_id_list {
    const fl_id *ids;
    size_t count;
} fl_id_list;

/* ---- bodies; "optional" means the member may be absent: none id, empty text, NAN, or -1 ---- */

typedef struct fl_ev_source_set {
    fl_id source;
    fl_sv name;
    fl_source_kind kind;
    bool has_animals_with_plants;
    int64_t take_back_days; /* it takes plants back for so many days; 0: not told */
} fl_ev_source_set;

typedef struct fl_ev_plant_set {
    fl_id plant;
    fl_sv name;       /* what the keeper calls it; "unnamed fern" will do */
    fl_sv taxon;      /* optional: a botanical name of data/plants.csv */
    bool is_delicate; /* the keeper's own word: a rinse or dip would ruin it */
    bool rots_when_closed;
    bool is_mother;   /* kept for cuttings */
    bool is_thriving; /* the keeper's own word: it does well where it stands */
} fl_ev_plant_set;

typedef struct fl_ev_place_set {
    fl_id place;
    fl_sv name;
    fl_place_kind kind;
    unsigned uses;     /* mask of 1u << fl_use: what lives or will live there */
    fl_sv animals;     /* optional text: "6 small frogs" */
    bool has_animals;  /* animals are in it now */
    bool has_gasket;   /* closes tight */
    double set_temp_c; /* the usual temperature; NAN when not told (then 21) */
    double volume_l;   /* optional */
    int64_t shelf;     /* optional: which shelf, from 1; -1 */
    bool is_retired;
    /* Its light, air and water: each optional, 0 or empty when not told in this event, and then as
     * told before. What belongs to the lamp, from `lamp` to lamp_watts, is told together: an event
     * that has any of it replaces all of it. core/climate/facts.h puts them together. */
    double length_mm;         /* inside, along the shelf */
    double width_mm;          /* inside, across the shelf */
    double height_mm;         /* inside, upright */
    double rh_pct;            /* the usual humidity of its air, where no logger tells */
    fl_sv lid;                /* a code of data/lids.csv, or "none" */
    double mix_l;             /* mix in it, with its water */
    double mat_watts;         /* a heat mat under it */
    fl_sv lamp;               /* a code of data/lamps.csv, or "none": it has no lamp of its own */
    double lamp_lux_per_umol; /* of this lamp, when the keeper knows better than the table */
    double lamp_lumens;       /* of one strip */
    double lamp_length_mm;    /* lit length of a strip */
    double lamp_height_mm;    /* above the leaves */
    double lamp_along_mm;     /* where the place's middle lies from below the lamp's middle */
    double lamp_across_mm;
    int64_t lamp_count;     /* strips side by side; 0 is one */
    double lamp_spacing_mm; /* from strip to strip */
    double lamp_hours;      /* lit a day */
    double lamp_watts;      /* of all strips */
    double light_lux;       /* a meter's reading at leaf height, under the lid */
    double light_umol_m2_s; /* the same in photons (PPFD) */
} fl_ev_place_set;

typedef struct fl_ev_bottle_opened {
    fl_id bottle;
    fl_agent agent;
    fl_sv name;
    double label_pct;        /* as the label says */
    double specific_gravity; /* optional */
    double store_c;          /* optional */
} fl_ev_bottle_opened;

typedef struct fl_ev_bottle_tested {
    fl_id bottle;
    double strength_pct; /* what the strip says, as the label's unit */
} fl_ev_bottle_tested;

typedef struct fl_ev_lot_arrived {
    fl_id lot;
    fl_id arrival; /* the lots brought home together share it */
    fl_id source;
    fl_id plant;   /* optional for material */
    fl_sv name;    /* optional: what it was sold as */
    int64_t count; /* plants, or 1 for a batch of material */
    fl_form form;
    fl_use use;             /* the strictest use it is for */
    fl_id place;            /* where it stands on arrival, usually the bench */
    fl_sv label_active;     /* optional: a pesticide named on the label */
    bool is_label_clean;    /* grown without pesticide, by word or label */
    double cost;            /* optional: of all of them */
    int64_t take_back_days; /* of this purchase, where it differs from its source's; 0: not told */
} fl_ev_lot_arrived;

typedef struct fl_ev_lot_already_here {
    fl_id lot;
    fl_id plant;
    fl_sv name;
    int64_t count;
    fl_form form;
    fl_use use;
    fl_id place;
    fl_id source; /* optional */
} fl_ev_lot_already_here;

typedef struct fl_ev_lot_cut {
    fl_id mother;
    fl_id lot; /* the new lot */
    int64_t count;
    fl_form form; /* unrooted_cutting, or bare_root / potted for a division */
    fl_use use;
    fl_id place;
} fl_ev_lot_cut;

typedef struct fl_ev_lot_split {
    fl_id lot;
    fl_id new_lot;
    int64_t count; /* plants that go to the new lot */
} fl_ev_lot_split;

typedef struct fl_ev_place_cleaned {
    fl_id place;
    fl_agent agent;  /* what it was wiped or soaked with; none: soap and water */
    double efficacy; /* optional: 0 to 1; NAN: the default of data/links.csv */
    fl_sv part;      /* optional: only this at the place ("tub 1", "tools"), which then stays as it
                        was; what shared that tub before no longer reaches what comes after */
} fl_ev_place_cleaned;

/* One step on one or more lots. */
typedef struct fl_ev_step {
    fl_id_list lots;
    fl_step step;
    fl_agent agent;       /* for dips and soaks; none: plain water */
    double dose_mg_per_l; /* optional: chlorine, permanganate … as the recipe says */
    double pct;           /* optional: percent of product */
    double temp_c;        /* optional: of the bath */
    double minutes;       /* optional: as it was; else the planned time */
    fl_sv tub;            /* optional: which tub or bath; equal names in one event share water */
    fl_sv product;        /* optional: for a pesticide, the active */
    fl_id bottle;         /* optional */
    fl_prills prills;     /* of stripping or potting up: the fertiliser prills */
    fl_sv container;      /* optional, of potting up: what they stand in now, "9 cm pots" */
    /* What a grower's record of a pesticide asks for: all optional (empty, or 0 when not told), and
     * for all of these lots together. core/residue/record.h says which rule asks for what. */
    fl_sv brand;           /* the product's name on the label */
    fl_sv registration;    /* its authorisation or registration number */
    double amount_g;       /* of product used in all, before water is added; a solid */
    double amount_ml;      /* the same of a liquid */
    double rate_g_per_l;   /* of product in the spray */
    double rate_ml_per_l;  /* the same */
    double rate_g_per_m2;  /* of product on the ground; 1 g/m2 is 10 kg/ha */
    double rate_ml_per_m2; /* the same */
    double area_m2;        /* that was treated */
    double space_m3;       /* of a closed room that was treated */
    int64_t units;         /* plants or pots treated */
    fl_sv eppo_code;       /* of the crop */
    fl_sv growth_stage;    /* "BBCH 15", where the label limits the use to stages */
    fl_sv site;            /* where, as an authority would find it */
    fl_sv operator_name;   /* who applied it, or supervised */
    fl_sv operator_number; /* of the certificate */
    fl_sv reason;          /* what it was against */
    double reentry_h;      /* keep out for so long, as the label says */
    double harvest_d;      /* days before anything is picked to eat, as the label says */
} fl_ev_step;

typedef struct fl_ev_step_started {
    fl_id run; /* this timed step; done or abandoned name it */
    fl_ev_step step;
    int64_t planned_s; /* due = occurred_at + planned_s */
} fl_ev_step_started;

typedef struct fl_ev_step_done {
    fl_id run;               /* optional: ends a started step */
    const fl_ev_step *steps; /* in the order done: "all as planned" is one event */
    size_t n_steps;
} fl_ev_step_done;

typedef struct fl_ev_step_abandoned {
    fl_id run;
    fl_sv why;
} fl_ev_step_abandoned;

typedef struct fl_ev_lot_moved {
    fl_id_list lots;
    fl_id to;
} fl_ev_lot_moved;

typedef struct fl_ev_card_set {
    fl_id place;
    fl_device device;
    bool is_taken_away;
} fl_ev_card_set;

/* Something seen at a look. */
typedef struct fl_ev_finding {
    fl_id finding;
    fl_id lot;       /* optional: on which lot */
    fl_sv threat;    /* optional: a code of data/threats.csv; empty: not identified */
    fl_sv stage;     /* optional: a stage name */
    int64_t count;   /* how many were seen; 1 when not told */
    bool is_removed; /* what was seen was taken away */
    fl_sv what;      /* what it looked like, in the keeper's words */
} fl_ev_finding;

typedef struct fl_ev_look_done {
    fl_id place;     /* the bin, enclosure … that was opened */
    fl_id_list lots; /* optional: only these lots of it; empty: all */
    fl_effort effort;
    bool is_after_dark;
    unsigned devices;     /* mask of 1u << fl_device: cards and baits read */
    double frac_examined; /* 0 to 1 of the plants; 1 when not told */
    fl_hands hands;       /* since the last place of this round */
    const fl_ev_finding *findings;
    size_t n_findings;   /* 0: nothing found */
    bool has_new_growth; /* new leaves since the last look */
} fl_ev_look_done;

typedef struct fl_ev_finding_identified {
    fl_id finding;
    fl_sv threat; /* a threat code or a look-alike's code */
    fl_sv stage;  /* optional */
} fl_ev_finding_identified;

typedef struct fl_ev_finding_retracted {
    fl_id finding;
    fl_sv why;
} fl_ev_finding_retracted;

typedef struct fl_ev_tolerated_set {
    fl_id place;
    fl_sv threat;
    bool is_tolerated;
} fl_ev_tolerated_set;

typedef struct fl_ev_animal_noted {
    fl_id place;
    fl_animal_event what;
    fl_sv animal;
    fl_sv threat;      /* optional: what it was tested for */
    bool is_positive;  /* of a test */
    int64_t sampled_s; /* optional: when the sample was taken, UTC; INT64_MIN when not told */
} fl_ev_animal_noted;

typedef struct fl_ev_hold_set {
    fl_id hold;
    fl_id place;
    fl_sv why;
} fl_ev_hold_set;

typedef struct fl_ev_hold_lifted {
    fl_id hold;
    fl_sv why;
} fl_ev_hold_lifted;

typedef struct fl_ev_lot_released {
    fl_id lot;
    fl_id to;             /* an enclosure, a stock bin, or outside */
    bool is_against_gate; /* the keeper went ahead although the gate said no */
    fl_sv answer_json; /* the gate's answer as it was, frozen (canonical JSON text); may be empty */
    fl_sv knowledge;   /* hex of the knowledge hash at that moment; may be empty */
} fl_ev_lot_released;

typedef struct fl_ev_lot_lost {
    fl_id lot;
    int64_t count;
    fl_sv why;
} fl_ev_lot_lost;

typedef struct fl_ev_readings_imported {
    fl_id place;
    fl_sv blob;     /* sha256 in hex of the stored day blocks */
    int64_t from_s; /* UTC */
    int64_t to_s;
    int64_t n_readings;
} fl_ev_readings_imported;

typedef struct fl_ev_photo_attached {
    fl_id subject; /* a lot, place, finding, plant */
    fl_sv blob;    /* sha256 in hex */
    fl_sv caption;
} fl_ev_photo_attached;

/* A history card that came with a lot: kept as it was told, and never counted as seen here. */
typedef struct fl_ev_history_told {
    fl_id lot;
    fl_sv teller;    /* who told it */
    fl_sv card_json; /* the card (schema/history_card.json): canonical JSON text */
} fl_ev_history_told;

/* Somebody who has plants of a lot found something on them; the event's time is when. It says
 * nothing of where it began (app/complaint.h), sets no hold and moves no chance. */
typedef struct fl_ev_complaint_noted {
    fl_id lot;                 /* the plants that the customer has */
    fl_sv customer;            /* optional: else the place outside where the lot went says who */
    fl_sv threat;              /* a code of data/threats.csv */
    fl_sv stage;               /* optional: that was seen */
    double hazard_per_30_days; /* optional: founders that come to this customer from elsewhere */
    double look_days;          /* optional: the plants are glanced at every so many days there */
    double temp_c;             /* optional: where they stand */
    fl_sv what;                /* what it looked like, in the customer's words */
} fl_ev_complaint_noted;

typedef struct fl_ev_build_planned {
    fl_id build;
    fl_id enclosure; /* optional */
    fl_sv name;
    fl_sv need_by;   /* a civil date */
    fl_sv plan_json; /* plants, materials, crew: canonical JSON text */
} fl_ev_build_planned;

typedef struct fl_ev_knowledge_set {
    fl_sv table;  /* "threats" */
    fl_sv row;    /* "fungus_gnat" */
    fl_sv column; /* "prior" */
    double value;
    fl_sv why;
} fl_ev_knowledge_set;

typedef struct fl_ev_room_set {
    fl_sv name;
    int64_t round_weekday;  /* 0 Monday to 6 Sunday: when the keeper makes the round; -1 not told */
    fl_effort round_effort; /* how the keeper looks on a round */
    bool is_demo;
    fl_sv away_from;  /* optional: a civil date, the first day the keeper is away */
    fl_sv away_until; /* optional: the day the keeper is back */
} fl_ev_room_set;

typedef struct fl_ev_event_voided {
    fl_id event;
    fl_sv why;
} fl_ev_event_voided;

/* One event. Which body member holds follows from kind. */
typedef struct fl_event {
    fl_id id;
    fl_kind kind;
    int64_t at_s; /* when it happened, UTC seconds (a vague time: its middle) */
    fl_precision precision;
    fl_sv device; /* optional: which device told it */
    int64_t seq;  /* optional: that device's counter; 0 */
    fl_sv note;   /* optional */
    union {
        fl_ev_source_set source_set;
        fl_ev_plant_set plant_set;
        fl_ev_place_set place_set;
        fl_ev_bottle_opened bottle_opened;
        fl_ev_bottle_tested bottle_tested;
        fl_ev_lot_already_here lot_already_here;
        fl_ev_lot_arrived lot_arrived;
        fl_ev_lot_cut lot_cut;
        fl_ev_lot_split lot_split;
        fl_ev_place_cleaned place_cleaned;
        fl_ev_step_started step_started;
        fl_ev_step_done step_done;
        fl_ev_step_abandoned step_abandoned;
        fl_ev_lot_moved lot_moved;
        fl_ev_card_set card_set;
        fl_ev_look_done look_done;
        fl_ev_finding_identified finding_identified;
        fl_ev_finding_retracted finding_retracted;
        fl_ev_tolerated_set tolerated_set;
        fl_ev_animal_noted animal_noted;
        fl_ev_hold_set hold_set;
        fl_ev_hold_lifted hold_lifted;
        fl_ev_lot_released lot_released;
        fl_ev_lot_lost lot_lost;
        fl_ev_readings_imported readings_imported;
        fl_ev_photo_attached photo_attached;
        fl_ev_history_told history_told;
        fl_ev_complaint_noted complaint_noted;
        fl_ev_build_planned build_planned;
        fl_ev_knowledge_set knowledge_set;
        fl_ev_room_set room_set;
        fl_ev_event_voided event_voided;
    } body;
} fl_event;

/* Canonical order: by moment, then by the rank of the kind, then by id. -1, 0, 1. Total: equal
 * only for the same id. */
int fl_event_compare(const fl_event *a, const fl_event *b);

/* What an entity is, in references and in the store. */
typedef enum fl_entity {
    FL_ENTITY_SOURCE = 0,
    FL_ENTITY_PLANT,
    FL_ENTITY_PLACE,
    FL_ENTITY_BOTTLE,
    FL_ENTITY_ARRIVAL,
    FL_ENTITY_LOT,
    FL_ENTITY_RUN,
    FL_ENTITY_FINDING,
    FL_ENTITY_HOLD,
    FL_ENTITY_BUILD,
    FL_ENTITY_EVENT,
    FL_ENTITY_COUNT
} fl_entity;

/* One mention of an entity by an event: the fact rows of the journal. */
typedef struct fl_fact {
    fl_entity entity;
    fl_id id;
    bool is_definition; /* the event brings it into being (or changes it); else it must exist */
} fl_fact;

/* An animal fell ill, died or tested positive: not a negative test, nor a trial of residues. */
bool fl_animal_is_unwell(const fl_ev_animal_noted *noted);

/* The hold that a finding, or an event about an animal, sets by itself; it is lifted by this id. */
fl_id fl_event_hold_of(fl_id cause);

/* Writes every mention of the event, definitions first and each (entity, id) once, into
 * facts[capacity]; *count is what there is, also when it exceeds capacity (then FL_ETOOBIG and only
 * capacity are written). Optional ids that are none are left out. */
fl_status fl_event_facts(const fl_event *event, fl_fact *facts, size_t capacity, size_t *count,
                         fl_err *err) FL_MUST_USE;

/* The SHA-256 in hex of the bytes that the event names, a photo or a batch of readings; empty for
 * every other event. */
fl_sv fl_event_blob(const fl_event *event);

#endif
