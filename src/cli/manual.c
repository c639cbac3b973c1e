/* From the help's own words. */
#define _GNU_SOURCE
#include "cli/manual.h"

#include <stdlib.h>
#include <string.h>

#define FORMS_MAX 40
#define OPTIONS_MAX 120

/* ---- what the help tells ---- */

/* What a command's help prints, in the arena. */
static fl_sv help_of(const fl_command *command, fl_arena *arena)
{
    char *text = NULL;
    size_t len = 0;
    char name[] = "";
    char *argv[] = {name, NULL};
    FILE *out = command->help != NULL ? open_memstream(&text, &len) : NULL;
    if (out == NULL) {
        return FL_SV("");
    }
    fl_sv word = fl_arena_copy_sv(arena, fl_sv_from_cstr(command->name));
    char *own = FL_ARENA_ARRAY(arena, char, word.len + 1);
    memcpy(own, word.ptr, word.len);
    argv[0] = own;
    command->help(1, argv, out);
    (void)fclose(out);
    fl_sv kept = fl_arena_copy_sv(arena, (fl_sv){text, len});
    free(text); /* open_memstream's own */
    return kept;
}

static bool is_word_char(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
}

/* The word at the beginning of a text: lower-case letters, digits, hyphens up to a space. */
static fl_sv word_at(fl_sv text)
{
    size_t len = 0;
    while (len < text.len && is_word_char(text.ptr[len])) {
        len++;
    }
    bool is_whole = len > 0 && (len == text.len || text.ptr[len] == ' ');
    return is_whole ? (fl_sv){text.ptr, len} : (fl_sv){NULL, 0};
}

static void add_once(fl_sv *list, size_t *n, size_t max, fl_sv word)
{
    for (size_t i = 0; i < *n; i++) {
        if (fl_sv_eq(list[i], word)) {
            return;
        }
    }
    if (*n < max && word.len > 0) {
        list[(*n)++] = word;
    }
}

static bool begins(fl_sv line, const char *with)
{
    size_t len = strlen(with);
    return line.len >= len && memcmp(line.ptr, with, len) == 0;
}

static fl_sv after(fl_sv line, size_t n)
{
    return line.len > n ? (fl_sv){line.ptr + n, line.len - n} : (fl_sv){NULL, 0};
}

fl_manual_words fl_manual_words_of(const fl_command *command, fl_arena *arena)
{
    fl_sv text = help_of(command, arena);
    size_t name_len = strlen(command->name);
    fl_manual_words words = {.forms = FL_ARENA_ARRAY(arena, fl_sv, FORMS_MAX),
                             .options = FL_ARENA_ARRAY(arena, fl_sv, OPTIONS_MAX)};
    while (text.len > 0) {
        fl_sv line = fl_sv_split(&text, '\n');
        if (begins(line, "  --")) { /* an option */
            fl_sv rest = after(line, 2);
            fl_sv option = fl_sv_split(&rest, ' ');
            add_once(words.options, &words.n_options, OPTIONS_MAX, option);
        } else if (begins(line, command->name) && line.len > name_len &&
                   line.ptr[name_len] == ' ') { /* a form: "print labels …" */
            add_once(words.forms, &words.n_forms, FORMS_MAX, word_at(after(line, name_len + 1)));
        } else if (begins(line, "  ") && line.len > 2 && line.ptr[2] != ' ') { /* a topic */
            add_once(words.forms, &words.n_forms, FORMS_MAX, word_at(after(line, 2)));
        }
    }
    return words;
}

/* ---- the page ---- */

/* Text for troff: a backslash and a hyphen mean something there, and so does a point or a quote at
 * the beginning of a line. */
static void put_troff(FILE *out, fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        bool is_first = i == 0 || text.ptr[i - 1] == '\n';
        if (is_first && (c == '.' || c == '\'')) {
            (void)fputs("\\&", out);
        }
        if (c == '\\') {
            (void)fputs("\\e", out);
        } else if (c == '-') {
            (void)fputs("\\-", out);
        } else {
            (void)fputc(c, out);
        }
    }
}

static void put_command(FILE *out, const fl_command *command, fl_arena *arena)
{
    fl_sv help = help_of(command, arena);
    (void)fprintf(out, ".SS %s\n", command->name);
    put_troff(out, fl_sv_from_cstr(command->summary));
    (void)fputs("\n.PP\n.nf\n", out);
    (void)fputs("fernlock ", out);
    put_troff(out, fl_sv_from_cstr(command->name));
    (void)fputc(' ', out);
    put_troff(out, fl_sv_from_cstr(command->usage));
    (void)fputs("\n\n", out);
    put_troff(out, help);
    (void)fputs("\n.fi\n.PP\nExample:\n.PP\n.nf\n    ", out);
    put_troff(out, fl_sv_from_cstr(command->example));
    (void)fputs("\n.fi\n", out);
}

