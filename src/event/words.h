/* The closed word lists of the journal: X-macros from which enums, JSON words and help texts come.
 * The word in quotes is what stands in events, on the command line and in the API. */
#ifndef FL_EVENT_WORDS_H
#define FL_EVENT_WORDS_H

#include <stdbool.h>

#include "base/sv.h"

/* X(enum, word, what a person reads) */
#define FL_SOURCE_KIND_LIST(X)                                                                     \
    X(FL_SOURCE_CHAIN_STORE, "chain_store", "chain store")                                         \
    X(FL_SOURCE_NURSERY, "nursery", "nursery")                                                     \
    X(FL_SOURCE_MARKET_STALL, "market_stall", "market stall")                                      \
    X(FL_SOURCE_MAIL_ORDER, "mail_order", "mail order")                                            \
    X(FL_SOURCE_TISSUE_CULTURE_LAB, "tissue_culture_lab", "tissue-culture lab")                    \
    X(FL_SOURCE_TRADE, "trade", "trade with another keeper")                                       \
    X(FL_SOURCE_OWN_STOCK, "own_stock", "own stock")                                               \
    X(FL_SOURCE_OWN_ENCLOSURE, "own_enclosure", "own enclosure")                                   \
    X(FL_SOURCE_OUTDOORS, "outdoors", "outdoors")

#define FL_FORM_LIST(X)                                                                            \
    X(FL_FORM_POTTED, "potted", "potted")                                                          \
    X(FL_FORM_PLUG, "plug", "plug")                                                                \
    X(FL_FORM_BARE_ROOT, "bare_root", "bare root")                                                 \
    X(FL_FORM_UNROOTED_CUTTING, "unrooted_cutting", "unrooted cutting")                            \
    X(FL_FORM_TISSUE_CULTURE, "tissue_culture", "tissue culture")                                  \
    X(FL_FORM_MOUNTED, "mounted", "mounted")                                                       \
    X(FL_FORM_MOSS_CLUMP, "moss_clump", "moss or clump")                                           \
    X(FL_FORM_SEED, "seed", "seed")                                                                \
    X(FL_FORM_MIX_BAGGED, "mix_bagged", "bagged mix, unopened")                                    \
    X(FL_FORM_MIX_OPEN, "mix_open", "mix, opened or from outdoors")                                \
    X(FL_FORM_LEAF_LITTER, "leaf_litter", "leaf litter")                                           \
    X(FL_FORM_WOOD, "wood", "wood or bark")                                                        \
    X(FL_FORM_CULTURE, "culture", "springtail or isopod culture")

#define FL_PLACE_KIND_LIST(X)                                                                      \
    X(FL_PLACE_BENCH, "bench", "bench")                                                            \
    X(FL_PLACE_BIN, "bin", "bin")                                                                  \
    X(FL_PLACE_JAR, "jar", "jar")                                                                  \
    X(FL_PLACE_OPEN_SPOT, "open_spot", "open spot")                                                \
    X(FL_PLACE_ENCLOSURE, "enclosure", "enclosure")                                                \
    X(FL_PLACE_OUTSIDE, "outside", "outside")

#define FL_USE_LIST(X)                                                                             \
    X(FL_USE_PLANTS_ONLY, "plants_only", "plants only")                                            \
    X(FL_USE_REPTILE, "reptile", "reptile")                                                        \
    X(FL_USE_INVERTEBRATE, "invertebrate", "invertebrate")                                         \
    X(FL_USE_AMPHIBIAN, "amphibian", "amphibian")                                                  \
    X(FL_USE_STOCK, "stock", "stock")

#define FL_STEP_LIST(X)                                                                            \
    X(FL_STEP_STRIP, "strip", "strip the old mix")                                                 \
    X(FL_STEP_RINSE, "rinse", "rinse")                                                             \
    X(FL_STEP_SOAK, "soak", "soak")                                                                \
    X(FL_STEP_DIP, "dip", "dip")                                                                   \
    X(FL_STEP_NEUTRALISE, "neutralise", "neutralise")                                              \
    X(FL_STEP_DRAIN, "drain", "drain")                                                             \
    X(FL_STEP_POT_UP, "pot_up", "pot up in fresh mix")                                             \
    X(FL_STEP_BAKE, "bake", "bake")                                                                \
    X(FL_STEP_BOIL, "boil", "boil")                                                                \
    X(FL_STEP_FREEZE, "freeze", "freeze")                                                          \
    X(FL_STEP_DRY, "dry", "dry")                                                                   \
    X(FL_STEP_TRIM, "trim", "trim")

#define FL_AGENT_LIST(X)                                                                           \
    X(FL_AGENT_NONE, "none", "plain water")                                                        \
    X(FL_AGENT_BLEACH, "bleach", "household bleach")                                               \
    X(FL_AGENT_PERMANGANATE, "permanganate", "potassium permanganate")                             \
    X(FL_AGENT_PEROXIDE, "peroxide", "hydrogen peroxide")                                          \
    X(FL_AGENT_SOAP, "soap", "insecticidal soap")                                                  \
    X(FL_AGENT_HOT_WATER, "hot_water", "hot water")                                                \
    X(FL_AGENT_THIOSULFATE, "thiosulfate", "sodium thiosulfate")                                   \
    X(FL_AGENT_PESTICIDE, "pesticide", "a pesticide, as its label says")

#define FL_PRILLS_LIST(X)                                                                          \
    X(FL_PRILLS_NOT_TOLD, "not_told", "not told")                                                  \
    X(FL_PRILLS_REMOVED, "removed", "picked out of the roots")                                     \
    X(FL_PRILLS_NONE_SEEN, "none_seen", "looked for, and none was seen")                           \
    X(FL_PRILLS_LEFT, "left", "some are still among the roots")

