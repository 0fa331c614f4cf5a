"""Fractions of faults detected and isolated, on a published table of faults and tests.

The table is that of Pattipati and Alexandridis, IEEE SMC 20 (1990) 872, from memory (CHECKS 7.6);
the definitions are those of IEEE 1522, from memory; the fractions are counted by hand.
"""

from itertools import combinations

import pytest

from tripmargin.faultfinding.charts.isolability import (
    ambiguity_groups,
    detected_fraction,
    isolated_fraction,
)

HEALTHY = "00000"
SHOWS = ("01001", "00110", "10011", "11000", "11110")  # s1 to s5 under the tests t1 to t5
CHANCES = (0.01, 0.02, 0.10, 0.05, 0.12)


def seen_by(*tests):
    """Signatures and healthy row of some of the tests, t1 as 1."""
    rows = [[row[test - 1] for test in tests] for row in (*SHOWS, HEALTHY)]
    return rows[:-1], rows[-1]


def test_two_tests_detect_and_isolate_what_the_table_says():
    # CHECKS 7.8: t1 and t2 detect all but s2, 0.28 of 0.30, and name s1 and s3, 0.11 of 0.30;
    # s4 and s5 look the same. IEEE 1522, definitions from memory
    shows, healthy = seen_by(1, 2)
    assert detected_fraction(shows, CHANCES, healthy) == pytest.approx(0.933333333, abs=1e-9)
    assert isolated_fraction(shows, CHANCES, healthy) == pytest.approx(0.366666667, abs=1e-9)
    within_two = isolated_fraction(shows, CHANCES, healthy, group=2)
    assert within_two == pytest.approx(0.933333333, abs=1e-9)
    assert ambiguity_groups(shows, healthy) == ((0,), (2,), (3, 4))


@pytest.mark.parametrize(
    "tests", [(1, 2, 3, 4, 5), *combinations((1, 2, 3, 4, 5), 4)], ids="t{}".format
)
def test_any_four_tests_detect_every_fault_and_name_it(tests):
    # CHECKS 7.8: all five tests, or any four: all detected, no ambiguity. IEEE 1522, from memory
    shows, healthy = seen_by(*tests)
    assert detected_fraction(shows, CHANCES, healthy) == pytest.approx(1.0, abs=1e-9)
    assert isolated_fraction(shows, CHANCES, healthy) == pytest.approx(1.0, abs=1e-9)
    assert ambiguity_groups(shows, healthy) == ((0,), (1,), (2,), (3,), (4,))
