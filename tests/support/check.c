/* The checks: print both sides, then let cmocka end the test. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void fl_check_close(double got, double want, double rel, double abs, const char *what,
                    const char *file, int line)
{
    double allowed = fmax(rel * fabs(want), abs);
    double off = fabs(got - want);
    if (got == want || off <= allowed) { /* the first for infinities */
        return;
    }
    print_error("%s: got %.17g, want %.17g; off by %.3g, allowed %.3g\n", what, got, want, off,
                allowed);
    _fail(file, line);
}

void fl_check_int(int64_t got, int64_t want, const char *what, const char *file, int line)
{
    if (got != want) {
        print_error("%s: got %lld, want %lld\n", what, (long long)got, (long long)want);
        _fail(file, line);
    }
}

void fl_check_true(bool claim, const char *what, const char *file, int line)
{
    if (!claim) {
        print_error("does not hold: %s\n", what);
        _fail(file, line);
    }
}

void fl_check_sv(fl_sv got, const char *want, const char *what, const char *file, int line)
{
    if (!fl_sv_eq_cstr(got, want)) {
        print_error("%s: got \"%.*s\", want \"%s\"\n", what, FL_SV_ARG(got), want);
        _fail(file, line);
    }
}

void fl_check_ok(fl_status status, const fl_err *err, const char *what, const char *file, int line)
{
    if (status != FL_OK) {
        print_error("%s: %s: %s\n", what, fl_status_name(status), err == NULL ? "" : err->message);
        _fail(file, line);
    }
}

void fl_check_status(const fl_err *err, fl_status code, const char *file, int line)
{
    if (err->code != code) {
        print_error("got status %s (%s), want %s\n", fl_status_name(err->code),
                    err->code == FL_OK ? "" : err->message, fl_status_name(code));
        _fail(file, line);
    }
    if (code != FL_OK && (err->message[0] == '\0' || strchr(err->message, '\n') != NULL)) {
        print_error("the message is not one line: \"%s\"\n", err->message);
        _fail(file, line);
    }
}

void fl_check_contains(const char *got, const char *text, const char *what, const char *file,
                       int line)
{
    if (strstr(got, text) == NULL) {
        print_error("%s: \"%s\" does not contain \"%s\"\n", what, got, text);
        _fail(file, line);
    }
}
