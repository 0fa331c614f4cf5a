"""The feed path played: its instants and places are the race's own; and its table."""

import numpy as np
import pytest

from tests.pictures.reading import SVG, root_of, words_of
from tests.pictures.test_feed_path import CASES, CUTS, missed, part, runs_on, stop
from tripmargin import load_machine
from tripmargin.pictures import feed_path_picture, feed_path_table
from tripmargin.pictures.feed_path_motion import LEAD, PAUSE, rests_at
from tripmargin.pictures.lanes import lanes_of

SLOW = 20.0


def animation(node):
    """Of a group: instants, s of the viewer's, the values as rows of numbers, one round, s."""
    found = next(n for n in node.iter() if n.tag.startswith(f"{SVG}animate"))
    lasts = float(found.get("dur").removesuffix("s"))
    keys = np.array([float(k) for k in found.get("keyTimes").split(";")])
    values = np.array([[float(v) for v in row.split()] for row in found.get("values").split(";")])
    assert len(keys) == len(values)
    assert keys[0] == 0
    assert np.all(np.diff(keys) >= 0)
    if found.get("calcMode") == "linear":
        assert keys[-1] == 1
    return keys * lasts, values, lasts


def group_of(svg, name):
    """The group that holds a part."""
    groups = [n for n in root_of(svg).iter(f"{SVG}g") if any(c.get("data-part") == name for c in n)]
    return groups[-1]


def scale_of(svg):
    ruler = part(svg, "ruler")
    return (float(ruler.get("x2")) - float(ruler.get("x1"))) / float(ruler.get("data-length"))


@pytest.mark.parametrize("width", [320, 720])
@pytest.mark.parametrize("name", CUTS)
def test_the_piece_moves_exactly_as_the_race_says(name, width):
    machine, given = CASES[name]()
    svg = feed_path_picture(machine, given, width=width, playing=True, slow=SLOW)
    seconds, pixels, lasts = animation(group_of(svg, "piece"))
    ends, scale = rests_at(given), scale_of(svg)
    lead = (lasts - PAUSE) / SLOW - ends
    assert 0 < lead <= LEAD + 1e-3
    inside = given.times < ends
    drawn = np.interp((given.times[inside] + lead) * SLOW, seconds, pixels[:, 0])
    # A straight line from m to px, at the ruler's scale, with nothing but rounding beside it.
    slope, shift = np.polyfit(given.position[inside], drawn, 1)
    assert drawn == pytest.approx(shift + slope * given.position[inside], abs=0.01)
    assert slope == pytest.approx(scale, rel=2e-3)  # the ruler is written to a tenth of a px
    bar = float(part(svg, "shear bar edge").get("x1"))
    assert shift + slope * given.sensor_to_shear_bar.nominal == pytest.approx(bar, abs=0.06)
    # Each instant of the race is one of the keys, so that nothing is smoothed away.
    gaps = np.abs(seconds[:, None] - (given.times[inside] + lead) * SLOW).min(axis=0)
    assert gaps.max() < 1e-3 * SLOW
    assert np.ptp(pixels[:, 1]) == 0


def test_the_roll_turns_as_far_as_its_surface_runs_and_the_upper_one_against_it():
    given = stop("whimbrel")
    svg = feed_path_picture(load_machine("whimbrel"), given, playing=True)
    _, lower, lasts = animation(group_of(svg, "lower roll"))
    _, upper, _ = animation(group_of(svg, "upper roll"))
    lead = (lasts - PAUSE) / SLOW - rests_at(given)
    surface = np.ptp(given.position) / 0.97 + given.feed_speed * lead  # slip 0 to 6 %
    assert np.radians(lower[-1, 0] - lower[0, 0]) * 0.102 == pytest.approx(surface, rel=2e-3)
    assert upper == pytest.approx(-lower)


@pytest.mark.parametrize("name", CUTS)
def test_each_stage_lights_up_and_fills_when_it_happens(name):
    machine, given = CASES[name]()
    svg = feed_path_picture(machine, given, playing=True, slow=SLOW)
    lanes, _ = lanes_of(given.stages)
    for lane in lanes:
        seconds, lit, lasts = animation(part(svg, f"lit {lane.name}"))
        lead = (lasts - PAUSE) / SLOW - rests_at(given)
        assert lit[:, 0].tolist() == [0, 1, 0]
        expected = [lane.bars[0].begins, lane.bars[-1].ends]
        for bar in lane.bars:
            begun, wide, _ = animation(part(svg, f"bar {bar.stage.name}"))
            times = begun[(begun > 0) & (begun < lasts)] / SLOW - lead
            assert times == pytest.approx([bar.begins, bar.ends], abs=1e-6)
            assert wide[0, 0] == 0
            assert wide[-1, 0] > 0
        assert seconds[1:] / SLOW - lead == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("name", CUTS)
