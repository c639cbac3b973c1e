/* Files of the source tree, for tests that hold code, documents and examples against each other. */
#ifndef FL_TESTS_SUPPORT_SOURCE_FILE_H
#define FL_TESTS_SUPPORT_SOURCE_FILE_H

/* The whole file, terminated; `path` from the top of the source tree. The caller frees it. Fails
 * the test when it cannot be read. */
char *fl_source_file(const char *path);

#endif