void fl_manual_page(const char *version, fl_arena *arena, FILE *out)
{
    (void)fprintf(out, ".TH FERNLOCK 1 \"\" \"fernlock %s\" \"User commands\"\n", version);
    (void)fputs(
        ".SH NAME\nfernlock \\- the airlock between the plant shop and the planted enclosure\n"
        ".SH SYNOPSIS\n.B fernlock\n[\\-\\-room DIR] COMMAND [\\-\\-json]\n"
        ".SH DESCRIPTION\nA keeper buys plants anywhere, cleans them, keeps them in closed "
        "bins, looks at them, and releases them into planted enclosures. fernlock keeps the "
        "record, says how likely it is that a pest is still there, and when a plant may "
        "go.\n"
        ".SH OPTIONS\n.TP\n.B \\-\\-room DIR\nthe data folder; else $FERNLOCK_ROOM, else "
        "room in this folder\n.TP\n.B \\-\\-json\nanswer as JSON\n.TP\n.B \\-\\-version\nthe "
        "version\n.TP\n.B \\-\\-help\nthe commands, or a command's own help\n"
        ".SH EXIT STATUS\n0: done, or yes; 1: the answer is no; 2: wrong use or bad input; "
        "3: failed.\n.SH COMMANDS\n",
        out);
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        put_command(out, fl_cli_command_at(i), arena);
    }
    (void)fputs(".SH ENVIRONMENT\n.TP\n.B FERNLOCK_ROOM\nthe data folder\n"
                ".SH FILES\n.TP\n.I DIR/room.sqlite\nthe room: one SQLite data base\n",
                out);
}

/* ---- shells ---- */

static void put_words(FILE *out, const fl_sv *words, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        (void)fprintf(out, "%s%.*s", i == 0 ? "" : " ", FL_SV_ARG(words[i]));
    }
}

static void put_names(FILE *out)
{
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        (void)fprintf(out, "%s%s", i == 0 ? "" : " ", fl_cli_command_at(i)->name);
    }
}

void fl_manual_bash(fl_arena *arena, FILE *out)
{
    (void)fputs("# bash completion for fernlock, made by `fernlock manual bash`\n"
                "_fernlock() {\n"
                "    local current=${COMP_WORDS[COMP_CWORD]} command= form= skip= word i\n"
                "    for ((i = 1; i < COMP_CWORD; i++)); do\n"
                "        word=${COMP_WORDS[i]}\n"
                "        if [ -n \"$skip\" ]; then skip=; continue; fi\n"
                "        case $word in\n"
                "        --room) skip=1 ;;\n"
                "        -*) ;;\n"
                "        *) if [ -z \"$command\" ]; then command=$word; "
                "elif [ -z \"$form\" ]; then form=$word; fi ;;\n"
                "        esac\n"
                "    done\n"
                "    local forms= options=\n"
                "    case $command in\n    '') forms='",
                out);
    put_names(out);
    (void)fputs("' options='--room --json --help --version' ;;\n", out);
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        fl_manual_words words = fl_manual_words_of(fl_cli_command_at(i), arena);
        (void)fprintf(out, "    %s) forms='", fl_cli_command_at(i)->name);
        put_words(out, words.forms, words.n_forms);
        (void)fputs("' options='--json --help ", out);
        put_words(out, words.options, words.n_options);
        (void)fputs("' ;;\n", out);
    }
    (void)fputs("    esac\n"
                "    case $current in\n"
                "    -*) COMPREPLY=($(compgen -W \"$options\" -- \"$current\")) ;;\n"
                "    *)\n"
                "        [ -n \"$form\" ] && forms=\n"
                "        COMPREPLY=($(compgen -W \"$forms\" -- \"$current\") "
                "$(compgen -f -- \"$current\"))\n"
                "        ;;\n"
                "    esac\n"
                "}\n"
                "complete -F _fernlock fernlock\n",
                out);
}

/* Text inside single quotes of zsh and fish: a quote ends them. */
static void put_quoted(FILE *out, const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\'') {
            (void)fputs("’", out);
        } else if (*c == ':' || *c == '[' || *c == ']') {
            (void)fputc(' ', out);
        } else {
            (void)fputc(*c, out);
        }
    }
}

void fl_manual_zsh(fl_arena *arena, FILE *out)
{
    (void)fputs("#compdef fernlock\n# made by `fernlock manual zsh`\n"
                "_fernlock() {\n"
                "    local -a commands\n    commands=(\n",
                out);
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        (void)fprintf(out, "        '%s:", fl_cli_command_at(i)->name);
        put_quoted(out, fl_cli_command_at(i)->summary);
        (void)fputs("'\n", out);
    }
    (void)fputs("    )\n    if (( CURRENT == 2 )); then\n        _describe command commands\n"
                "        return\n    fi\n    case $words[2] in\n",
                out);
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        fl_manual_words words = fl_manual_words_of(fl_cli_command_at(i), arena);
        (void)fprintf(out, "    %s) compadd -- ", fl_cli_command_at(i)->name);
        put_words(out, words.forms, words.n_forms);
        (void)fputc(' ', out);
        put_words(out, words.options, words.n_options);
        (void)fputs(" --json --help ;;\n", out);
    }
    (void)fputs("    esac\n    _files\n}\n_fernlock \"$@\"\n", out);
}

void fl_manual_fish(fl_arena *arena, FILE *out)
{
    (void)fputs("# fish completion for fernlock, made by `fernlock manual fish`\n", out);
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        const fl_command *command = fl_cli_command_at(i);
        fl_manual_words words = fl_manual_words_of(command, arena);
        (void)fprintf(out, "complete -c fernlock -n __fish_use_subcommand -a %s -d '",
                      command->name);
        put_quoted(out, command->summary);
        (void)fputs("'\n", out);
        for (size_t k = 0; k < words.n_forms; k++) {
            (void)fprintf(out, "complete -c fernlock -n '__fish_seen_subcommand_from %s' -a %.*s\n",
                          command->name, FL_SV_ARG(words.forms[k]));
        }
        for (size_t k = 0; k < words.n_options; k++) {
            fl_sv option = after(words.options[k], 2);
            (void)fprintf(out, "complete -c fernlock -n '__fish_seen_subcommand_from %s' -l %.*s\n",
                          command->name, FL_SV_ARG(option));
        }
    }
}
