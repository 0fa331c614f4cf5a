"""The season's review: what the records hold, with the statistics' own intervals."""

from datetime import UTC, date, datetime

import pytest

from tests.reports.paper.conftest import require_whole_pages, text_of
from tests.reports.paper.fleets import DAYS, TOOTH, entry, made_fleet
from tests.yard import person, sqlite_records, sqlite_with_tables
from tripmargin.ground.languages import speaking
from tripmargin.ground.units import percent
from tripmargin.records.kinds import KINDS
from tripmargin.records.statistics import rate_interval, share_interval
from tripmargin.reports.paper.reading import ReportError
from tripmargin.reports.paper.season import season_review
from tripmargin.reports.paper.season_log import Season
from tripmargin.reports.paper.typesetting import pdf_of

__all__ = ["person", "sqlite_records", "sqlite_with_tables"]

SEASON = "What was entered in the season"
FOUND = ("wire", "bolt or nut")
MADE = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)
YEAR = Season(date(2026, 1, 1), date(2026, 11, 29))


@pytest.fixture
def machines(sqlite_records, person):
    return made_fleet(person("Ida"))


def of(document, name):
    return next(one for one in document.data["machines"] if one["machine"] == name)


@pytest.mark.usefixtures("machines")
def test_counts_and_intervals_are_those_of_the_statistics():
    document = season_review(YEAR, made=MADE)
    season = of(document, "Whimbrel")["season"]
    # Exact limits: Clopper and Pearson 1934, Garwood 1936, by records.statistics.
    share = share_interval(DAYS - 1, DAYS).to_dict()
    assert season["share_of_checks_that_tripped"] == share
    watched = 3600.0 * 5 * (DAYS - 1)
    assert season["exposure_s"] == watched
    assert season["trips_per_s"] == rate_interval(3, watched).to_dict()
    assert season["false_trips_per_s"] == rate_interval(1, watched).to_dict()
    kinds = [one["kind"] for one in of(document, "Whimbrel")["events"]]
    assert kinds == ["trip", "trip", "false trip", "missed metal", "part replaced", "trip"]


@pytest.mark.usefixtures("machines")
def test_all_machines_together_and_each_by_itself_stand_on_paper():
    made = pdf_of(season_review(YEAR, made=MADE))
    text = text_of(made)
    both = share_interval(2 * (DAYS - 1), 2 * DAYS)
    assert (
        f"{percent(both.value)} ({percent(both.confidence)} interval: {percent(both.low)}" in text
    )
    assert f"{2 * (DAYS - 1)} of {2 * DAYS} of all machines together" in text
    wire, bolt = (KINDS["trip"].field_of("found").words(one, us=False) for one in FOUND)
    assert f"{wire} 4" in text
    assert f"{bolt} 2" in text
    assert f"What was found? {wire}" in text
    assert "plunger spring" in text
    assert "".join(TOOTH.split()) in "".join(text.split())
    require_whole_pages(made)


def test_a_check_that_tripped_with_a_step_not_as_expected_did_not_pass(machines):
    from tripmargin.records.store.models import Entry

    odd = {"tripped": True, "reset": True, "lamps": True, "lamps/check pressed": False}
    before = of(season_review(YEAR, made=MADE), "Whimbrel")
    assert before["checks_passed"] == DAYS - 1
    Entry.objects.bulk_create([entry(machines[0], "daily check", 150.0, odd)])
    document = season_review(YEAR, made=MADE)
    found = of(document, "Whimbrel")
    assert (
        found["season"]["share_of_checks_that_tripped"] == share_interval(DAYS, DAYS + 1).to_dict()
    )
    assert found["checks_passed"] == DAYS - 1
    table = next(one for one in document.blocks if getattr(one, "title", "") == SEASON)
    whimbrel = next(row for row in table.rows if row[0] == "Whimbrel")
    assert (table.headers[1:4], whimbrel[1:4]) == (
        ("Checks", "Tripped", "Passed"),
        (f"{DAYS + 1}", f"{DAYS}", f"{DAYS - 1}"),
    )


