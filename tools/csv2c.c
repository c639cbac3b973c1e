/* Turns a table of data/ into a C header, at build time: csv2c IN.csv OUT.h
 *
 * The table begins with lines "# key: text"; source, licence, units, date and types are required.
 * types is one letter a column: s text, w word (a lower-case C identifier), d number (blank:
 * NaN), i whole number (blank: FL_ROW_INT_BLANK). Two more are optional: "key: COLUMN" (each value
 * of that word column occurs once) and "group: COLUMN" (rows of one value stand together). Then a
 * line of column names, then rows, quoted as RFC 4180 says.
 *
 * The header holds, for data/NAME.csv: struct fl_row_NAME and fl_rows_NAME[], its count, and
 * fl_bytes_NAME[] (the file as it is, so that its digest can be taken); for a table with a key or
 * a group also an X-macro fl_list_NAME(X) or fl_group_NAME_VALUE(X), one X(...) a row with words
 * bare and texts quoted, from which static tables of other shapes are made.
 *
 * A bad row ends the program with status 1 and one line: file, line and what is wrong. */
#include <ctype.h>
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COLUMNS_MAX 40
#define ROWS_MAX 5000
#define FILE_BYTES_MAX (4 * 1024 * 1024)

typedef struct table {
    const char *path; /* as given, for messages */
    char name[64];    /* the file's name without folder and ending */
    char *bytes;      /* the file, terminated */
    size_t n_bytes;
    char *text; /* a second copy, cut into fields */
    char types[COLUMNS_MAX];
    char key[64], group[64]; /* column names, empty when not given */
    int n_types, n_columns, n_rows;
    char *column[COLUMNS_MAX];
    char **field; /* n_rows * n_columns */
    int *line;    /* of each row */
} table;

static const char *const required[] = {"source", "licence", "units", "date", "types"};
#define N_REQUIRED (sizeof required / sizeof required[0])

__attribute__((noreturn, format(printf, 3, 4))) static void fail(const table *t, int line,
                                                                 const char *format, ...)
{
    va_list args;
    fprintf(stderr, "%s:%d: ", t->path, line);
    va_start(args, format);
    vfprintf(stderr, format, args);
    va_end(args);
    fputc('\n', stderr);
    exit(1);
}

static void *need(void *memory)
{
    if (!memory) {
        fputs("csv2c: out of memory\n", stderr);
        exit(1);
    }
    return memory;
}

static bool is_word(const char *text)
{
    if (!islower((unsigned char)text[0])) {
        return false;
    }
    for (const char *c = text; *c; c++) {
        if (!islower((unsigned char)*c) && !isdigit((unsigned char)*c) && *c != '_') {
            return false;
        }
    }
    return true;
}

static void set_name(table *t)
{
    const char *slash = strrchr(t->path, '/');
    const char *base = slash ? slash + 1 : t->path;
    const char *dot = strrchr(base, '.');
    size_t len = dot ? (size_t)(dot - base) : strlen(base);
    if (len == 0 || len >= sizeof t->name) {
        fail(t, 0, "the file's name must have 1 to %zu letters", sizeof t->name - 1);
    }
    memcpy(t->name, base, len);
    t->name[len] = '\0';
    if (!is_word(t->name)) {
        fail(t, 0, "file name \"%s\": lower-case letters, digits and '_' only", t->name);
    }
}

static void read_file(table *t)
{
    FILE *in = fopen(t->path, "rb");
    if (!in) {
        fail(t, 0, "cannot be opened: %s", strerror(errno));
    }
    t->bytes = need(malloc(FILE_BYTES_MAX + 1));
    t->n_bytes = fread(t->bytes, 1, FILE_BYTES_MAX + 1, in);
    if (ferror(in)) {
        fail(t, 0, "cannot be read");
    }
    fclose(in);
    if (t->n_bytes > FILE_BYTES_MAX) {
        fail(t, 0, "longer than %d bytes", FILE_BYTES_MAX);
    }
    if (memchr(t->bytes, '\0', t->n_bytes)) {
        fail(t, 0, "holds a zero byte");
    }
    t->bytes[t->n_bytes] = '\0';
    t->text = need(malloc(t->n_bytes + 1));
    memcpy(t->text, t->bytes, t->n_bytes + 1);
}

