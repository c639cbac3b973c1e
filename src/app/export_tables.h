/* The tables of an export, one CSV file each. */
#ifndef FL_APP_EXPORT_TABLES_H
#define FL_APP_EXPORT_TABLES_H

#include "app/csv_out.h"
#include "app/room.h"

typedef struct fl_export_table {
    const char *name;    /* of the file, without ".csv" */
    const char *what;    /* one line for the README */
    const char *columns; /* "a,b,c" */
    void (*fill)(const fl_room *room, fl_csv_out *csv);
} fl_export_table;

extern const fl_export_table fl_export_tables[];
extern const size_t fl_export_table_count;

/* What stands at the head of README.txt. */
extern const char fl_export_readme[];

#endif
