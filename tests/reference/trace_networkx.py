"""Who could have passed it on to whom, in a room told as a diary, by networkx: descendants and ancestors in a
time-expanded graph with intervals (a lot stands in a place from when it came until it goes) and cleanings. No
code shared with fernlock.

    case ID COLOCATE CUT DIVISION TUB LOT FROM TO     then   a T LOT PLACE | m T LOT PLACE | c T PLACE
                                                             k T MOTHER CHILD PLACE IS_DIVISION | w T LOT LOT
    end
    -> ID f LOT ...    reached from LOT, which has it from FROM on; LOT itself left out
    -> ID s LOT ...    lots that came home with something that LOT has at TO; LOT itself too

COLOCATE 1: what stands together, or stood in the same place since it was last cleaned, has the same. Between two
events nothing moves; so there is one vertex for each lot and place and each span between events.
"""
import sys

try:
    import networkx as nx
except ImportError:
    sys.exit(77)


def solve(head, events):
    colocate, cut, division, tub, subject, start, end = (int(word) for word in head[2:9])
    events.sort()
    graph = nx.DiGraph()
    where, arrived = {}, {}
    n_events = len(events)

    def lot(name, span):
        return ("lot", name, span)

    def place(name, span):
        return ("place", name, span)

    def settle(span):
        for name, at in where.items():
            graph.add_node(lot(name, span))
            if colocate:
                graph.add_edge(lot(name, span), place(at, span))
                graph.add_edge(place(at, span), lot(name, span))

    places = {int(words[-1]) for _, words in events if words[0] in "am"}
    places |= {int(words[4]) for _, words in events if words[0] == "k"} | {int(words[2]) for _, words in events if words[0] == "c"}
    settle(0)
    first, last = None, 0
    for k, (when, words) in enumerate(events):
        span = k + 1
        if when <= end:
            last = span
        if first is None and when > start:
            first = span - 1
        kind = words[0]
        cleaned = int(words[2]) if kind == "c" else None
        for name in places:
            if name != cleaned:
                graph.add_edge(place(name, span - 1), place(name, span))
        for name in where:
            graph.add_edge(lot(name, span - 1), lot(name, span))
        if kind == "a":
            where[int(words[2])] = int(words[3])
            arrived[int(words[2])] = span
        elif kind == "m":
            where[int(words[2])] = int(words[3])
        elif kind == "k":
            mother, child = int(words[2]), int(words[3])
            where[child] = int(words[4])
            if division if words[5] == "1" else cut:
                graph.add_edge(lot(mother, span - 1), lot(child, span))
        elif kind == "w" and tub:
            one, two = int(words[2]), int(words[3])
            graph.add_edge(lot(one, span - 1), lot(two, span))
            graph.add_edge(lot(two, span - 1), lot(one, span))
        settle(span)
    if first is None:
        first = n_events
    # from FROM on the subject has it wherever it stands; it may have come only later
    seeds = [lot(subject, span) for span in range(first, last + 1) if lot(subject, span) in graph]
    reached = set()
    for seed in seeds[:1]:
        reached |= {n for n in nx.descendants(graph, seed) if n[2] <= last}
    lots = sorted({n[1] for n in reached if n[0] == "lot" and n[1] != subject})
    back = nx.ancestors(graph, lot(subject, last)) | {lot(subject, last)} if lot(subject, last) in graph else set()
    brought = sorted(name for name, span in arrived.items() if span <= last and lot(name, span) in back)
    return lots, brought


def main():
    head, events = None, []
    for line in sys.stdin:
        words = line.split()
        if words[0] == "case":
            head, events = words, []
        elif words[0] == "end":
            lots, brought = solve(head, events)
            print(head[1], "f", *lots)
            print(head[1], "s", *brought)
        else:
            events.append((int(words[1]), words))


main()
