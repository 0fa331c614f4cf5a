"""A drill that is played in two languages is one drill: what is kept is in English."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.marked_language import OPEN, marked_language
from tests.web.drills.playing import begun, moved, sent, text_of
from tripmargin import drills
from tripmargin.machine import load_machine
from tripmargin.records.store.models import PracticeResult

Make = Callable[..., Any]


@pytest.mark.parametrize("kind", ["fault", "setting"])
def test_a_drill_goes_on_in_another_language(browser_as: Make, kind: str, tmp_path: Path) -> None:
    with marked_language(tmp_path) as marked:
        _play(browser_as(1), kind, marked)


def _play(client: Any, kind: str, marked: str) -> None:
    best: Any = (
        drills.setting_drill(load_machine("dunlin"), seed=1)
        if kind == "setting"
        else drills.drill(_problem(), seed=7)
    )
    practice = begun(client, kind, best.seed)
    base = f"/practise/{practice.uid}/"
    for k, move in enumerate(best.best.moves):
        client.cookies["tripmargin_language"] = marked if k % 2 else "en"
        answer = moved(client, base, **sent(move))
        assert answer.status_code == 200
    client.cookies["tripmargin_language"] = marked
    page = text_of(client.get(base))
    assert "100" in page
    assert OPEN in page
    kept = PracticeResult.objects.get(practice=practice)
    assert kept.points == pytest.approx(100.0, rel=1e-9)
    english = drills.result_from(kept.kept)
    assert english.score.parts[0].name in ("mended", "set")
    assert [move.came for move in english.moves] == [move.came for move in best.best.moves]


def _problem() -> Any:
    from tests.web.drills.playing import problem

    return problem()
