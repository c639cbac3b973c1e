/* The JSON of a spreadsheet that was read. */
#ifndef FL_VIEW_SHEET_IN_H
#define FL_VIEW_SHEET_IN_H

#include "app/sheet_in.h"
#include "view/view.h"

/* {"is_recorded","batch","encoding","delimiter","dates","columns","rows","troubles"}. batch: empty
 * when nothing was recorded. Only room, arena and w of the view are used. */
void fl_view_sheet_in(const fl_view *v, const char *key, const fl_sheet_in *sheet, bool is_recorded,
                      fl_sv batch);

#endif
