/* Build tool: turns files into one C header with a table of their bytes.
 *     embed_text SYMBOL OUT.h [FILE…]
 * OUT.h defines `static const struct { const char *name; const unsigned char *bytes; size_t len; }
 * SYMBOL[]` with the files' base names, in the order given, and SYMBOL_count. Every text is
 * followed by a zero byte that len does not count. Without files the table has one empty entry and
 * count 0. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

/* Writes one file as an array; 0 when it cannot be read. */
static int embed(FILE *out, const char *symbol, int index, const char *path)
{
    FILE *in = fopen(path, "rb");
    if (in == NULL) {
        fprintf(stderr, "embed_text: %s: %s\n", path, strerror(errno));
        return 0;
    }
    fprintf(out, "static const unsigned char %s_%d[] = { /* %s */", symbol, index, base_name(path));
    int c = getc(in);
    for (long count = 0; c != EOF; count++) {
        fprintf(out, "%s0x%02x,", count % 16 == 0 ? "\n    " : " ", c);
        c = getc(in);
    }
    fprintf(out, "\n    0x00};\n\n");
    int is_read = !ferror(in);
    fclose(in);
    return is_read;
}

static void write_table(FILE *out, const char *symbol, int count, char **paths)
{
    fprintf(out,
            "static const struct {\n    const char *name;\n    const unsigned char *bytes;\n"
            "    size_t len;\n} %s[] = {\n",
            symbol);
    for (int i = 0; i < count; i++) {
        fprintf(out, "    {\"%s\", %s_%d, sizeof %s_%d - 1},\n", base_name(paths[i]), symbol, i,
                symbol, i);
    }
    if (count == 0) {
        fprintf(out, "    {NULL, NULL, 0},\n");
    }
    fprintf(out, "};\n\nstatic const size_t %s_count = %d;\n", symbol, count);
}

static int write_header(FILE *out, const char *symbol, int count, char **paths)
{
    fprintf(out,
            "/* Made by tools/embed_text: do not edit. */\n#ifndef %s_H\n#define %s_H\n\n"
            "#include <stddef.h>\n\n",
            symbol, symbol);
    for (int i = 0; i < count; i++) {
        if (!embed(out, symbol, i, paths[i])) {
            return 0;
        }
    }
    write_table(out, symbol, count, paths);
    fprintf(out, "\n#endif\n");
    return 1;
}

int main(int argc, char **argv)
{
    if (argc < 3) {
        fprintf(stderr, "usage: embed_text SYMBOL OUT.h [FILE...]\n");
        return 2;
    }
    FILE *out = fopen(argv[2], "wb");
    if (out == NULL) {
        fprintf(stderr, "embed_text: %s: %s\n", argv[2], strerror(errno));
        return 3;
    }
    int is_whole = write_header(out, argv[1], argc - 3, argv + 3);
    is_whole = fclose(out) == 0 && is_whole;
    if (!is_whole) {
        remove(argv[2]);
    }
    return is_whole ? 0 : 3;
}