#define FL_EFFORT_LIST(X)                                                                          \
    X(FL_EFFORT_GLANCE, "glance", "a glance")                                                      \
    X(FL_EFFORT_CAREFUL, "careful", "careful: leaf undersides, axils, mix surface")                \
    X(FL_EFFORT_ROOTS, "roots", "roots: unpotted, or through a clear pot")

#define FL_DEVICE_LIST(X)                                                                          \
    X(FL_DEVICE_YELLOW_CARD, "yellow_card", "yellow card")                                         \
    X(FL_DEVICE_BLUE_CARD, "blue_card", "blue card")                                               \
    X(FL_DEVICE_POTATO, "potato", "potato slice, read at 48 h")                                    \
    X(FL_DEVICE_BAIT, "bait", "lettuce or cucumber bait, overnight")

#define FL_HANDS_LIST(X)                                                                           \
    X(FL_HANDS_CLEANED, "cleaned", "tools and hands cleaned since the last place")                 \
    X(FL_HANDS_NOT_CLEANED, "not_cleaned", "not cleaned since the last place")                     \
    X(FL_HANDS_UNSURE, "unsure", "unsure")

#define FL_ANIMAL_EVENT_LIST(X)                                                                    \
    X(FL_ANIMAL_ILL, "ill", "ill")                                                                 \
    X(FL_ANIMAL_DIED, "died", "died")                                                              \
    X(FL_ANIMAL_TESTED, "tested", "tested")                                                        \
    X(FL_ANIMAL_TRIAL_LIVED, "trial_lived", "springtails or isopods put to it lived")              \
    X(FL_ANIMAL_TRIAL_DIED, "trial_died", "springtails or isopods put to it died")

/* Ways from one carrier to another (data/links.csv). */
#define FL_LINK_LIST(X)                                                                            \
    X(FL_LINK_MOVE, "move", "the plant itself was moved")                                          \
    X(FL_LINK_CUTTING, "cutting", "an unrooted cutting was taken")                                 \
    X(FL_LINK_DIVISION, "division", "a rooted division was taken")                                 \
    X(FL_LINK_SHARED_TUB, "shared_tub", "they shared a tub of water")                              \
    X(FL_LINK_SHARED_TOOL, "shared_tool", "tools or hands went from one to the other uncleaned")   \
    X(FL_LINK_UNSURE_TOOL, "unsure_tool", "tools or hands perhaps not cleaned in between")         \
    X(FL_LINK_OPEN_BENCH, "open_bench", "they stood open on one bench")                            \
    X(FL_LINK_LEFTOVER, "leftover", "what a cleaned bin kept")

#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_source_kind { FL_SOURCE_KIND_LIST(FL_WORD_ENUM) FL_SOURCE_COUNT } fl_source_kind;
typedef enum fl_form { FL_FORM_LIST(FL_WORD_ENUM) FL_FORM_COUNT } fl_form;
typedef enum fl_place_kind { FL_PLACE_KIND_LIST(FL_WORD_ENUM) FL_PLACE_COUNT } fl_place_kind;
typedef enum fl_use { FL_USE_LIST(FL_WORD_ENUM) FL_USE_COUNT } fl_use;
typedef enum fl_step { FL_STEP_LIST(FL_WORD_ENUM) FL_STEP_COUNT } fl_step;
typedef enum fl_agent { FL_AGENT_LIST(FL_WORD_ENUM) FL_AGENT_COUNT } fl_agent;
typedef enum fl_prills { FL_PRILLS_LIST(FL_WORD_ENUM) FL_PRILLS_COUNT } fl_prills;
typedef enum fl_effort { FL_EFFORT_LIST(FL_WORD_ENUM) FL_EFFORT_COUNT } fl_effort;
typedef enum fl_device { FL_DEVICE_LIST(FL_WORD_ENUM) FL_DEVICE_COUNT } fl_device;
typedef enum fl_hands { FL_HANDS_LIST(FL_WORD_ENUM) FL_HANDS_COUNT } fl_hands;
typedef enum fl_animal_event { FL_ANIMAL_EVENT_LIST(FL_WORD_ENUM) FL_ANIMAL_COUNT } fl_animal_event;
typedef enum fl_link { FL_LINK_LIST(FL_WORD_ENUM) FL_LINK_COUNT } fl_link;
#undef FL_WORD_ENUM

/* One entry of a word list. */
typedef struct fl_word {
    const char *word;
    const char *text;
} fl_word;

/* The lists as data: entry i belongs to enum value i. */
extern const fl_word fl_words_source_kind[FL_SOURCE_COUNT];
extern const fl_word fl_words_form[FL_FORM_COUNT];
extern const fl_word fl_words_place_kind[FL_PLACE_COUNT];
extern const fl_word fl_words_use[FL_USE_COUNT];
extern const fl_word fl_words_step[FL_STEP_COUNT];
extern const fl_word fl_words_agent[FL_AGENT_COUNT];
extern const fl_word fl_words_prills[FL_PRILLS_COUNT];
extern const fl_word fl_words_effort[FL_EFFORT_COUNT];
extern const fl_word fl_words_device[FL_DEVICE_COUNT];
extern const fl_word fl_words_hands[FL_HANDS_COUNT];
extern const fl_word fl_words_animal_event[FL_ANIMAL_COUNT];
extern const fl_word fl_words_link[FL_LINK_COUNT];

/* Index of `word` in a list of `count`; -1 when it is not there. */
int fl_word_find(const fl_word *list, int count, fl_sv word);

/* The strictest of a mask of 1u << fl_use: the list is in that order. 0: plants only. */
fl_use fl_use_strictest(unsigned uses);

/* True for the forms that are material, not plants. */
bool fl_form_is_material(fl_form form);

#endif
