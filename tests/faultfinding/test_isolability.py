"""Properties of the fractions detected and isolated, whatever the table."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.faultfinding.charts.isolability import (
    ambiguity_groups,
    detected_fraction,
    isolated_fraction,
)

seeds = st.integers(0, 100_000)


def made_up_table(seed):
    """A table of few labels, so that many faults look alike or healthy."""
    rng = np.random.default_rng(seed)
    faults, tests = int(rng.integers(1, 9)), int(rng.integers(1, 6))
    shows = rng.integers(0, 3, (faults, tests)) * (rng.random((faults, tests)) < 0.5)
    return shows, rng.uniform(0.01, 1.0, faults), rng


@given(seeds)
def test_more_tests_never_detect_less_nor_isolate_less(seed):
    shows, weights, rng = made_up_table(seed)
    healthy = np.zeros(shows.shape[1], dtype=int)
    fewer = rng.random(shows.shape[1]) < 0.6
    few, all_of_them = (shows[:, fewer], weights, healthy[fewer]), (shows, weights, healthy)
    assert detected_fraction(*few) <= detected_fraction(*all_of_them) + 1e-12
    for group in (1, 2, 5):
        least = isolated_fraction(*few, group=group)
        assert least <= isolated_fraction(*all_of_them, group=group) + 1e-12


@given(seeds)
def test_other_labels_and_another_order_change_nothing(seed):
    shows, weights, rng = made_up_table(seed)
    healthy = np.zeros(shows.shape[1], dtype=int)
    faults, tests = rng.permutation(len(shows)), rng.permutation(shows.shape[1])
    words = np.array([rng.permutation(["on", "dim", "off"]) for _ in healthy])
    columns = np.arange(len(healthy))
    renamed = words[columns, shows][faults][:, tests]
    usual = words[columns, healthy][tests]
    again = (renamed, weights[faults], usual)
    assert detected_fraction(*again) == pytest.approx(detected_fraction(shows, weights, healthy))
    for group in (1, 2, 5):
        other = isolated_fraction(*again, group=group)
        assert other == pytest.approx(isolated_fraction(shows, weights, healthy, group=group))
    groups = {frozenset(faults[list(each)].tolist()) for each in ambiguity_groups(renamed, usual)}
    assert groups == set(map(frozenset, ambiguity_groups(shows, healthy)))


@given(seeds)
def test_larger_groups_isolate_more_up_to_all_that_is_detected(seed):
    shows, weights, _ = made_up_table(seed)
    table = (shows, weights, np.zeros(shows.shape[1], dtype=int))
    found = [isolated_fraction(*table, group=group) for group in range(1, len(shows) + 1)]
    assert found == sorted(found)
    assert found[-1] == pytest.approx(detected_fraction(*table), abs=1e-12)


@given(seeds)
def test_groups_hold_each_detected_fault_once_and_only_faults_that_look_the_same(seed):
    shows, _, _ = made_up_table(seed)
    groups = ambiguity_groups(shows, np.zeros(shows.shape[1], dtype=int))
    assert sorted(sum(groups, ())) == np.flatnonzero(shows.any(axis=1)).tolist()
    looks = [shows[group[0]].tolist() for group in groups]
    for group, look in zip(groups, looks, strict=True):
        assert [shows[fault].tolist() for fault in group] == [look] * len(group)
        assert looks.count(look) == 1


def test_without_a_test_nothing_is_detected():
    nothing = np.zeros((3, 0))
    assert detected_fraction(nothing, [1, 1, 1], []) == 0.0
    assert isolated_fraction(nothing, [1, 1, 1], [], group=3) == 0.0
    assert ambiguity_groups(nothing, []) == ()


def test_labels_of_several_kinds_stand_side_by_side():
    shows = np.array([["on", 12.0], ["on", 3.1], ["off", 12.0]], dtype=object)
    assert ambiguity_groups(shows, np.array(["on", 12.0], dtype=object)) == ((1,), (2,))


@pytest.mark.parametrize(
    ("shows", "weights", "healthy", "says"),
    [
        ([["a"], ["b"]], [1, 1], ["a", "a"], "healthy row"),
        (["a", "b"], [1, 1], ["a"], "healthy row"),
        ([["a"], ["b"]], [1], ["a"], "one for each of 2"),
        ([["a"], ["b"]], [1, -1], ["a"], "finite"),
        ([["a"], ["b"]], [0, 0], ["a"], "not all 0"),
        ([["a"], ["b"]], [1, np.nan], ["a"], "finite"),
    ],
)
def test_tables_that_do_not_fit_are_refused(shows, weights, healthy, says):
    with pytest.raises(ValueError, match=says):
        detected_fraction(shows, weights, healthy)
    with pytest.raises(ValueError, match=says):
        isolated_fraction(shows, weights, healthy)


def test_a_group_of_no_fault_is_refused():
    with pytest.raises(ValueError, match="at least 1"):
        isolated_fraction([["a"]], [1.0], ["b"], group=0)
