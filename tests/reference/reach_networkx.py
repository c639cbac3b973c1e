"""Reach through contacts with cleanings, by networkx: descendants and ancestors in a time-expanded
graph. Reads cases on standard input, writes one line a reached node; no code shared with fernlock.

    case ID N FROM TO STRICT BACKWARD ROOT     then   c T U V | k T NODE | end
    -> ID NODE TIME DIRTY                      (DIRTY only: TIME is "-")

A node n at each of its times t is three vertices: a (as it comes), p (after the cleanings of t,
before its contacts), q (after its contacts).
"""
import sys

try:
    import networkx as nx
except ImportError:
    sys.exit(77)


def expand(contacts, cleanings, n_nodes, strict):
    times = {n: set() for n in range(n_nodes)}
    for t, u, v in contacts:
        times[u].add(t)
        times[v].add(t)
    for t, n in cleanings:
        times[n].add(t)
    cleaned = set((n, t) for t, n in cleanings)
    graph = nx.DiGraph()
    for n in range(n_nodes):
        last = ("open", n)
        graph.add_node(last)
        for t in sorted(times[n]):
            graph.add_edge(last, ("a", n, t))
            graph.add_nodes_from([("p", n, t), ("q", n, t)])
            if (n, t) not in cleaned:
                graph.add_edge(("a", n, t), ("p", n, t))
            graph.add_edge(("p", n, t), ("q", n, t))
            last = ("q", n, t)
        graph.add_edge(last, ("close", n))
    for t, u, v in contacts:
        graph.add_edge(("p" if strict else "q", u, t), ("q", v, t))
    return graph


def solve(ident, n_nodes, start, end, strict, backward, root, contacts, cleanings):
    contacts = [c for c in contacts if start <= c[0] <= end]
    cleanings = [k for k in cleanings if start <= k[0] <= end]
    graph = expand(contacts, cleanings, n_nodes, strict)
    if backward:
        found = nx.ancestors(graph, ("close", root)) | {("close", root)}
        layer, best, edge = "p", max, "open"
    else:
        found = nx.descendants(graph, ("open", root)) | {("open", root)}
        layer, best, edge = "q", min, "close"
    time = {}
    for vertex in found:
        if vertex[0] == layer and vertex[1] != root:
            node = vertex[1]
            time[node] = vertex[2] if node not in time else best(time[node], vertex[2])
    time[root] = end if backward else start
    for node in range(n_nodes):
        dirty = int((edge, node) in found)
        if node in time or dirty:
            print(ident, node, time.get(node, "-"), dirty)


def main():
    head, contacts, cleanings = None, [], []
    for line in sys.stdin:
        word, *rest = line.split()
        rest = [int(x) for x in rest]
        if word == "case":
            head, contacts, cleanings = rest, [], []
        elif word == "c":
            contacts.append(tuple(rest))
        elif word == "k":
            cleanings.append(tuple(rest))
        else:
            ident, n_nodes, start, end, strict, backward, root = head
            solve(ident, n_nodes, start, end, bool(strict), bool(backward), root, contacts, cleanings)


main()
