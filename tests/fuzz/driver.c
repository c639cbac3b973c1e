/* The short, repeatable run of a fuzz program, for ./test: every file of the corpus, then a fixed
 * number of mutations of them by a seeded generator. No coverage guides it; scripts/fuzz does that.
 *
 *     fuzz_NAME ROUNDS FILE-OR-FOLDER…
 */
#define _GNU_SOURCE
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/rng.h"
#include "fuzz/fuzz.h"

#define FILES_MAX 2000
#define BYTES_MAX 131072
#define SEED 20261125

typedef struct sample {
    char *bytes; /* owned */
    size_t len;
} sample;

static sample samples[FILES_MAX];
static size_t n_samples;

static void load_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL || n_samples == FILES_MAX) {
        (void)fprintf(stderr, "fuzz: cannot take %s\n", path);
        exit(3);
    }
    char *bytes = malloc(BYTES_MAX);
    size_t len = bytes != NULL ? fread(bytes, 1, BYTES_MAX, file) : 0;
    samples[n_samples++] = (sample){bytes, len};
    (void)fclose(file);
}

/* Sorted by name, so that the run is the same on every machine. */
static void load(const char *path)
{
    struct stat info;
    struct dirent **names = NULL;
    if (stat(path, &info) == 0 && !S_ISDIR(info.st_mode)) {
        load_file(path);
        return;
    }
    int n = scandir(path, &names, NULL, alphasort);
    for (int i = 0; i < n; i++) {
        char below[1024];
        (void)snprintf(below, sizeof below, "%s/%s", path, names[i]->d_name);
        if (names[i]->d_name[0] != '.' && stat(below, &info) == 0 && S_ISREG(info.st_mode)) {
            load_file(below);
        }
        free(names[i]);
    }
    free(names);
}

/* One small change: a byte, a bit, a piece out, in, doubled, or taken from another sample. */
static size_t change(fl_rng *rng, char *text, size_t len)
{
    static const char *const pieces[] = {
        "\"",         "\\",       "{",   "}", "[", "]",    ",",     ";",  ":",
        "-",          "0",        "9",   "e", ".", "\n",   "\r\n",  "\t", " ",
        "\xff",       "\xc3\xa9", "%2f", "&", "=", "null", "1e308", "-0", "9223372036854775807",
        "2024-02-29", "\\u0000"};
    const size_t at = (size_t)fl_rng_below(rng, len + 1);
    const size_t piece = (size_t)fl_rng_below(rng, len - at + 1) % 64;
    switch (fl_rng_below(rng, 6)) {
    case 0:
        if (at < len) {
            text[at] = (char)fl_rng_below(rng, 256);
        }
        return len;
    case 1:
        if (at < len) {
            text[at] = (char)(text[at] ^ (char)(1u << fl_rng_below(rng, 8)));
        }
        return len;
    case 2: /* out */
        memmove(text + at, text + at + piece, len - at - piece);
        return len - piece;
    case 3: { /* in */
        const char *word = pieces[fl_rng_below(rng, sizeof pieces / sizeof pieces[0])];
        const size_t n = strlen(word);
        if (len + n <= BYTES_MAX) {
            memmove(text + at + n, text + at, len - at);
            memcpy(text + at, word, n);
            return len + n;
        }
        return len;
    }
    case 4: /* doubled */
        if (len + piece <= BYTES_MAX) {
            memmove(text + at + piece, text + at, len - at);
            return len + piece;
        }
        return len;
    default: { /* the rest from another sample */
        const sample *other = &samples[fl_rng_below(rng, n_samples)];
        const size_t from = (size_t)fl_rng_below(rng, other->len + 1);
        const size_t n = other->len - from;
        if (at + n <= BYTES_MAX) {
            memcpy(text + at, other->bytes + from, n);
            return at + n;
        }
        return len;
    }
    }
}

int main(int argc, char **argv)
{
    static char text[BYTES_MAX];
    fl_rng rng = {SEED};
    const long rounds = argc > 1 ? strtol(argv[1], NULL, 10) : 0;
    for (int i = 2; i < argc; i++) {
        load(argv[i]);
    }
    if (argc < 3 || n_samples == 0) {
        (void)fprintf(stderr, "usage: fuzz_NAME ROUNDS FILE-OR-FOLDER…\n");
        return 2;
    }
    for (size_t i = 0; i < n_samples; i++) {
        (void)LLVMFuzzerTestOneInput((const uint8_t *)samples[i].bytes, samples[i].len);
    }
    for (long i = 0; i < rounds; i++) {
        const sample *from = &samples[fl_rng_below(&rng, n_samples)];
        size_t len = from->len;
        memcpy(text, from->bytes, len);
        for (uint64_t n = 1 + fl_rng_below(&rng, 4); n > 0; n--) {
            len = change(&rng, text, len);
        }
        (void)LLVMFuzzerTestOneInput((const uint8_t *)text, len);
    }
    for (size_t i = 0; i < n_samples; i++) {
        free(samples[i].bytes);
    }
    (void)printf("%zu samples, %ld mutations\n", n_samples, rounds);
    return 0;
}