def test_each_pawl_drops_in_its_swing_and_its_ratchet_stands_once_it_has_caught(name):
    machine, given = CASES[name]()
    svg = feed_path_picture(machine, given, playing=True, slow=SLOW)
    lanes, _ = lanes_of(given.stages)
    for lane in lanes:
        pawl = lane.bars[0].stage.name.partition(" ")[2]
        if not pawl:
            continue
        swing, tooth = lane.bars
        seconds, angle, lasts = animation(group_of(svg, f"pawl {pawl}"))
        lead = (lasts - PAUSE) / SLOW - rests_at(given)
        assert seconds[1:4] / SLOW - lead == pytest.approx(
            [swing.begins, swing.ends, tooth.ends], abs=1e-6
        )
        assert angle[1, 0] > angle[2, 0] > angle[3, 0] == 0
        seconds, turn, _ = animation(group_of(svg, f"ratchet {pawl}"))
        standing = seconds / SLOW - lead >= tooth.ends - 1e-6
        assert np.all(turn[standing] == 0)
        # Nominal: half a pitch of waiting (the models page).
        at_swing = np.interp((swing.ends + lead) * SLOW, seconds, turn[:, 0])
        teeth = int(part(svg, f"ratchet {pawl}").get("data-teeth"))
        assert -at_swing == pytest.approx(180 / teeth, rel=0.02)


def test_the_clock_counts_whole_milliseconds_up_to_the_stop_time():
    given = stop("whimbrel")
    svg = feed_path_picture(load_machine("whimbrel"), given, playing=True, slow=SLOW)
    reads = {}
    for power in (1, 10):
        seconds, moved, lasts = animation(part(svg, f"clock {power}"))
        lead = (lasts - PAUSE) / SLOW - rests_at(given)
        for at in (0.0, 0.0005, 0.0275, 0.0495, 0.2):
            digit = moved[np.searchsorted(seconds, (at + lead) * SLOW, side="right") - 1, 1]
            reads[at] = reads.get(at, 0) + power * round(-digit / 36)
    assert reads == {0.0: 0, 0.0005: 0, 0.0275: 27, 0.0495: 49, 0.2: 51}
    assert given.stop_time.nominal == pytest.approx(0.0513, abs=1e-4)


def test_the_picture_says_how_slow_it_plays():
    given = stop("dunlin"), load_machine("dunlin")
    words = words_of(feed_path_picture(given[1], given[0], playing=True, slow=40))
    assert "It plays slowed 40 times, rests, and begins again." in words
    assert "slowed" not in words_of(feed_path_picture(given[1], given[0]))


def test_still_and_played_pictures_differ_only_in_what_moves():
    machine, given = load_machine("curlew"), stop("curlew")
    still, played = (feed_path_picture(machine, given, playing=p) for p in (False, True))
    assert "<animate" not in still
    assert played.count("<animate") > 15
    assert "begin=" not in played  # it plays as it is loaded
    for name in ("piece", "ratchet upper", "pawl upper"):
        assert group_of(still, name).get("transform") == group_of(played, name).get("transform")


def test_what_is_not_caught_or_runs_on_leaves_the_picture():
    for name, given in (("dunlin", missed()), ("whimbrel", runs_on())):
        svg = feed_path_picture(load_machine(name), given, playing=True, width=360)
        _, pixels, _ = animation(group_of(svg, "piece"))
        assert pixels[-1, 0] > 360 - 12
        assert np.all(np.diff(pixels[:, 0]) >= 0)
    assert "ms" not in {t.text for t in root_of(svg).iter(f"{SVG}text") if t.text == "51"}


def test_a_race_that_is_not_known_has_nothing_to_play():
    svg = feed_path_picture(load_machine("dunlin"), None, playing=True)
    assert "<animate" not in svg
    assert "It plays" not in words_of(svg)


@pytest.mark.parametrize("name", CUTS)
def test_the_table_tells_the_same_race(name):
    _, given = CASES[name]()
    headers, rows = feed_path_table(given)
    assert headers[0] == "time, ms"
    times, places, speeds, stages, left = (list(column) for column in zip(*rows, strict=True))
    assert times[0] == 0
    assert times[-1] == pytest.approx(given.stop_time.nominal * 1e3, abs=2e-3)
    expected = np.interp(np.array(times) / 1e3, given.times, given.position) * 1e3
    assert places == pytest.approx(expected.tolist(), abs=0.01)
    assert left[-1] == pytest.approx(given.margin.nominal * 1e3, abs=2e-2)
    assert stages[-1] == "at rest"
    assert {s.name.replace("_", " ") for s in given.stages} <= set(
        " and ".join(stages).split(" and ")
    )
    # The speed is the slope of the race's own course, away from the corner at the catch.
    slope = np.gradient(given.position, given.times)
    _, caught = lanes_of(given.stages)
    step = given.times[1]
    for t, v in zip(np.array(times) / 1e3, speeds, strict=True):
        if step < t < times[-1] / 1e3 - step and abs(t - caught) > 2 * step:
            assert v == pytest.approx(np.interp(t, given.times, slope), rel=0.02, abs=0.01)


def test_the_table_speaks_inches_and_of_pieces_that_nothing_stops():
    headers, rows = feed_path_table(stop("dunlin"), us=True)
    assert headers[1] == "place past the sensor's axis, in"
    assert headers[2] == "speed, ft/min"
    assert rows[0][2] == pytest.approx(stop("dunlin").metal_speed / 0.00508, rel=1e-3)
    _, rows = feed_path_table(missed())
    assert rows[-1][-1] == pytest.approx(0.0, abs=1e-9)
    assert rows[-1][3] == "not caught: no stage runs"
    with pytest.raises(ValueError, match="frames"):
        feed_path_table(stop("dunlin"), frames=1)
