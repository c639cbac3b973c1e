/* For tests that print: pango starts fontconfig's own settings once for the whole process, and
 * nobody can let them go again. What print itself makes is let go (seen with this suppression
 * off). Include it once in such a test. */
#ifndef FL_TESTS_SUPPORT_FONT_LEAK_H
#define FL_TESTS_SUPPORT_FONT_LEAK_H

const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig.so\n";
}

#endif
