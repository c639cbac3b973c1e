/* The table of the API. Every route has its entry in api/openapi.yaml; the guard asks for a session
 * on all of them but signing in. */
#include "http/api.h"

static const fl_route routes[] = {
    {"POST", "/api/v1/session", FL_TIER_NONE, FL_LANE_READ, fl_api_session_open},
    {"GET", "/api/v1/session", FL_TIER_DEVICE, FL_LANE_READ, fl_api_session_show},
    {"DELETE", "/api/v1/session", FL_TIER_DEVICE, FL_LANE_READ, fl_api_session_end},
};

fl_routes fl_routes_of_api(void)
{
    return (fl_routes){routes, sizeof routes / sizeof routes[0]};
}
