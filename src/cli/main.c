/* The program. Everything is in command.c, so that tests can run it too. */
#include "cli/command.h"

int main(int argc, char **argv)
{
    return fl_cli_run(FL_VERSION, argc, argv);
}