/* "s,w, d" into t->types. */
static void set_types(table *t, int line, const char *text)
{
    for (const char *c = text; *c; c++) {
        if (*c == ',' || *c == ' ') {
            continue;
        }
        if (!strchr("swdi", *c)) {
            fail(t, line, "type '%c': give s, w, d or i", *c);
        }
        if (t->n_types == COLUMNS_MAX) {
            fail(t, line, "more than %d columns", COLUMNS_MAX);
        }
        t->types[t->n_types++] = *c;
    }
}

/* Reads the lines that start with '#'; returns where the next line starts. */
static char *read_header(table *t, int *line)
{
    bool seen[N_REQUIRED] = {false};
    char *at = t->text;
    for (; *at == '#'; ++*line) {
        char *end = at + strcspn(at, "\r\n");
        char *next = end + (*end == '\r') + (end[*end == '\r'] == '\n');
        *end = '\0';
        char *key = at + 1 + strspn(at + 1, " ");
        char *value = strchr(key, ':');
        if (value) {
            *value++ = '\0';
            value += strspn(value, " ");
            for (size_t i = 0; i < N_REQUIRED; i++) {
                seen[i] = seen[i] || (strcmp(key, required[i]) == 0 && *value);
            }
            if (strcmp(key, "types") == 0) {
                set_types(t, *line, value);
            } else if (strcmp(key, "key") == 0) {
                snprintf(t->key, sizeof t->key, "%s", value);
            } else if (strcmp(key, "group") == 0) {
                snprintf(t->group, sizeof t->group, "%s", value);
            }
        }
        at = next;
    }
    for (size_t i = 0; i < N_REQUIRED; i++) {
        if (!seen[i]) {
            fail(t, *line, "the header has no line \"# %s: …\"", required[i]);
        }
    }
    return at;
}

/* Cuts one field out at *at (in place: quotes go). Sets *is_last when the row ends with it. */
static char *read_field(table *t, char **at, int *line, bool *is_last)
{
    char *start = *at, *out = *at, *in = *at;
    int first_line = *line;
    if (*in == '"') {
        for (in++; *in != '"' || in[1] == '"'; in++) {
            if (!*in) {
                fail(t, first_line, "a quoted field is not closed");
            }
            *line += *in == '\n';
            in += *in == '"';
            *out++ = *in;
        }
        in++;
        if (*in && !strchr(",\r\n", *in)) {
            fail(t, *line, "'%c' after a closing quote: give a comma or the line's end", *in);
        }
    } else {
        for (; *in && !strchr(",\r\n", *in); in++) {
            if (*in == '"') {
                fail(t, *line, "a quote inside an unquoted field");
            }
            *out++ = *in;
        }
    }
    *is_last = *in != ',';
    if (*in == '\r' && in[1] == '\n') {
        in++;
    }
    *line += *is_last;
    *at = *in ? in + 1 : in;
    *out = '\0';
    return start;
}

