/* reckon dip: a bath in anything but plain water: what to measure, what it was seen to do at that
 * strength and time, which plants it harms, and what it may never be mixed with. Bleach by parts
 * and by the bottle's age is reckon bleach. */
#include <math.h>

#include "cli/reckon.h"
#include "view/dip.h"

enum {
    AGENT,
    TARGET,
    TOTAL,
    LABEL,
    STOCK,
    HOT,
    COLD,
    MINUTES,
    BY_VOLUME,
    PLANT,
    FORM,
    WITH,
    ANIMALS,
    OPTION_COUNT
};

static const fl_arg options[OPTION_COUNT] = {
    [AGENT] = {"agent", FL_ARG_TEXT, .is_required = true,
               .choices = "none|bleach|permanganate|peroxide|soap|hot_water",
               .help = "what is in it"},
    [TARGET] = {"target", FL_ARG_NUMBER,
                .help = "its strength: mg/L of available chlorine, permanganate or peroxide; % of "
                        "soap; C of hot water"},
    [TOTAL] = {"total-ml", FL_ARG_NUMBER, .help = "volume of the bath, ml: tells what to measure"},
    [LABEL] = {"label-pct", FL_ARG_NUMBER, .help = "of peroxide or soap: % on the label"},
    [STOCK] = {"stock-g-per-l", FL_ARG_NUMBER, .help = "of permanganate: a stock solution"},
    [HOT] = {"hot-c", FL_ARG_NUMBER, .help = "of hot water: the hot water, C"},
    [COLD] = {"cold-c", FL_ARG_NUMBER, .help = "and the cold, C"},
    [MINUTES] = {"minutes", FL_ARG_NUMBER, .min = 0.001, .max = 10000, .help = "how long"},
    [BY_VOLUME] = {"pct-by-volume", FL_ARG_NUMBER, .min = 0.001, .max = 100,
                   .help = "of bleach: product in the bath, % by volume"},
    [PLANT] = {"plant", FL_ARG_TEXT, .help = "botanical or common name: what it stands"},
    [FORM] = {"form", FL_ARG_TEXT, .help = "potted, plug, bare_root …; else bare_root"},
    [WITH] = {"with", FL_ARG_TEXT,
              .help =
                  "what else would be in the bath: an agent, acid, ammonia, alcohol, formalin …"},
    [ANIMALS] = {"animals-in", FL_ARG_FLAG, .help = "animals are in what is to be treated"},
};

static double or_untold(const fl_arg_value *value)
{
    return value->is_given ? value->number : (double)NAN;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    static const fl_agent agents[] = {FL_AGENT_NONE,     FL_AGENT_BLEACH, FL_AGENT_PERMANGANATE,
                                      FL_AGENT_PEROXIDE, FL_AGENT_SOAP,   FL_AGENT_HOT_WATER};
    const fl_dip_asked asked = {.agent = agents[value[AGENT].choice],
                                .target = or_untold(&value[TARGET]),
                                .total_ml = or_untold(&value[TOTAL]),
                                .label_pct = or_untold(&value[LABEL]),
                                .stock_g_per_l = or_untold(&value[STOCK]),
                                .hot_c = or_untold(&value[HOT]),
                                .cold_c = or_untold(&value[COLD]),
                                .minutes = or_untold(&value[MINUTES]),
                                .pct_by_volume = or_untold(&value[BY_VOLUME]),
                                .plant = value[PLANT].text,
                                .form = value[FORM].text,
                                .with = value[WITH].text,
                                .has_animals_in = value[ANIMALS].is_given};
    return fl_view_dip(&asked, w, err);
}

extern const fl_reckon_topic fl_reckon_topic_dip;
const fl_reckon_topic fl_reckon_topic_dip = {
    .name = "dip",
    .summary = "a bath in permanganate, peroxide, soap, hot or plain water: what to measure, what "
               "it was seen to do",
    .example = "dip --agent peroxide --label-pct 3 --target 900 --total-ml 2000 --minutes 3",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
