/* Answers to the questions of core/ident, as they are typed or sent. */
#ifndef FL_APP_IDENTIFY_H
#define FL_APP_IDENTIFY_H

#include "core/ident/ident.h"

/* "where=mix_surface" (between '=') or "where:mix_surface"; "cannot_tell" is an answer to each.
 * FL_EINVAL naming what would do. */
fl_status fl_identify_parse(fl_sv text, char between, fl_sign_answer *out, fl_err *err) FL_MUST_USE;

#endif