@pytest.mark.usefixtures("machines")
def test_visits_come_in_the_order_of_the_fleet():
    from tripmargin.records.standing.fleet import fleet

    document = season_review(YEAR, made=MADE)
    visits = fleet(MADE)
    assert [one["machine"] for one in document.data["machines"]] == [v.glance.name for v in visits]
    text = text_of(pdf_of(document))
    assert visits[0].reason in text


@pytest.mark.usefixtures("machines")
def test_only_the_season_counts_but_what_is_due_is_of_today():
    may = Season(date(2026, 5, 4), date(2026, 5, 31))
    document = season_review(may, made=MADE)
    found = of(document, "Whimbrel")
    assert found["season"]["share_of_checks_that_tripped"] == share_interval(28, 28).to_dict()
    assert [one["kind"] for one in found["events"]] == ["trip"]
    whole = of(season_review(YEAR, made=MADE), "Whimbrel")
    assert found["due"] == whole["due"] != []


def test_trips_that_no_hours_belong_to_are_named_beside_the_rate(machines):
    from tripmargin.records.store.models import Entry

    late = entry(machines[0], "trip", 200.7, {"found": "wire"})  # long after the last reading
    Entry.objects.bulk_create([late])
    text = text_of(pdf_of(season_review(YEAR, made=MADE)))
    assert "Trips: 1 of 7 entered are not counted in this rate." in text
    assert "Trips: 1 of 4 came outside the first and last reading" in text
    assert "False trips: 1 of" not in text
    assert "Visit 1: " in text


@pytest.mark.usefixtures("machines")
def test_what_is_due_is_said_in_the_language_of_the_report():
    with speaking("de"):
        text = text_of(pdf_of(season_review(YEAR, made=MADE)))
    for english in ("daily check", "Mend first", "pawl gaps", "Before the next work"):
        assert english not in text


def test_a_machine_that_was_never_proved_is_proved_once(machines):
    from tripmargin.records.standing.proving_versions import prove_what_never_was

    told = []
    # Two of the three are known; the third's file says too little, which is a verdict as well.
    assert prove_what_never_was(told.append) == 3
    assert told[-1] == 1.0
    assert prove_what_never_was() == 0
    assert "Not worked out yet" not in text_of(pdf_of(season_review(YEAR, made=MADE)))


def test_the_last_day_belongs_to_the_season(machines):
    from tripmargin.records.store.models import Entry

    late = entry(machines[0], "trip", 200.7, {"found": "wire"})  # 2026-11-20, in the evening
    Entry.objects.bulk_create([late])
    for last, many in ((date(2026, 11, 20), 4), (date(2026, 11, 19), 3)):
        document = season_review(Season(date(2026, 5, 1), last), made=MADE)
        kinds = [one["kind"] for one in of(document, "Whimbrel")["events"]]
        assert kinds.count("trip") == many


def test_one_odd_log_does_not_cost_the_review(machines):
    from tripmargin.records.store.models import Entry

    # Two checks within a second: figures refuse so short an interval.
    odd = [entry(machines[2], "daily check", day, {"tripped": True}) for day in (1.0, 1.00001)]
    Entry.objects.bulk_create(odd)
    text = text_of(pdf_of(season_review(YEAR, made=MADE)))
    assert "119 tripped" in text


def test_empty_records_have_a_review(sqlite_records):
    made = pdf_of(season_review(YEAR, made=MADE))
    assert "The records hold no machine yet." in text_of(made)


def test_a_season_that_ends_before_it_begins_is_refused():
    with pytest.raises(ReportError, match="ends on 2026-01-01, before it begins on 2026-01-02"):
        Season(date(2026, 1, 2), date(2026, 1, 1))


@pytest.mark.parametrize("day", [date(1969, 12, 31), date.max, date.min])
def test_days_that_no_log_holds_are_refused(day):
    with pytest.raises(ReportError, match="Allowed: from 1970-01-01 to 9998-12-31"):
        Season(day, day)


@pytest.mark.usefixtures("machines")
def test_the_same_records_give_the_same_bytes():
    assert pdf_of(season_review(YEAR, made=MADE)) == pdf_of(season_review(YEAR, made=MADE))
