"""The chart's page for paper: the way in, no caution left out, nothing said that is not so."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from html import unescape

import pytest

from tests.faultfinding.charting import chart_of
from tripmargin.faultfinding.cases.cautions import (
    AT_REST,
    FIRST,
    LIVE,
    NEVER_LOCKED,
    RUNNING,
    TWO_LIVE,
    TWO_RUNNING,
)
from tripmargin.faultfinding.charts.chart_steps import ChartStep, ComplaintChart
from tripmargin.pictures.chart_cautions import (
    CautionSet,
    caution_sets,
    own_cautions,
    sets_after,
)
from tripmargin.pictures.chart_page import Group, Missing, chart_page
from tripmargin.pictures.chart_page_steps import few_words
from tripmargin.pictures.chart_page_style import css_text
from tripmargin.pictures.chart_ways import chain_to, states_before, stays, way_words
from tripmargin.pictures.page import Section


@lru_cache(maxsize=1)
def page() -> str:
    groups = (
        Group("The daily test", (Section("The daily test", ["1. Press it."]),)),
        Group("Tables", (Section("One", ["a"]), Section("Two", ["b"], wide=True))),
    )
    return chart_page(
        "Fault chart",
        foot="Whimbrel, machine file 0123",
        cautions=AT_REST,
        chart=chart_of(),
        groups=groups,
        missing=(Missing("it smells", "It smells of rubber."),),
    )


@lru_cache(maxsize=1)
def complaints() -> dict[int, ComplaintChart]:
    """By their sections' numbers."""
    return dict(enumerate(chart_of().complaints, start=1))


@lru_cache(maxsize=1)
def drawn() -> dict[str, str]:
    """HTML of each step by its anchor."""
    found = re.findall(r'<div class="step \w+" id="(s\d+-\d+)">(.*?)</ul></div>', page())
    return dict(found)


def every_step() -> list[tuple[str, ChartStep]]:
    return [(f"s{k}-{s.id}", s) for k, each in complaints().items() for s in each.steps]


def words_of(html: str) -> str:
    return unescape(re.sub(r"<[^>]+>", "", html))


def test_the_contents_lead_to_every_complaint_and_its_first_step_and_every_table() -> None:
    contents = page()[page().index("<nav") : page().index("</nav>")]
    for k, each in complaints().items():
        assert f'<a href="#s{k}">{each.complaint}</a>: ' in contents
        assert each.says in unescape(contents)
        assert f'<a href="#s{k}-1">section {k}, step 1</a>' in contents
    last = len(complaints())
    for anchor in (f"s{last + 1}", f"s{last + 2}", f"s{last + 2}-1", f"s{last + 2}-2"):
        assert f'href="#{anchor}"' in contents


def test_every_link_leads_to_one_place_on_the_page() -> None:
    ids = re.findall(r' id="([^"]+)"', page())
    assert len(ids) == len(set(ids))
    links = re.findall(r'href="([^"]+)"', page())
    assert len(links) > 500
    assert {link.removeprefix("#") for link in links} <= set(ids)
    assert all(link.startswith("#") for link in links)


def test_every_step_is_there_once_and_every_branch_leads_on() -> None:
    assert list(drawn()) == [anchor for anchor, _ in every_step()]
    for anchor, step in every_step():
        section = anchor.partition("-")[0]
        for branch in step.branches:
            if branch.to is not None:
                assert f'href="#{section}-{branch.to}"' in drawn()[anchor]


def test_a_complaint_that_nothing_leads_to_is_named_last_in_the_contents() -> None:
    contents = words_of(page()[page().index("<nav") : page().index("</nav>")]).strip()
    assert contents.endswith(
        "it smells (It smells of rubber): no listed fault of this machine leads to it, so there is"
        " no page for it."
    )


def test_every_step_that_sends_hands_near_has_its_cautions_whole_in_its_own_section() -> None:
    sent = [(anchor, step) for anchor, step in every_step() if step.cautions]
    assert len(sent) == len(every_step())
    for anchor, step in sent:
        mark = re.search(r'class="heed"><a href="#(s\d+-[A-Z])">(.*?)</a>', drawn()[anchor])
        assert mark is not None
        assert mark[1].partition("-")[0] == anchor.partition("-")[0]
        head = re.search(rf'<li id="{mark[1]}"><b>{mark[2]}</b> (.*?)</li>', page())
        assert head is not None
        whole = f"{FIRST} {unescape(head[1])}"
        assert all(caution in whole for caution in step.cautions)
    assert unescape(page()).count(FIRST) == len(complaints())


@pytest.mark.parametrize(
    ("cautions", "said"),
    [
        (AT_REST, ("engine off", "key out", "rest", "stored energy", "rolls blocked")),
        (LIVE, ("engine off", "plunger", "pawls", "rolls blocked", "probes", "second person")),
        ((*LIVE, TWO_LIVE), ("probes", "two people", "signs agreed", "key out", "keeps it")),
        ((*RUNNING, NEVER_LOCKED), ("tools out", "guards", "clear", "out of reach", "locked out")),
        ((*RUNNING, TWO_RUNNING, NEVER_LOCKED), ("two people", "sign of the one outside", "key")),
    ],
)
def test_a_reminder_says_each_caution_in_short(
    cautions: tuple[str, ...], said: tuple[str, ...]
) -> None:
    sets = caution_sets(step for _, step in every_step())
    short = sets[cautions].short.lower()
    assert all(words in short for words in said)
    shown = [drawn()[a] for a, s in every_step() if own_cautions(s) == cautions]
    assert shown
    assert all(sets[cautions].short in words_of(html) for html in shown)


