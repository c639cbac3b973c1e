/* How much a pot holds. */
#ifndef FL_CORE_MIX_POT_H
#define FL_CORE_MIX_POT_H

#include "base/err.h"

/* The volume to the brim of a round pot, a frustum of a cone: V = pi h / 12 (D^2 + D d + d^2).
 * top_mm, bottom_mm: inside diameters; height_mm: inside height; each > 0 and <= 10000.
 * *volume_ml is written on success. FL_EDOMAIN names the value that is outside.
 * Elementary geometry (light-climate-substrate, 3.4); trade pots of published size and content
 * agree within 2 %. A pot is filled to about 90 % of it. */
fl_status fl_pot_volume(double top_mm, double bottom_mm, double height_mm, double *volume_ml,
                        fl_err *err) FL_MUST_USE;

/* The same for a square pot, a frustum of a pyramid: V = h / 3 (A + a + sqrt(A a)) with A and a the
 * areas of top and bottom. top_mm, bottom_mm: inside lengths of the sides. */
fl_status fl_pot_square_volume(double top_mm, double bottom_mm, double height_mm, double *volume_ml,
                               fl_err *err) FL_MUST_USE;

/* How full a pot is filled: the share of its volume to the brim (common practice, no source). */
#define FL_POT_FILL_SHARE 0.9

#endif
