/* The digests of the tables: what a release remembers about the knowledge it was judged by. */
#include <string.h>

#include "core/know/know.h"
#include "data/actives.h"
#include "data/agents.h"
#include "data/already_here.h"
#include "data/cautions.h"
#include "data/detectability.h"
#include "data/devices.h"
#include "data/efficacy.h"
#include "data/forms.h"
#include "data/hot_water.h"
#include "data/incompatible.h"
#include "data/links.h"
#include "data/lives.h"
#include "data/lookalikes.h"
#include "data/plants.h"
#include "data/room.h"
#include "data/source_kinds.h"
#include "data/sources.h"
#include "data/stages.h"
#include "data/steps.h"
#include "data/survival.h"
#include "data/threats.h"
#include "data/uses.h"
#include "data/visibility.h"

#define TABLE(name)                                                                                \
    {                                                                                              \
#name, fl_bytes_##name, sizeof fl_bytes_##name                                             \
    }

typedef struct table_bytes {
    const char *name;
    const unsigned char *bytes;
    size_t len;
} table_bytes;

static const table_bytes tables[] = {
    TABLE(actives),       TABLE(agents),       TABLE(already_here), TABLE(cautions),
    TABLE(detectability), TABLE(devices),      TABLE(efficacy),     TABLE(forms),
    TABLE(hot_water),     TABLE(incompatible), TABLE(links),        TABLE(lives),
    TABLE(lookalikes),    TABLE(plants),       TABLE(room),         TABLE(source_kinds),
    TABLE(sources),       TABLE(stages),       TABLE(steps),        TABLE(survival),
    TABLE(threats),       TABLE(uses),         TABLE(visibility),
};

/* The name is a link of its own, so that bytes cannot wander from one table to the next. */
static fl_hash link_table(fl_hash so_far, const table_bytes *table)
{
    fl_hash named = fl_hash_link(so_far, table->name, strlen(table->name));
    return fl_hash_link(named, table->bytes, table->len);
}

fl_hash fl_know_hash(void)
{
    fl_hash so_far = fl_hash_of("", 0);
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
        so_far = link_table(so_far, &tables[i]);
    }
    return so_far;
}

fl_hash fl_know_threats_hash(void)
{
    static const table_bytes pinned[] = {TABLE(stages), TABLE(threats)};
    fl_hash so_far = fl_hash_of("", 0);
    for (size_t i = 0; i < sizeof pinned / sizeof pinned[0]; i++) {
        so_far = link_table(so_far, &pinned[i]);
    }
    return so_far;
}
