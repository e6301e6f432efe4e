"""What lies over what, against independent topological sorts: graphlib of the standard library, and networkx."""

from __future__ import annotations

from graphlib import TopologicalSorter

import networkx
from hypothesis import given, settings
from hypothesis import strategies as st
from sequence_kit import edition, item, step

from docgen.analysis.sequence import run
from docgen.analysis.sequence.moments import outermost_first
from docgen.analysis.sequence.setting import setting_of
from docgen.model.edition import Edition

Covers = dict[str, set[str]]


@st.composite
def ensembles(draw: st.DrawFn) -> Covers:
    """Item → the items it covers, without a circle: an item covers only items after it in a shuffled row."""
    names = [f"i{n}" for n in range(draw(st.integers(2, 7)))]
    row = draw(st.permutations(names))
    return {a: {b for b in row[n + 1 :] if draw(st.booleans())} for n, a in enumerate(row)}


def removal(covers: Covers, order: list[str]) -> Edition:
    items = tuple(item(n, "clothing", " ".join(sorted(covers[n]))) for n in sorted(covers))
    return edition(items, tuple(step(f"off-{n}", f"remove {n} touching=inside into=waste") for n in order))


def complaints(covers: Covers, order: list[str]) -> set[tuple[str, str]]:
    """(item, what still covered it), as found by the analysis."""
    found = (f for f in run(removal(covers, order))[0] if f.rule == "sequence/covered-item-first")
    words = (f.message.split("`") for f in found)
    return {(w[1], w[-2]) for w in words}


@settings(max_examples=60, deadline=None)
@given(ensembles())
def test_a_topological_order_is_silent(covers: Covers) -> None:
    """graphlib gives an order in which whatever covers comes first; nothing is to be said about it."""
    over: Covers = {n: {a for a, under in covers.items() if n in under} for n in covers}
    assert complaints(covers, list(TopologicalSorter(over).static_order())) == set()


@settings(max_examples=60, deadline=None)
@given(ensembles(), st.randoms(use_true_random=False))
def test_an_order_is_wrong_exactly_where_networkx_says(covers: Covers, random) -> None:
    """Every edge of the covering graph that an order turns round is told, and nothing else."""
    order = sorted(covers)
    random.shuffle(order)
    graph = networkx.DiGraph([(a, b) for a, under in covers.items() for b in under])
    turned = {(b, a) for a, b in graph.edges if order.index(b) < order.index(a)}
    assert complaints(covers, order) == turned


@settings(max_examples=60, deadline=None)
@given(ensembles())
def test_the_figure_is_dressed_in_a_topological_order(covers: Covers) -> None:
    """Outermost first: every edge of the covering graph points down the list."""
    row = outermost_first(setting_of(removal(covers, sorted(covers))), frozenset(covers))
    graph = networkx.DiGraph([(a, b) for a, under in covers.items() for b in under])
    assert all(row.index(a) < row.index(b) for a, b in graph.edges)
    assert networkx.is_directed_acyclic_graph(graph)
