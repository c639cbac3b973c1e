/* Run sheets of random evenings, 1 to 12 lots: how far each is from its stated bound, and what it
 * costs in seconds of the processor. bench/run-runsheet builds and runs it.
 * usage: runsheet [SEED [EVENINGS]] */
#include <stdio.h>
#include <time.h>

#include "unit/core/bench/evening.h"

static evening e;
static fl_bench_sheet sheet;

int main(int argc, char **argv)
{
    fl_rng rng = {argc > 1 ? strtoull(argv[1], NULL, 10) : 20261125u};
    int n = argc > 2 ? atoi(argv[2]) : 1000;
    void *work = malloc(fl_bench_work_bytes());
    double sum = 0.0;
    double worst = 0.0;
    double longest_s = 0.0;
    double sum_s = 0.0;
    int n_far = 0;
    int n_slow = 0;
    size_t most = 0;
    for (int i = 0; i < n && work != NULL; i++) {
        evening_kind kind = evening_any(&e, &rng);
        fl_err err;
        fl_err_clear(&err);
        clock_t before = clock();
        if (fl_bench_schedule(&e.plan, 0, work, &sheet, &err) != FL_OK) {
            (void)fprintf(stderr, "%s\n", err.message);
            return 3;
        }
        double took_s = (double)(clock() - before) / CLOCKS_PER_SEC;
        double gap_pct = 100.0 * ((double)sheet.finish_s / sheet.bound_s - 1.0);
        sum += gap_pct;
        sum_s += took_s;
        worst = gap_pct > worst ? gap_pct : worst;
        longest_s = took_s > longest_s ? took_s : longest_s;
        most = sheet.looked_at > most ? sheet.looked_at : most;
        n_far += sheet.finish_s * 10 > sheet.bound_s * 11 ? 1 : 0;
        n_slow += took_s > 1.0 ? 1 : 0;
        if (gap_pct > 10.0 || took_s > 1.0) {
            (void)printf("evening %d: %d lots, %d purchases, %d risks, %d tubs: %.1f %%, %.2f s\n",
                         i, kind.n_lots, kind.n_purchases, kind.n_risks, kind.n_tubs, gap_pct,
                         took_s);
        }
    }
    free(work);
    (void)printf(
        "%d evenings: mean %.2f %%, worst %.2f %%, %d above 10 %%; mean %.2f s, longest %.2f s, "
        "%d above 1 s; at most %zu pieces looked at\n",
        n, sum / n, worst, n_far, sum_s / n, longest_s, n_slow, most);
    return 0;
}
