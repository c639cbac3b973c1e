/* `cmake --install` into a folder of its own: the program runs from there, its manual page has
 * every command, bash completes by what was put beside it, and the rest is in its place. */
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "support/check.h"
#include "support/outside.h"

static char dest[FL_TEMP_PATH_MAX];
static char path[FL_TEMP_PATH_MAX + 120];

static const char *at(const char *name)
{
    (void)snprintf(path, sizeof path, "%s/usr/%s", dest, name);
    return path;
}

static int setup(void **state)
{
    char build[FL_TEMP_PATH_MAX];
    char destdir[FL_TEMP_PATH_MAX + 10];
    (void)state;
    (void)snprintf(build, sizeof build, "%s", FL_BINARY);
    *strrchr(build, '/') = '\0';
    (void)fl_temp_folder(dest);
    (void)snprintf(destdir, sizeof destdir, "DESTDIR=%s", dest);
    fl_run made = OUTSIDE("env", destdir, "cmake", "--install", build, "--prefix", "/usr");
    fl_run_done(&made);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    fl_remove_folder(dest);
    return 0;
}

static void test_program(void **state)
{
    (void)state;
    fl_run run = OUTSIDE(at("bin/fernlock"), "--version");
    check_contains(run.out, "fernlock ");
    fl_run_done(&run);
}

static void test_manual_page(void **state)
{
    (void)state;
    fl_run raw = OUTSIDE("cat", at("share/man/man1/fernlock.1"));
    for (size_t i = 0; fl_cli_command_at(i) != NULL; i++) {
        char heading[80];
        (void)snprintf(heading, sizeof heading, ".SS %s\n", fl_cli_command_at(i)->name);
        check_contains(raw.out, heading);
    }
    check_contains(raw.out, "\\-\\-stock TEXT");
    fl_run_done(&raw);
}

static fl_run complete(const char *words)
{
    char script[600];
    (void)snprintf(
        script, sizeof script,
        "source '%s'; cd /proc/self/task; COMP_WORDS=(%s); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); "
        "_fernlock; echo \"${COMPREPLY[@]}\"",
        at("share/bash-completion/completions/fernlock"), words);
    return OUTSIDE("bash", "-c", script);
}

static void test_bash(void **state)
{
    (void)state;
    fl_run run = complete("fernlock cal");
    check_str(run.out, "calendar\n");
    fl_run_done(&run);
    run = complete("fernlock --room x print te");
    check_str(run.out, "test-page\n");
    fl_run_done(&run);
    run = complete("fernlock print labels --sto");
    check_str(run.out, "--stock\n");
    fl_run_done(&run);
    run = complete("fernlock reckon bl");
    check_str(run.out, "bleach\n");
    fl_run_done(&run);
}

static void test_rest(void **state)
{
    static const char *const files[] = {
        "share/zsh/site-functions/_fernlock", "share/fish/vendor_completions.d/fernlock.fish",
        "lib/systemd/user/fernlock.service", "share/doc/fernlock/LICENSE",
        "share/doc/fernlock/guide/print.md"};
    (void)state;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        fl_run run = OUTSIDE("test", "-s", at(files[i]));
        fl_run_done(&run);
    }
    fl_run unit = OUTSIDE("cat", at("lib/systemd/user/fernlock.service"));
    check_contains(unit.out, "\nExecStart=fernlock --room %h/.local/share/fernlock/room serve\n");
    check_contains(unit.out, "\nWantedBy=default.target\n");
    fl_run_done(&unit);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_program),
    cmocka_unit_test(test_manual_page),
    cmocka_unit_test(test_bash),
    cmocka_unit_test(test_rest),
};

int main(void)
{
    return cmocka_run_group_tests(tests, setup, teardown);
}
