"""The same reach as bench/trace.c by networkx (descendants in a time-expanded graph) and by a recursive
SQL query, in one run. Reads the program's lines on standard input and the contacts it wrote; stops
when the counts differ. Written from the definition (docs/models/reach.md), not from the C code.
"""
import random
import re
import sqlite3
import sys
import time

import networkx as nx

SQL = """
WITH RECURSIVE got(node, t) AS (
    VALUES (0, 0)
    UNION
    SELECT c.v, c.t FROM got JOIN contact c ON c.u = got.node AND c.t >= got.t)
SELECT count(DISTINCT node) - 1 FROM got
"""
GIVE_UP_S = 30.0


def expand(contacts):
    """One vertex a node and time, numbered; edges to the node's next time, and along each contact."""
    graph = nx.DiGraph()
    last = {}
    node_of = []

    def vertex(node, t):
        before = last.get(node)
        if before is not None and before[1] == t:
            return before[0]
        number = len(node_of)
        node_of.append(node)
        if before is not None:
            graph.add_edge(before[0], number)
        last[node] = (number, t)
        return number

    first = vertex(0, -1)
    for u, v, t in contacts:
        graph.add_edge(vertex(u, t), vertex(v, t))
    return graph, first, node_of


def by_networkx(contacts):
    start = time.perf_counter()
    graph, first, node_of = expand(contacts)
    built = time.perf_counter()
    descend = []
    for _ in range(9):
        again = time.perf_counter()
        found = nx.descendants(graph, first)
        descend.append(time.perf_counter() - again)
    nodes = {node_of[vertex] for vertex in found} - {0}
    return (len(nodes), built - start, sorted(descend)[4], graph.number_of_nodes(),
            graph.number_of_edges())


def by_sql(contacts):
    base = sqlite3.connect(":memory:")
    base.execute("CREATE TABLE contact (u INTEGER, v INTEGER, t INTEGER)")
    base.executemany("INSERT INTO contact VALUES (?, ?, ?)", contacts)
    base.execute("CREATE INDEX by_giver ON contact (u, t)")
    limit = time.perf_counter() + GIVE_UP_S
    base.set_progress_handler(lambda: int(time.perf_counter() > limit), 100000)
    start = time.perf_counter()
    try:
        count = base.execute(SQL).fetchone()[0]
    except sqlite3.OperationalError:
        return None, GIVE_UP_S
    return count, time.perf_counter() - start


def hub_contacts(n_nodes, n, hubs):
    draw = random.Random(26)
    made = []
    for _ in range(n):
        ends = [draw.randrange(hubs) if draw.random() < 0.5 else draw.randrange(n_nodes) for _ in "uv"]
        if ends[0] == ends[1]:
            ends[1] = (ends[1] + 1) % n_nodes
        made.append((ends[0], ends[1], draw.randrange(10 * n)))
    return made


def main():
    contacts = [tuple(map(int, line.split())) for line in open(sys.argv[1], encoding="ascii")]
    ours = None
    for line in sys.stdin:
        sys.stdout.write(line)
        match = re.match(r"C plain forward .*best_ms=([\d.]+) median_ms=([\d.]+) reached=(\d+)", line)
        if match:
            ours = (float(match[2]), int(match[3]))
    count, build, descend, vertices, edges = by_networkx(contacts)
    print(f"networkx: {vertices} vertices, {edges} edges; built in {build:.2f} s, "
          f"descendants {descend * 1e3:.0f} ms: {descend * 1e3 / ours[0]:.0f} times ours, "
          f"built as well {(build + descend) * 1e3 / ours[0]:.0f} times")
    sql_count, sql_s = by_sql(contacts)
    print(f"recursive SQL, the same 1e5 contacts: {sql_s * 1e3:.0f} ms")
    for n in (2000, 5000, 10000, 20000, 50000):
        hub_count, hub_s = by_sql(hub_contacts(n // 10, n, 20))
        said = f"{hub_s * 1e3:.0f} ms" if hub_count is not None else f"given up after {hub_s:.0f} s"
        print(f"recursive SQL, {n} contacts with 20 hubs: {said}")
        if hub_count is None:
            break
    if not count == sql_count == ours[1]:
        sys.exit(f"the counts differ: networkx {count}, SQL {sql_count}, ours {ours[1]}")
    print(f"all three reach {count} nodes")


main()
