"""The critical path method against published networks and an independent library."""

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.estimator.network import timings_of
from tests.estimator.builders import reference_rows


def network(name, duration):
    rows = reference_rows(name)
    durations = {row["activity"]: duration(row) for row in rows}
    after = {row["activity"]: row["predecessors"].split() for row in rows}
    return rows, timings_of(durations, after)


def test_the_published_network_of_ten_activities_agrees_cell_by_cell():
    """Source: cpm_network_10.csv, the whole ES EF LS LF slack table seen in public text; duration 20, path A-D-G."""
    rows, found = network("cpm_network_10", lambda row: float(row["duration"]))
    for row in rows:
        timing = found[row["activity"]]
        cells = (timing.earliest_start, timing.earliest_finish, timing.latest_start, timing.latest_finish, timing.slack)
        assert cells == tuple(float(row[key]) for key in ("ES", "EF", "LS", "LF", "slack"))
        assert timing.is_critical == (row["critical"] == "yes")
    assert max(timing.earliest_finish for timing in found.values()) == 20


def test_the_pert_network_of_fourteen_activities_agrees():
    """Source: pert_network_14.csv; expected duration 50.8333, critical path A-C-E-H-I-K-M-N (pert_summary.csv)."""
    rows, found = network("pert_network_14", lambda row: float(row["mean_calc"]))
    assert max(timing.earliest_finish for timing in found.values()) == pytest.approx(50.8333, abs=0.001)
    assert "-".join(name for name, timing in found.items() if abs(timing.slack) < 0.001) == "A-C-E-H-I-K-M-N"
    for row in rows:
        assert found[row["activity"]].slack == pytest.approx(float(row["slack_calc"]), abs=0.001)


@given(st.lists(st.tuples(st.floats(0, 50), st.sets(st.integers(0, 11))), min_size=1, max_size=12))
def test_the_duration_is_the_longest_path_of_networkx(drawn):
    """An independent computation: the longest path through the graph, by networkx."""
    durations = {i: duration for i, (duration, _) in enumerate(drawn)}
    after = {i: [j for j in before if j < i] for i, (_, before) in enumerate(drawn)}
    graph = networkx.DiGraph()
    graph.add_edge("start", "end", weight=0.0)
    for i, before in after.items():
        graph.add_edge("start", i, weight=0.0)
        graph.add_edge(i, "end", weight=durations[i])
        for j in before:
            graph.add_edge(j, i, weight=durations[j])
    longest = networkx.dag_longest_path_length(graph)
    assert max(timing.earliest_finish for timing in timings_of(durations, after).values()) == pytest.approx(longest)


def test_a_circle_is_refused():
    with pytest.raises(ValueError, match="circle"):
        timings_of({"a": 1.0, "b": 1.0}, {"a": ["b"], "b": ["a"]})
