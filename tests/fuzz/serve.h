/* A request through the whole server but for sockets: head, guard, route, handler, reply. */
#ifndef FL_TESTS_FUZZ_SERVE_H
#define FL_TESTS_FUZZ_SERVE_H

#include "base/sv.h"

/* Answers one request on the fuzz room and checks the reply; afterwards, when something was
 * recorded, the room is as it was made. A request that the guard refuses is not answered. */
void fl_fuzz_serve(fl_sv head, fl_sv body);

#endif
