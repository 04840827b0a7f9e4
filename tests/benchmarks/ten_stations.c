/* The ten-station line written in C for this one line: how fast a computer can run it at all.

   It simulates the same line as ten_stations.yaml and handwritten.py: raw parts are always there, finished parts
   leave at once, a finished part stays on its station while the store behind it is full, and a machine stops
   after so much running time; the cycle it was in goes on after the repair.  Nothing is kept but units, cycles
   and events: no states, no levels of stores, no trace.
   Times are whole microseconds, and every time comes from one uniform of Philox4x64-10 (Salmon, Moraes, Dror &
   Shaw 2011) through the inverse distribution function, with the keys that it is given: so with the keys of
   cellsim it makes the same units as cellsim.

       ten_stations SEED KEY ...      three keys a station: cycles, running times, repairs

   Then each line "FIRST COUNT" on standard input runs COUNT shifts, replications FIRST and on, and is answered
   by a line: CPU nanoseconds of all of them, then units, cycles and events of each. */

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { STATIONS = 10, PLACES = 4 };
enum { CYCLES, RUNNING_TIMES, REPAIRS, PURPOSES };
enum { IDLE, AT_WORK, BLOCKED };
enum { CYCLE_ENDS, REPAIR_ENDS, STOP_BEGINS };

#define SECOND INT64_C(1000000)
#define SHIFT (8 * 3600 * SECOND)
#define CYCLE_MEAN (36.0 * SECOND)
#define CYCLE_SPREAD 0.15
#define RUNNING_BETWEEN_STOPS (40.0 * 60.0 * SECOND)
#define STOP_MEAN (3.0 * 60.0 * SECOND)

typedef struct {
    uint64_t key, used;
    double uniforms[4];
} stream;

typedef struct {
    int64_t work_left;  /* of the cycle, when it last began to run */
    int64_t until_stop; /* running time, likewise */
    int state, stored;  /* stored: parts in the store behind it */
    stream draws[PURPOSES];
} machine;

typedef struct {
    int64_t at;
    int32_t kind, machine;
} event;

static machine line[STATIONS];
static event agenda[STATIONS]; /* a binary heap, the earliest in front; each machine expects one event at most */
static int expected;
static int64_t now, units, cycles, events;
static uint64_t seed, replication;
static double cycle_log_mean, cycle_log_deviation;

/* --- random times --- */

static void refill(stream *s)
{
    const uint64_t m0 = UINT64_C(0xD2E7470EE14C6C93), m1 = UINT64_C(0xCA5A826395121157);
    uint64_t c0 = (s->used >> 2) + 1, c1 = replication, c2 = 0, c3 = 0, k0 = s->key, k1 = seed;
    for (int round = 0; round < 10; round++) {
        unsigned __int128 p0 = (unsigned __int128)m0 * c0, p1 = (unsigned __int128)m1 * c2;
        c0 = (uint64_t)(p1 >> 64) ^ c1 ^ k0;
        c1 = (uint64_t)p1;
        c2 = (uint64_t)(p0 >> 64) ^ c3 ^ k1;
        c3 = (uint64_t)p0;
        k0 += UINT64_C(0x9E3779B97F4A7C15);
        k1 += UINT64_C(0xBB67AE8584CAA73B);
    }
    s->uniforms[0] = ((double)(c0 >> 12) + 0.5) * 0x1p-52;
    s->uniforms[1] = ((double)(c1 >> 12) + 0.5) * 0x1p-52;
    s->uniforms[2] = ((double)(c2 >> 12) + 0.5) * 0x1p-52;
    s->uniforms[3] = ((double)(c3 >> 12) + 0.5) * 0x1p-52;
}

static double uniform(stream *s)
{
    int i = s->used & 3;
    if (i == 0)
        refill(s);
    s->used++;
    return s->uniforms[i];
}

