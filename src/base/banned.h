/* Functions that src/ does not call; the build includes this file first everywhere in src/, and a
 * call is an error. They overrun buffers, read the locale, share hidden state or hide errors. What
 * to use stands in each message. Only redeclarations: no header is included here, so a file may
 * still choose its own feature macros. */
#ifndef FL_BASE_BANNED_H
#define FL_BASE_BANNED_H

#define FL_BANNED(use) __attribute__((deprecated("banned here: " use)))

struct tm;

char *strcpy(char *restrict, const char *restrict) FL_BANNED("use fl_str or snprintf");
char *strcat(char *restrict, const char *restrict) FL_BANNED("use fl_str");
char *strncpy(char *restrict, const char *restrict, __SIZE_TYPE__) FL_BANNED("use fl_str");
char *strncat(char *restrict, const char *restrict, __SIZE_TYPE__) FL_BANNED("use fl_str");
char *strtok(char *restrict, const char *restrict) FL_BANNED("use fl_sv_split");
int sprintf(char *restrict, const char *restrict, ...) FL_BANNED("use snprintf or fl_str_appendf");
char *gets(char *) FL_BANNED("use fgets");
int atoi(const char *) FL_BANNED("use fl_num_parse_int");
long atol(const char *) FL_BANNED("use fl_num_parse_int");
long long atoll(const char *) FL_BANNED("use fl_num_parse_int");
double atof(const char *) FL_BANNED("use fl_num_parse_double");
#ifndef FL_ALLOW_STRTOD
double strtod(const char *restrict, char **restrict) FL_BANNED("use fl_num_parse_double");
#endif
struct tm *gmtime(const __INTMAX_TYPE__ *) FL_BANNED("use fl_civil_from_utc");
struct tm *localtime(const __INTMAX_TYPE__ *) FL_BANNED("use fl_civil_from_utc");
char *ctime(const __INTMAX_TYPE__ *) FL_BANNED("use fl_civil_format_utc");
int rand(void) FL_BANNED("use fl_rng");
void srand(unsigned) FL_BANNED("use fl_rng");
char *mktemp(char *) FL_BANNED("use mkstemp");
char *tmpnam(char *) FL_BANNED("use mkstemp");
int system(const char *) FL_BANNED("use posix_spawn with an argument list");
char *setlocale(int, const char *) FL_BANNED("the program stays in the C locale");

#endif
