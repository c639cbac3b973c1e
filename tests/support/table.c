/* Reads reference tables. Small files, read whole; a fault in the file fails the test. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

static char *read_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        print_error("%s: %s\n", path, strerror(errno));
        fail();
    }
    size_t len = 0;
    size_t cap = 4096;
    char *text = malloc(cap);
    for (;;) {
        len += fread(text + len, 1, cap - len - 1, file);
        if (len + 1 < cap) {
            break;
        }
        cap *= 2;
        text = realloc(text, cap);
    }
    text[len] = '\0';
    (void)fclose(file);
    return text;
}

/* Takes one field at *at, unquoted in place; *end says what ended it: ',', '\n' or 0. */
static char *take_field(char **at, char *end)
{
    char *read = *at;
    char *write = *at;
    char *field = *at;
    bool is_quoted = false;
    for (; *read != '\0'; read++) {
        if (*read == '"') {
            if (is_quoted && read[1] == '"') {
                *write++ = *read++;
                continue;
            }
            is_quoted = !is_quoted;
        } else if (!is_quoted && (*read == ',' || *read == '\n')) {
            break;
        } else if (*read != '\r') {
            *write++ = *read;
        }
    }
    *end = *read;
    *at = *read == '\0' ? read : read + 1;
    *write = '\0';
    return field;
}

/* Skips lines of comment and empty ones. */
static char *skip_notes(char *at)
{
    while (*at == '#' || *at == '\n' || *at == '\r') {
        char *end = strchr(at, '\n');
        at = end == NULL ? at + strlen(at) : end + 1;
    }
    return at;
}

/* Takes the fields of one line; returns how many. */
static size_t take_line(char **at, char ***fields, size_t *count)
{
    size_t first = *count;
    char end = ',';
    while (end == ',') {
        *fields = realloc(*fields, (*count + 1) * sizeof **fields);
        (*fields)[(*count)++] = take_field(at, &end);
    }
    return *count - first;
}

fl_table fl_table_read(const char *name)
{
    char path[1024];
    (void)snprintf(path, sizeof path, "%s/%s", FL_TEST_DATA_DIR, name);
    fl_table table = {.text = read_file(path)};
    size_t count = 0;
    char *at = skip_notes(table.text);
    (void)take_line(&at, &table.column, &table.n_columns);
    for (at = skip_notes(at); *at != '\0'; at = skip_notes(at)) {
        size_t fields = take_line(&at, &table.field, &count);
        table.n_rows++;
        if (fields != table.n_columns) {
            print_error("%s: data row %zu has %zu fields, the header %zu\n", name, table.n_rows,
                        fields, table.n_columns);
            fail();
        }
    }
    if (table.n_rows == 0) {
        print_error("%s: no rows\n", name);
        fail();
    }
    return table;
}

void fl_table_free(fl_table *table)
{
    free(table->text);
    free(table->field);
    free(table->column);
    *table = (fl_table){0};
}

const char *fl_table_text(const fl_table *table, size_t row, const char *column)
{
    for (size_t i = 0; i < table->n_columns && row < table->n_rows; i++) {
        if (strcmp(table->column[i], column) == 0) {
            return table->field[row * table->n_columns + i];
        }
    }
    print_error("no column \"%s\" or no row %zu\n", column, row);
    fail();
    return NULL;
}

double fl_table_number(const fl_table *table, size_t row, const char *column)
{
    const char *text = fl_table_text(table, row, column);
    char *end = NULL;
    if (text[0] == '\0') {
        return NAN;
    }
    double value = strtod(text, &end);
    if (end == text || *end != '\0') {
        print_error("row %zu, column \"%s\": \"%s\" is no number\n", row, column, text);
        fail();
    }
    return value;
}