/* Wichura 1988, Algorithm AS 241 (PPND16), Applied Statistics 37, 477-484. */
static double normal_score(double u)
{
    double q = u - 0.5, r, top, bottom;
    if (fabs(q) <= 0.425) {
        r = 0.180625 - q * q;
        top = ((((((2.5090809287301226727e3 * r + 3.3430575583588128105e4) * r + 6.7265770927008700853e4) * r +
                  4.5921953931549871457e4) * r + 1.3731693765509461125e4) * r + 1.9715909503065514427e3) * r +
               1.3314166789178437745e2) * r + 3.3871328727963666080e0;
        bottom = ((((((5.2264952788528545610e3 * r + 2.8729085735721942674e4) * r + 3.9307895800092710610e4) * r +
                     2.1213794301586595867e4) * r + 5.3941960214247511077e3) * r + 6.8718700749205790830e2) * r +
                  4.2313330701600911252e1) * r + 1.0;
        return q * top / bottom;
    }
    r = sqrt(-log(q < 0.0 ? u : 1.0 - u));
    if (r <= 5.0) {
        r -= 1.6;
        top = ((((((7.74545014278341407640e-4 * r + 2.27238449892691845833e-2) * r + 2.41780725177450611770e-1) * r +
                  1.27045825245236838258e0) * r + 3.64784832476320460504e0) * r + 5.76949722146069140550e0) * r +
               4.63033784615654529590e0) * r + 1.42343711074968357734e0;
        bottom = ((((((1.05075007164441684324e-9 * r + 5.47593808499534494600e-4) * r + 1.51986665636164571966e-2) *
                         r + 1.48103976427480074590e-1) * r + 6.89767334985100004550e-1) * r +
                   1.67638483018380384940e0) * r + 2.05319162663775882187e0) * r + 1.0;
    } else {
        r -= 5.0;
        top = ((((((2.01033439929228813265e-7 * r + 2.71155556874348757815e-5) * r + 1.24266094738807843860e-3) * r +
                  2.65321895265761230930e-2) * r + 2.96560571828504891230e-1) * r + 1.78482653991729133580e0) * r +
               5.46378491116411436990e0) * r + 6.65790464350110377720e0;
        bottom = ((((((2.04426310338993978564e-15 * r + 1.42151175831644588870e-7) * r + 1.84631831751005468180e-5) *
                         r + 7.86869131145613259100e-4) * r + 1.48753612908506148525e-2) * r +
                   1.36929880922735805310e-1) * r + 5.99832206555887937690e-1) * r + 1.0;
    }
    return q < 0.0 ? -top / bottom : top / bottom;
}

static int64_t lognormal(stream *s)
{
    return (int64_t)(exp(cycle_log_mean + cycle_log_deviation * normal_score(uniform(s))) + 0.5);
}

static int64_t exponential(stream *s, double mean)
{
    return (int64_t)(-mean * log1p(-uniform(s)) + 0.5);
}

/* --- due events --- */

static int before(event a, event b)
{
    return a.at < b.at || (a.at == b.at && a.kind < b.kind);
}

static void expect(int64_t at, int kind, int i)
{
    event new = {at, kind, i};
    int k = expected++;
    while (k > 0 && before(new, agenda[(k - 1) / 2])) {
        agenda[k] = agenda[(k - 1) / 2];
        k = (k - 1) / 2;
    }
    agenda[k] = new;
}

static event earliest(void)
{
    event first = agenda[0], last = agenda[--expected];
    int k = 0, child;
    while ((child = 2 * k + 1) < expected) {
        if (child + 1 < expected && before(agenda[child + 1], agenda[child]))
            child++;
        if (!before(agenda[child], last))
            break;
        agenda[k] = agenda[child];
        k = child;
    }
    agenda[k] = last;
    return first;
}

/* --- the line --- */

/* The machine runs until its cycle ends or a stop strikes; a stop due as the cycle ends strikes the next one. */
static void go_on(int i)
{
    machine *m = &line[i];
    if (m->until_stop < m->work_left)
        expect(now + m->until_stop, STOP_BEGINS, i);
    else
        expect(now + m->work_left, CYCLE_ENDS, i);
}

