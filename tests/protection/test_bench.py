"""One machine's tables: what goes unseen, against plain random draws."""

from __future__ import annotations

import numpy as np
import pytest

from tests.made_machines import lopsided, made
from tripmargin.protection.bench import REFERENCE_BALL, Bench
from tripmargin.protection.seeing import Outlook, Sample
from tripmargin.sensing import Piece
from tripmargin.stopping import feed_speed

CUT = 0.012


@pytest.mark.parametrize("diameter", [0.02, 0.03])
def test_what_goes_unseen_is_that_of_plain_random_draws(diameter: float) -> None:
    machine = made(sensor=lopsided(), rotation="0 deg +- 3 deg")
    bench = Bench(machine, [CUT])
    ball, scale = Piece.ball(REFERENCE_BALL), np.array([(diameter / REFERENCE_BALL) ** 3])
    seen = bench.sight(ball, bench.sample())
    found = bench.chances(seen, CUT, scale, fine=False)
    # 400 000 random draws (numpy's PCG64) in place of evenly spread ones; the same table
    rng, own = np.random.default_rng(4), bench.sample()
    n = 400_000
    drawn = {path: np.quantile(values, rng.random(n)) for path, values in own.values.items()}
    sample = Sample(machine, drawn, np.full(n, 1 / n))
    table = bench.table(ball)
    plain = Outlook.of(table, sample, bench.strength, bench.curve(ball))
    missed = float(plain.missed(feed_speed(machine, CUT), scale)[0])
    error = np.sqrt(missed * (1 - missed) / n)
    assert 0.001 < missed < 0.9
    assert found.missed[0] == pytest.approx(missed, rel=0.02, abs=4 * error)
    assert found.missed[0] + found.too_late[0] + found.protected[0] == pytest.approx(1.0)
