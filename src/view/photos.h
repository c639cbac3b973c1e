/* Photos as an answer: which there are, of what, from when. The bytes come by themselves. */
#ifndef FL_VIEW_PHOTOS_H
#define FL_VIEW_PHOTOS_H

#include "app/photos.h"
#include "view/view.h"

/* {"photos":[{"event_id","sha256","caption","alt_text","at","on","subject_id","subject_kind",
 * "lot","place"}],"to_name":[…]}: those of a subject (none: of the whole room, with the lots
 * whose plants are still to be named), the newest first. chances may be NULL. */
void fl_view_photos(const fl_view *v, const char *key, fl_id subject);

/* What was kept: {"sha256","bytes","width_px","height_px","segments_dropped"}. */
void fl_view_photo_kept(fl_json_writer *w, const char *key, const fl_photo_kept *kept);

#endif