static int column_index(const table *t, const char *name)
{
    for (int i = 0; i < t->n_columns; i++) {
        if (strcmp(t->column[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

static void read_columns(table *t, char **at, int *line)
{
    int first_line = *line;
    for (bool is_last = false; !is_last;) {
        char *name = read_field(t, at, line, &is_last);
        if (!is_word(name)) {
            fail(t, first_line, "column \"%s\": lower-case letters, digits and '_' only", name);
        }
        if (column_index(t, name) >= 0) {
            fail(t, first_line, "column \"%s\" occurs twice", name);
        }
        if (t->n_columns == COLUMNS_MAX) {
            fail(t, first_line, "more than %d columns", COLUMNS_MAX);
        }
        t->column[t->n_columns++] = name;
    }
    if (t->n_columns != t->n_types) {
        fail(t, first_line, "%d columns, but %d types", t->n_columns, t->n_types);
    }
    const char *const special[] = {t->key, t->group};
    for (int i = 0; i < 2; i++) {
        int column = special[i][0] ? column_index(t, special[i]) : -2;
        if (column == -1 || (column >= 0 && t->types[column] != 'w')) {
            fail(t, first_line, "key or group \"%s\": give a column of type w", special[i]);
        }
    }
}

static void check_field(const table *t, int line, int column, const char *text)
{
    const char *name = t->column[column];
    char *end;
    errno = 0;
    switch (t->types[column]) {
    case 'w':
        if (!is_word(text)) {
            fail(t, line, "%s \"%s\": lower-case letters, digits and '_' only", name, text);
        }
        break;
    case 'd':
        /* A letter other than an exponent would let "nan", "inf" and "0x1" through. */
        if (*text && (strspn(text, "+-.0123456789eE") != strlen(text) ||
                      !isfinite(strtod(text, &end)) || end == text || *end)) {
            fail(t, line, "%s \"%s\": give a number or nothing", name, text);
        }
        break;
    case 'i':
        if (*text) {
            long value = strtol(text, &end, 10);
            if (errno || isspace((unsigned char)*text) || *end || value <= INT_MIN ||
                value > INT_MAX) {
                fail(t, line, "%s \"%s\": give a whole number or nothing", name, text);
            }
        }
        break;
    default:
        break;
    }
}

static void read_rows(table *t, char *at, int line)
{
    t->field = need(calloc(ROWS_MAX * (size_t)t->n_columns, sizeof *t->field));
    t->line = need(calloc(ROWS_MAX, sizeof *t->line));
    while (*at) {
        int row_line = line, n = 0;
        if (t->n_rows == ROWS_MAX) {
            fail(t, line, "more than %d rows", ROWS_MAX);
        }
        char **row = t->field + (size_t)t->n_rows * (size_t)t->n_columns;
        for (bool is_last = false; !is_last; n++) {
            char *text = read_field(t, &at, &line, &is_last);
            if (n >= t->n_columns) {
                fail(t, row_line, "more than %d fields", t->n_columns);
            }
            check_field(t, row_line, n, text);
            row[n] = text;
        }
        if (n < t->n_columns) {
            fail(t, row_line, "%d fields, %d wanted", n, t->n_columns);
        }
        t->line[t->n_rows++] = row_line;
    }
    if (t->n_rows == 0) {
        fail(t, line, "no rows");
    }
}

static const char *at(const table *t, int row, int column)
{
    return t->field[(size_t)row * (size_t)t->n_columns + (size_t)column];
}

/* A key's values differ; a group's rows stand together. */
static void check_key_and_group(const table *t)
{
    int key = t->key[0] ? column_index(t, t->key) : -1;
    int group = t->group[0] ? column_index(t, t->group) : -1;
    for (int row = 1; row < t->n_rows; row++) {
        for (int other = 0; other < row; other++) {
            if (key >= 0 && strcmp(at(t, row, key), at(t, other, key)) == 0) {
                fail(t, t->line[row], "%s \"%s\" occurs twice", t->key, at(t, row, key));
            }
            if (group >= 0 && strcmp(at(t, row, group), at(t, other, group)) == 0 &&
                strcmp(at(t, row, group), at(t, row - 1, group)) != 0) {
                fail(t, t->line[row], "%s \"%s\": its rows do not stand together", t->group,
                     at(t, row, group));
            }
        }
    }
}

static void put_text(FILE *out, const char *text)
{
    fputc('"', out);
    for (const unsigned char *c = (const unsigned char *)text; *c; c++) {
        if (*c < 32 || *c > 126 || *c == '"' || *c == '\\' || *c == '?') {
            fprintf(out, "\\%03o", *c); /* three octal digits end by themselves */
        } else {
            fputc(*c, out);
        }
    }
    fputc('"', out);
}

static void put_value(FILE *out, const table *t, int row, int column, bool is_word_bare)
{
    const char *text = at(t, row, column);
    char number[40];
    switch (t->types[column]) {
    case 'd':
        if (!*text) {
            fputs("(double)NAN", out);
            break;
        }
        snprintf(number, sizeof number, "%.17g", strtod(text, NULL));
        fprintf(out, "%s%s", number, strpbrk(number, ".e") ? "" : ".0");
        break;
    case 'i':
        if (*text) {
            fprintf(out, "%ld", strtol(text, NULL, 10));
        } else {
            fputs("FL_ROW_INT_BLANK", out);
        }
        break;
    case 'w':
        if (is_word_bare) {
            fputs(text, out);
            break;
        }
        put_text(out, text);
        break;
    default:
        put_text(out, text);
        break;
    }
}

static void put_row(FILE *out, const table *t, int row, bool is_word_bare)
{
    for (int column = 0; column < t->n_columns; column++) {
        fputs(column ? ", " : "", out);
        put_value(out, t, row, column, is_word_bare);
    }
}

static void write_rows(FILE *out, const table *t)
{
    fprintf(out, "struct fl_row_%s {\n", t->name);
    for (int i = 0; i < t->n_columns; i++) {
        const char *type = t->types[i] == 'd'   ? "double "
                           : t->types[i] == 'i' ? "int "
                                                : "const char *";
        fprintf(out, "    %s%s;\n", type, t->column[i]);
    }
    fprintf(out, "};\n\n#define fl_rows_%s_count %d\n", t->name, t->n_rows);
    fprintf(out, "static const struct fl_row_%s fl_rows_%s[fl_rows_%s_count] = {\n", t->name,
            t->name, t->name);
    for (int row = 0; row < t->n_rows; row++) {
        fputs("    {", out);
        put_row(out, t, row, false);
        fputs("},\n", out);
    }
    fputs("};\n\n", out);
}

static void write_bytes(FILE *out, const table *t)
{
    fprintf(out, "static const unsigned char fl_bytes_%s[%zu] = {", t->name, t->n_bytes);
    for (size_t i = 0; i < t->n_bytes; i++) {
        fprintf(out, "%s%u,", i % 24 == 0 ? "\n    " : "", (unsigned char)t->bytes[i]);
    }
    fputs("\n};\n", out);
}

static void write_lists(FILE *out, const table *t)
{
    if (t->key[0]) {
        fprintf(out, "#define fl_list_%s(X)", t->name);
        for (int row = 0; row < t->n_rows; row++) {
            fputs(" \\\n    X(", out);
            put_row(out, t, row, true);
            fputc(')', out);
        }
        fputs("\n\n", out);
    }
    int group = t->group[0] ? column_index(t, t->group) : -1;
    for (int row = 0; group >= 0 && row < t->n_rows; row++) {
        if (row == 0 || strcmp(at(t, row, group), at(t, row - 1, group)) != 0) {
            fprintf(out, "%s#define fl_group_%s_%s(X)", row ? "\n" : "", t->name,
                    at(t, row, group));
        }
        fputs(" \\\n    X(", out);
        put_row(out, t, row, true);
        fputs(row == t->n_rows - 1 ? ")\n\n" : ")", out);
    }
}

static void write_header(const table *t, const char *path)
{
    FILE *out = fopen(path, "w");
    if (!out) {
        fprintf(stderr, "%s: cannot be written: %s\n", path, strerror(errno));
        exit(1);
    }
    fprintf(out, "/* Made by csv2c from data/%s.csv: do not edit. */\n", t->name);
    fprintf(out, "#ifndef FL_DATA_%s\n#define FL_DATA_%s\n\n", t->name, t->name);
    fputs("#include <math.h>\n\n", out);
    fputs("#ifndef FL_ROW_INT_BLANK\n#define FL_ROW_INT_BLANK (-2147483647 - 1)\n#endif\n\n", out);
    write_rows(out, t);
    write_lists(out, t);
    write_bytes(out, t);
    fputs("\n#endif\n", out);
    if (fclose(out) != 0) {
        fprintf(stderr, "%s: cannot be written: %s\n", path, strerror(errno));
        remove(path);
        exit(1);
    }
}

int main(int argc, char **argv)
{
    static table t;
    if (argc != 3) {
        fputs("usage: csv2c IN.csv OUT.h\n", stderr);
        return 2;
    }
    t.path = argv[1];
    set_name(&t);
    read_file(&t);
    int line = 1;
    char *rest = read_header(&t, &line);
    read_columns(&t, &rest, &line);
    read_rows(&t, rest, line);
    check_key_and_group(&t);
    write_header(&t, argv[2]);
    free(t.field);
    free(t.line);
    free(t.text);
    free(t.bytes);
    return 0;
}