/* An idle machine begins with the next part, if there is one; the place that gets free is filled at once. */
static void take(int i)
{
    for (;; i--) {
        if (i > 0 && line[i - 1].stored == 0)
            return;
        line[i].state = AT_WORK;
        line[i].work_left = lognormal(&line[i].draws[CYCLES]);
        go_on(i);
        if (i == 0)
            return;
        if (line[i - 1].state != BLOCKED) {
            line[i - 1].stored--;
            return;
        }
        line[i - 1].state = IDLE;
    }
}

static void hand_on(int i)
{
    machine *m = &line[i];
    if (i == STATIONS - 1) {
        units++;
    } else if (m->stored < PLACES) {
        m->stored++;
        if (line[i + 1].state == IDLE)
            take(i + 1);
    } else {
        m->state = BLOCKED;
        return;
    }
    m->state = IDLE;
    take(i);
}

static int64_t running_time(machine *m)
{
    int64_t time = exponential(&m->draws[RUNNING_TIMES], RUNNING_BETWEEN_STOPS);
    return time > 0 ? time : 1;
}

static void run_shift(void)
{
    now = units = cycles = events = expected = 0;
    for (int i = 0; i < STATIONS; i++) {
        line[i].state = IDLE;
        line[i].stored = 0;
        for (int purpose = 0; purpose < PURPOSES; purpose++)
            line[i].draws[purpose].used = 0;
        line[i].until_stop = running_time(&line[i]);
    }
    take(0);
    while (agenda[0].at <= SHIFT) { /* some machine always works or is being repaired */
        event due = earliest();
        machine *m = &line[due.machine];
        now = due.at;
        events++;
        if (due.kind == CYCLE_ENDS) {
            m->until_stop -= m->work_left;
            cycles++;
            hand_on(due.machine);
        } else if (due.kind == STOP_BEGINS) {
            m->work_left -= m->until_stop;
            expect(now + exponential(&m->draws[REPAIRS], STOP_MEAN), REPAIR_ENDS, due.machine);
        } else {
            m->until_stop = running_time(m);
            go_on(due.machine);
        }
    }
}

static int64_t cpu_nanoseconds(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return time.tv_sec * INT64_C(1000000000) + time.tv_nsec;
}

int main(int count, char **arguments)
{
    uint64_t first, shifts;
    double variance = log1p(CYCLE_SPREAD * CYCLE_SPREAD);
    if (count != 2 + STATIONS * PURPOSES) {
        fprintf(stderr, "give a seed and %d keys\n", STATIONS * PURPOSES);
        return 2;
    }
    cycle_log_mean = log(CYCLE_MEAN) - variance / 2.0;
    cycle_log_deviation = sqrt(variance);
    seed = strtoull(arguments[1], NULL, 10);
    for (int k = 0; k < STATIONS * PURPOSES; k++)
        line[k / PURPOSES].draws[k % PURPOSES].key = strtoull(arguments[2 + k], NULL, 10);
    while (scanf("%" SCNu64 " %" SCNu64, &first, &shifts) == 2) {
        int64_t *answers = malloc((3 * shifts + 1) * sizeof *answers), start = cpu_nanoseconds(), spent;
        if (answers == NULL)
            return 1;
        for (uint64_t k = 0; k < shifts; k++) {
            replication = first + k;
            run_shift();
            answers[3 * k] = units;
            answers[3 * k + 1] = cycles;
            answers[3 * k + 2] = events;
        }
        spent = cpu_nanoseconds() - start;
        printf("%" PRId64, spent);
        for (uint64_t k = 0; k < 3 * shifts; k++)
            printf(" %" PRId64, answers[k]);
        printf("\n");
        fflush(stdout);
        free(answers);
    }
    return 0;
}
