"""The training record: drills as they were kept, of one person, and plainly no licence."""

from dataclasses import replace

import pytest

from tests.reports.paper.conftest import MADE, require_whole_pages, text_of
from tests.yard import person, sqlite_records, sqlite_with_tables
from tripmargin.drills import SETTING, DrillResult, Move, practised, score_of
from tripmargin.reports.paper.document import Table
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.reading import ReportError
from tripmargin.reports.paper.training import training_record
from tripmargin.reports.paper.typesetting import pdf_of

__all__ = ["person", "sqlite_records", "sqlite_with_tables"]

BEST = (Move("look", "armed: pawls", "in"), Move("mend", "mend F1", "mended", 12.0),
        Move("done", "", "mended"))  # fmt: skip
UNSAFE = Move("mend", "mend F1", "refused: not safe", caution="Engine off.", why="It runs.")


def result(day="2026-03-02", name="Ida", seed=1, moves=BEST, **more):
    score = score_of(moves, mended=True, best_minutes=12.0)
    made = DrillResult(
        "Whimbrel", "0123456789ab", seed, "feed stays stopped", "F1:open", "F1: fuse gone",
        "fuse", tuple(moves), BEST, score, f"{day}T09:00:00+01:00", name,
    )  # fmt: skip
    return replace(made, **more)


def test_every_drill_stands_with_its_points_and_the_best_route():
    results = [result("2026-03-09", seed=2, moves=(UNSAFE, *BEST)), result()]
    document = training_record(results, made=MADE, by="Robin Fen")
    text = text_of(pdf_of(document))
    assert "2026-03-02 Whimbrel A hidden fault: F1: fuse gone 100.0 12.0 12.0 0 1" in text
    assert "2026-03-09 Whimbrel A hidden fault: F1: fuse gone 70.0 12.0 12.0 1 2" in text
    assert "Ida practised 2 drills." in text
    assert "From 2026-03-02 to 2026-03-09." in text
    assert "Unsafe moves, all refused 1" in text
    assert "85.0" in text  # the mean of 100 and 70
    assert "Cautions that were broken; the moves were refused Caution Times Engine off. 1" in text


def test_what_ended_after_the_answer_was_shown_is_marked_and_not_in_the_mean():
    before = result("2026-03-09", seed=2, moves=(UNSAFE, *BEST))
    late = result()
    text = text_of(pdf_of(training_record([before, late], made=MADE, after=[late])))
    assert "Points on average, of 100 70.0" in text
    assert "Ended after the answer was shown, not in the mean 1" in text
    assert "F1: fuse gone (after the answer was shown) 100.0" in text
    alone = training_record([late], made=MADE, after=[late])
    assert "Points on average, of 100 none" in text_of(pdf_of(alone))


def test_it_says_that_it_is_no_licence_before_any_number():
    text = text_of(pdf_of(training_record([result()], made=MADE)))
    assert text.index("This protects the machine, not people.") < text.index("It is no licence")
    assert text.index("It is no licence") < text.index("Points on average")


def test_what_is_due_again_is_what_the_drills_say():
    results = [result(), result("2026-03-09", seed=2, moves=(UNSAFE, *BEST)),
               result("2026-03-10", kind=SETTING, fault=SETTING)]  # fmt: skip
    data = training_record(results, made=MADE).to_dict()["data"]
    assert data["practised"] == [one.to_dict() for one in practised(results)]
    assert [one["seed"] for one in data["drills"]] == [1, 2, 1]


def test_the_same_drill_given_twice_counts_once():
    document = training_record([result(), result()], made=MADE)
    assert len(document.data["drills"]) == 1


def test_results_of_several_people_need_a_name():
    both = [result(), result(name="Robin")]
    with pytest.raises(ReportError, match=r"of several people: Ida, Robin"):
        training_record(both, made=MADE)
    document = training_record(both, made=MADE, name="robin")
    assert (document.subject, len(document.data["drills"])) == ("Robin", 1)
    with pytest.raises(ReportError, match='No result is of "Wren"'):
        training_record(both, made=MADE, name="Wren")


def test_who_is_there_is_named_where_nobody_of_the_name_is():
    others = [*(f"Person {k}" for k in range(9)), "Ann Lark"]
    with pytest.raises(ReportError, match=r"Names in the results: Ida, Ann Lark, Person 0"):
        training_record([result(name="Ida")], made=MADE, name="a", others=others)
    with pytest.raises(ReportError, match=r"Names in the results: Ann Lark, Person 0"):
        training_record([], made=MADE, name="Ann", others=others)


def test_kinds_stand_in_words_and_not_in_ids():
    lesson = result(kind="would it stop", by_kind=(("slow feed", 50.0),), seed=2)
    document = training_record([result(kind="F1:open"), lesson], made=MADE)
    kinds = next(
        [row[0] for row in block.rows]
        for block in document.blocks
        if isinstance(block, Table) and block.headers[0] == "Kind"
    )
    assert sorted(kinds) == ["A hidden fault, last: F1: fuse gone", "slow feed"]


def test_without_a_result_there_is_no_record():
    with pytest.raises(ReportError, match="There is no result of a drill"):
        training_record([], made=MADE)


def test_drills_of_the_records_count_too(sqlite_records, person):
    from uuid import uuid4

    from tripmargin.records.keeping.practices import On, Player, begin_practice
    from tripmargin.records.store.models import PracticeResult
    from tripmargin.reports.paper.practice_log import names_in_log, results_from_log

    ida, robin = person("Ida"), person("Robin")
    for who, points in ((ida, 90.0), (robin, 80.0)):
        practice = begin_practice("fault", 1, On(demo="whimbrel"), by=Player(who), uid=uuid4())
        kept = result(name=who.name).to_dict()
        PracticeResult(practice=practice, points=points, unsafe=0, kept=kept).save()
    assert [one.name for one in results_from_log("ida").results] == ["Ida"]
    assert results_from_log("Wren").results == []
    assert names_in_log() == ["Ida", "Robin"]


def test_paper_and_page_are_whole(open_file, tmp_path, no_barrier, no_sideways):
    results = [result(f"2026-03-{day:02}", seed=day) for day in range(1, 29)]
    document = training_record(results, made=MADE)
    require_whole_pages(pdf_of(document))
    path = tmp_path / "training.html"
    path.write_text(html_of(document), "utf-8")
    page = open_file(path, (360, 740))
    no_barrier(page)
    no_sideways(page)
