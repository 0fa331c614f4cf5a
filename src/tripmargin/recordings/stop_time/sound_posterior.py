"""The posterior of a stop heard: click, catch and rest, and the time between first and last."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tripmargin.recordings.stop_time.options import SoundOptions
from tripmargin.recordings.stop_time.sound_decay import Decay, decay_of
from tripmargin.recordings.stop_time.sound_frames import Floats, Frames, frames_of, smoothed
from tripmargin.recordings.stop_time.sound_levels import table_of
from tripmargin.recordings.stop_time.sound_onsets import Knock, knocks_of

USUAL, SPREAD = 0.055, 0.65
"""Wide prior of a stop time: log-normal, s and in logarithms; 95 % within 15 to 200 ms."""
HEARD = 0.95
"""Chance, beforehand, that the button's click can be heard at all."""
OTHER, OTHER_NEAR, NEAR = 0.05, 0.3, 0.012
"""Chance, beforehand, that the sound holds another knock of the chain at a given place: relay or
plunger; within so many s before the catch, and after it, a pawl's."""
LEAST_CATCH = 4e-3
"""s at least from click to catch."""
LONGEST = 0.6
"""s at most from click to rest."""
GRID = 1e-4
"""s of the grid on which the stop time's probabilities are added up."""
ROUGH = 5e-4
"""s, standard deviation: how far the model's rest may be from the roll's."""


@dataclass(frozen=True)
class Heard:
    """What was heard around one stop.

    Attributes
    ----------
    knocks
        Knocks before the rest.
    chances
        Chance of each to be the button's click; what is missing to 1: it is none of them.
    decay
        Posterior of catch and rest, whichever knock is the click.
    given
        Probabilities of catch and rest, (knocks, catches, durations), if a knock is the click.
    contrast
        Running roll's power over the background's, median over lines.
    frames
        The frames used.
    """

    knocks: tuple[Knock, ...]
    chances: Floats
    decay: Decay
    given: Floats
    contrast: float
    frames: Frames

    @property
    def unheard(self) -> float:
        """Chance that the click is none of the knocks."""
        return max(1 - float(self.chances.sum()), 0.0)


Prior = Callable[[Floats], Floats]


def usual_stop(times: Floats) -> Floats:
    """Density of the wide prior."""
    safe = np.maximum(times, 1e-5)
    inside = np.exp(-0.5 * ((np.log(safe) - np.log(USUAL)) / SPREAD) ** 2)
    density = inside / (safe * SPREAD * np.sqrt(2 * np.pi))
    return np.where((times > 0) & (times < LONGEST), density, 0.0)


def prior_of(options: SoundOptions) -> Prior:
    """What is likely beforehand: any usual stop, or the machine's own where it is asked for."""
    if options.machine is None or options.cut_length is None:
        return usual_stop
    from tripmargin.stopping import stop_chain

    time = stop_chain(options.machine, cut_length=options.cut_length).stop_time
    middle, sd = float(time), max((time.high - time.low) / 4, 1e-3)

    def density(times: Floats) -> Floats:
        bell = np.exp(-0.5 * ((times - middle) / sd) ** 2) / (sd * np.sqrt(2 * np.pi))
        return np.asarray(0.95 * bell + 0.05 * usual_stop(times))

    return density


def heard_of(samples: Floats, rate: float, start: float, coarse: float, prior: Prior) -> Heard:
    """What is heard around a coarse instant of rest, s.

    Parameters
    ----------
    samples
        (n, channels), the first at `start`, s; some 0.8 s before the rest and 0.45 s after it.
    prior
        Density of the stop time, s.
    """
    frames = frames_of(samples, rate, start)
    for _ in range(3):
        running = (max(coarse - 0.8, start), max(coarse - 0.25, start + 0.1))
        knocks = knocks_of(samples, rate, start, running, coarse + 0.06)
        table = table_of(frames, coarse)
        decay = decay_of(table, coarse, _catch_prior(knocks))
        middle = _middle(decay)
        if abs(middle - coarse) < 0.012:
            break
        coarse = min(max(middle, float(frames.times[0]) + 0.1), float(frames.times[-1]) - 0.05)
    rest = float((decay.chance * decay.rests).sum())
    some = tuple(knock for knock in knocks if rest - LONGEST < knock.time < rest)
    return _joined(some, decay, rest, prior, table.contrast, frames)


def _middle(decay: Decay) -> float:
    """Where the noise is well down, as the coarse instant means it."""
    at = decay.catches[:, None] + decay.durations * 0.67
    return float((decay.chance * at).sum())