def test_a_caution_without_short_words_stands_whole() -> None:
    assert CautionSet("A", ("Mind the chute.", AT_REST[2])).short == (
        "Mind the chute. Feed rolls blocked."
    )


def test_looks_after_the_daily_test_have_the_cautions_of_their_states() -> None:
    steps = [step for _, step in every_step()]
    sets = caution_sets(steps)
    running = sets[(*RUNNING, TWO_RUNNING, NEVER_LOCKED)]  # the rolls are watched from outside
    state = next(step.state for step in steps if RUNNING[0] in step.cautions)
    mend = next(step for step in steps if step.kind == "repair")
    asked = replace(mend, also=(f"{state}: rolls",))
    assert sets_after(asked, steps, sets) == (running,)
    assert sets_after(replace(mend, also=("on the moon: rolls",)), steps, sets) == tuple(
        sets.values()
    )
    assert sets_after(replace(mend, also=()), steps, sets) == ()
    for anchor, step in every_step():
        section = anchor.partition("-")[0]
        for one in sets_after(step, steps, sets):
            assert f'href="#{section}-{one.letter}"' in drawn()[anchor]
            assert f'<li id="{section}-{one.letter}">' in page()


def test_a_way_is_left_out_only_where_every_way_here_ends_in_that_state() -> None:
    left_out = 0
    for k, each in complaints().items():
        steps = {step.id: step for step in each.steps}
        arrivals: set[tuple[int, str | None]] = set()
        waiting: list[tuple[int, str | None]] = [(1, None)]
        while waiting:
            come = waiting.pop()
            if come in arrivals:
                continue
            arrivals.add(come)
            step = steps[come[0]]
            left = step.state if step.kind == "look" else None
            waiting += [(b.to, left) for b in step.branches if b.to is not None]
        for number, step in steps.items():
            came = {state for at, state in arrivals if at == number}
            said = words_of(drawn()[f"s{k}-{number}"])
            still = f"Still in: {step.state}." in said
            assert still == (came == {step.state})
            last = chain_to(chart_of(), step.state)[-1].do
            assert still or last in said
            left_out += still
    assert left_out > 20


def test_a_way_is_said_from_where_the_machine_was_left() -> None:
    chart = chart_of()
    state = next(one for one in chart.states if one.after and len(chain_to(chart, one.name)) > 2)
    whole = " ".join(one.do for one in chain_to(chart, state.name))
    onward = way_words(chart, state.name, frozenset({state.after}))
    assert onward == f"From {state.after} into {state.name}: {state.do}"
    assert way_words(chart, state.name, frozenset({None})).endswith(f", from rest: {whole}")
    either = way_words(chart, state.name, frozenset({None, state.name}))
    assert either.endswith(f", if it is not in it already: {whole}")
    assert stays(state.name, frozenset({state.name}))
    assert not stays(state.name, frozenset({None, state.name}))


def test_the_first_step_is_reached_from_rest_and_a_failed_test_leaves_no_known_state() -> None:
    for each in complaints().values():
        before = states_before(each)
        assert None in before[1]
        for step in each.steps:
            if step.kind != "look":
                assert all(None in before[b.to] for b in step.branches if b.to is not None)


def test_a_complaint_that_paper_seldom_mends_says_so_and_why() -> None:
    for k, each in complaints().items():
        section = page()[page().index(f'<section id="s{k}"') :].partition("</section>")[0]
        assert ('class="few"' in section) == (each.leads < 0.5)


def test_the_greater_loss_is_the_reason() -> None:
    each = chart_of().of("stops on nothing")
    slips = few_words(replace(each, leads=0.4, leads_without_slips=0.8))
    assert "misread or left open" in slips
    first = each.steps[0]
    steady = tuple(replace(one, id="F1:open") for one in first.likely)
    away = replace(first, likely=(*steady, replace(steady[0], id="X1:open at times")))
    fewer = replace(each, leads=0.1, leads_without_slips=0.3)
    assert "comes and goes" in few_words(replace(fewer, steps=(away,)))
    plain = few_words(replace(fewer, steps=(replace(first, likely=steady),)))
    assert "rare or not listed" in plain
    assert all("tripmargin find-fault goes further." in said for said in (slips, plain))


def test_it_prints_on_a4_with_sections_on_their_own_pages_and_needs_nothing_else() -> None:
    style = page()[page().index("<style>") : page().index("</style>")]
    assert "size: A4;" in style
    assert "counter(page)" in style
    assert re.search(r"\.step \{[^}]*break-inside: avoid", style)
    assert re.search(r"\.paper \{[^}]*break-before: page", style)
    for k, each in complaints().items():
        assert f'@top-left {{ content: "{k}  {each.complaint}";' in style
        assert f'<section id="s{k}" class="on-s{k} paper' in page()
    assert "<script" not in page()
    assert "http" not in page()
    assert "url(" not in page()


def test_a_name_cannot_end_the_style_or_a_string_in_it() -> None:
    made = chart_page("T", foot='Du"n</style><b>\\', cautions=())
    assert made.count("</style>") == 1
    assert "<b>" not in made
    assert css_text("a\nb") == "a\\a b"
