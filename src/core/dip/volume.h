/* Volumes as a keeper measures them. Conversions only; no rounding. */
#ifndef FL_CORE_DIP_VOLUME_H
#define FL_CORE_DIP_VOLUME_H

/* US customary measures in millilitres, exact by definition: the US gallon is 231 cubic inches of
 * 25.4 mm (NIST Handbook 44, appendix C), the US fluid ounce its 128th part. */
#define FL_ML_PER_US_GAL 3785.411784
#define FL_ML_PER_US_FL_OZ 29.5735295625

/* Any finite value; exact to rounding. */
double fl_volume_us_gal_to_ml(double us_gal);
double fl_volume_ml_to_us_gal(double ml);
double fl_volume_us_fl_oz_to_ml(double us_fl_oz);
double fl_volume_ml_to_us_fl_oz(double ml);

#endif
