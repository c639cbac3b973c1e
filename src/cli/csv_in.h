/* The reader of CSV files is app/csv_in.h; commands name it so. */
#ifndef FL_CLI_CSV_IN_H
#define FL_CLI_CSV_IN_H

#include "app/csv_in.h"

#endif
