/* A photo as it may be kept: a whole JPEG (ISO/IEC 10918-1, ITU-T T.81) without anything but the
 * picture. A phone writes where and when it was taken into application segments (Exif, XMP, IPTC);
 * all of them go, also previews and comments, and whatever follows the picture's end. The picture
 * itself is not decoded. */
#ifndef FL_CORE_PICTURE_JPEG_H
#define FL_CORE_PICTURE_JPEG_H

#include <stdint.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_JPEG_SIDE_PX_MAX 16384
/* How much longer than its input an output may be at most. */
#define FL_JPEG_BYTES_MORE 36

typedef struct fl_jpeg {
    size_t bytes; /* of what was written to out */
    int width_px;
    int height_px;
    int n_dropped;   /* segments left out */
    int orientation; /* Exif 2.32 table 6: 1 as it is, 2 to 8 turned or mirrored */
} fl_jpeg;

/* Copies the picture without what tells more than it shows.
 *   bytes  the file as it came
 *   out    at least bytes.len + FL_JPEG_BYTES_MORE long; written also on failure
 * Kept: frame, tables, scans, a JFIF header without preview (APP0), the colour transform of 14
 * bytes (APP14), and which way up it was held, as an Exif segment with nothing else. A second run
 * over the result changes nothing.
 * FL_EFORMAT, naming the byte: no JPEG, cut off, a length that does not fit, no frame, no scan;
 * a side that is 0 or longer than FL_JPEG_SIDE_PX_MAX. */
fl_status fl_jpeg_strip(fl_sv bytes, unsigned char *out, fl_jpeg *jpeg, fl_err *err) FL_MUST_USE;

#endif
