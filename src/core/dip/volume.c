/* US customary volumes to millilitres and back. */
#include "core/dip/volume.h"

double fl_volume_us_gal_to_ml(double us_gal)
{
    return us_gal * FL_ML_PER_US_GAL;
}

double fl_volume_ml_to_us_gal(double ml)
{
    return ml / FL_ML_PER_US_GAL;
}

double fl_volume_us_fl_oz_to_ml(double us_fl_oz)
{
    return us_fl_oz * FL_ML_PER_US_FL_OZ;
}

double fl_volume_ml_to_us_fl_oz(double ml)
{
    return ml / FL_ML_PER_US_FL_OZ;
}