def _catch_prior(knocks: Sequence[Knock]) -> Prior:
    """The catch is heard as one of the knocks, most often; each by how sure it is."""
    sure = np.array([knock.odds / (knock.odds + 20) for knock in knocks])
    audible = 0.9 * (1 - np.prod(1 - sure)) if len(sure) else 0.0

    def density(times: Floats) -> Floats:
        made = np.full(len(times), (1 - audible) / 0.13)
        for knock, weight in zip(knocks, sure, strict=True):
            if weight > 0.02:
                sd = float(np.hypot(knock.sd, 6e-4))
                bell = np.exp(-0.5 * ((times - knock.time) / sd) ** 2) / (sd * np.sqrt(2 * np.pi))
                made += audible * weight / sure.sum() * bell
        return made

    return density


def _joined(
    knocks: tuple[Knock, ...], decay: Decay, rest: float, prior: Prior, contrast: float,
    frames: Frames,
) -> Heard:  # fmt: skip
    """Click, catch and rest together: the catch comes after the click."""
    any_catch = _catch_prior(knocks)(decay.catches)
    likely = decay.chance / any_catch[:, None]
    made, weights = [], []
    for knock in knocks:
        later = [each for each in knocks if each.time > knock.time + LEAST_CATCH]
        allowed = (decay.catches > knock.time + LEAST_CATCH) * _catch_prior(later)(decay.catches)
        both = likely * allowed[:, None]
        weights.append(both.sum())
        made.append(both / max(both.sum(), 1e-300))
    catch = float(decay.chance.sum(axis=1) @ decay.catches)
    logs, none = _click(knocks, catch, rest, prior)
    logs = logs + np.log(np.maximum(weights, 1e-300))
    none += np.log(likely.sum() / 0.13)
    top = max([none, *logs])
    chances, unheard = np.exp(logs - top), np.exp(none - top)
    total = chances.sum() + unheard
    whole = (
        unheard * decay.chance + sum(c * m for c, m in zip(chances, made, strict=True))
    ) / total
    given = np.array(made).reshape(len(made), *decay.chance.shape)
    joined = Decay(decay.catches, decay.durations, whole)
    return Heard(knocks, np.asarray(chances / total), joined, given, contrast, frames)


def _click(
    knocks: Sequence[Knock], catch: float, rest: float, prior: Prior
) -> tuple[Floats, float]:
    """Log weight of each knock to be the click, and of none, from how loud they are and when.

    The click comes first: knocks after it may be the chain's, a knock before it would have to be
    the machine's own.
    """
    if not knocks:
        return np.empty(0), 0.0
    times = np.array([knock.time for knock in knocks])
    odds = np.clip([knock.odds for knock in knocks], 1e-9, 1e12)
    other = np.where(times > catch - NEAR, OTHER_NEAR, OTHER)
    later = np.log(1 - other + other * odds)
    after = np.concatenate([np.cumsum(later[::-1])[::-1][1:], [0.0]])
    room = np.gradient(times) if len(times) > 1 else np.array([5e-3])
    weight = prior(rest - times) * np.abs(room) * HEARD
    return np.log(np.maximum(weight, 1e-300)) + np.log(odds) + after, np.log(
        1 - HEARD
    ) + later.sum()


def stop_density(
    heard: Heard, prior: Prior, boxes: Sequence[tuple[float, float]]
) -> tuple[Floats, Floats]:
    """Density of the stop time on a grid, s.

    Parameters
    ----------
    boxes
        Least and greatest of what is to be taken off, s, anything between alike.
    """
    grid = np.arange(-0.05, LONGEST + 0.1, GRID)
    edges = np.append(grid, grid[-1] + GRID) - GRID / 2
    total = np.where(grid > 0, prior(grid), 0)
    total *= heard.unheard / max(float(total.sum()), 1e-300)
    rests = heard.decay.rests.ravel()
    for knock, chance, given in zip(heard.knocks, heard.chances, heard.given, strict=True):
        if chance > 1e-4:
            found, _ = np.histogram(rests - knock.time, edges, weights=given.ravel())
            sd = float(np.hypot(knock.sd, ROUGH))
            total = total + chance * smoothed(found.astype(float), _bell(sd))
    for low, high in boxes:
        count = max(round((high - low) / GRID), 1)
        total = smoothed(total, np.ones(count) / count)
        grid = grid - (low + high) / 2
    total = np.maximum(total, 0)
    return grid, total / total.sum()


def _bell(sd: float) -> Floats:
    reach = int(4 * sd / GRID) + 1
    x = np.arange(-reach, reach + 1) * GRID
    bell = np.exp(-0.5 * (x / sd) ** 2)
    return np.asarray(bell / bell.sum())


def quantiles(values: Floats, chances: Floats, at: Sequence[float]) -> Floats:
    """Quantiles of values with chances."""
    order = np.argsort(values)
    total = np.cumsum(chances[order])
    return np.interp(at, (total - 0.5 * chances[order]) / total[-1], values[order])
