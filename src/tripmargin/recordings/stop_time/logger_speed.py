"""The roll's rest from a speed signal that falls to its floor: a posterior over catch and rest."""

from __future__ import annotations

import numpy as np

from tripmargin.recordings.stop_time.logger_edges import usable
from tripmargin.recordings.stop_time.logger_pulses import Rest, usual_duration
from tripmargin.recordings.stop_time.result import Floats

BENDS = ((0.7, 0.1), (0.85, 0.2), (1.0, 0.4), (1.2, 0.2), (1.45, 0.1))
"""Speed goes as a power of the time left: the power, and its chance beforehand."""
LAGS = (0.0, 0.001, 0.004)
"""First-order lags of the sensor that are reckoned with, s."""
MOST, CLOSE = 20_000, 260
"""Samples that are looked at, and samples of a fit; more are averaged."""
STEPS = 28
STANDS = 0.3
"""s below the middle after which a roll stands."""
MISFIT = 0.01
"""Of the swing, standard deviation: no roll slows down quite as any such curve."""
INDEPENDENT = 6
"""So many places of the fall at which it may do so independently."""


def rest_from_speed(times: Floats, values: Floats, trip: float) -> Rest | None:
    """Posterior of catch and rest; None where the signal does not come down for good.

    Parameters
    ----------
    times, values
        Around the trip: s, and the signal in any unit.
    trip
        s.
    """
    good = usable(values)
    times, values = _averaged(times[good], values[good])
    running = times < trip
    if running.sum() < 5 or (~running).sum() < 5:
        return None
    speed = float(np.median(values[running]))
    after = values[~running]
    floor = float(min(np.quantile(after, [0.1, 0.9]), key=lambda end: -abs(speed - end)))
    noise = _noise(values[running])
    if abs(speed - floor) < 6 * noise or speed == floor:
        return None
    down = _comes_down((values - floor) / (speed - floor), times, trip)
    if down is None:
        return None
    stands = (times > down + STANDS / 3) & (times < down + STANDS)
    floor = float(np.median(values[stands])) if stands.sum() > 4 else floor
    share = (values - floor) / (speed - floor)
    near = times < down + STANDS
    return _fitted(times[near], share[near], noise / abs(speed - floor), trip, down)


def _averaged(times: Floats, values: Floats, most: int = MOST) -> tuple[Floats, Floats]:
    step = max(-(-len(times) // most), 1)
    count = len(times) // step
    cut = slice(0, count * step)
    return (
        times[cut].reshape(count, step).mean(axis=1),
        values[cut].reshape(count, step).mean(axis=1),
    )


def _noise(values: Floats) -> float:
    """Scatter about the running level, slow swings and all."""
    middle = np.median(values)
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    step = float(np.ptp(values)) / 200
    return max(spread, step, abs(float(middle)) * 1e-6)


def _comes_down(share: Floats, times: Floats, trip: float) -> float | None:
    """When the signal first passes the middle and stays below it, s."""
    high = share > 0.5
    late = np.flatnonzero(high & (times > trip))
    if not len(late):
        return None
    following = np.append(times[late[1:]], np.inf)
    stays = late[following - times[late] > STANDS]
    if not len(stays) or stays[0] >= len(share) - 3:
        return None
    return float(times[stays[0]])


def _fitted(times: Floats, share: Floats, noise: float, trip: float, down: float) -> Rest:
    after = times > trip
    alike = _alike(share[~after]) if (~after).sum() > 20 else 1.0
    reach = max(down - trip, 5 * float(np.median(np.diff(times))))
    catches = np.linspace(trip, down, STEPS)
    lengths = np.geomspace(1e-4, 6 * reach, STEPS)
    step = float(np.median(np.diff(times)))
    for _ in range(4):
        grid_c, grid_d = np.meshgrid(catches, lengths, indexing="ij")
        room = 0.3 * (lengths[-1] + catches[-1] - catches[0]) + 5 * step
        near = (times > catches[0] - room) & (times < catches[-1] + lengths[-1] + room)
        part_times, part = _averaged(times[near], share[near], CLOSE)
        merged = max(near.sum() / len(part), 1.0)
        fewer = max(alike / merged, 1.0)
        falling = float(np.exp(np.log(lengths).mean())) / float(np.median(np.diff(part_times)))
        misfit = MISFIT * np.sqrt(max(falling / INDEPENDENT, 1.0))
        each = float(np.hypot(noise / np.sqrt(min(merged, merged / alike + 1)), misfit))
        likely = _log_likelihood(part_times, part, grid_c, grid_d, each) / fewer
        some = likely > likely.max() - 14
        rows, columns = np.flatnonzero(some.any(axis=1)), np.flatnonzero(some.any(axis=0))
        catches = _closer(catches, rows)
        lengths = np.exp(_closer(np.log(lengths), columns))
    chance = np.exp(likely - likely.max()) * usual_duration(grid_d)
    chance /= chance.sum()
    return Rest(grid_c.ravel(), (grid_c + grid_d).ravel(), chance.ravel(), down, step, 0)


def _closer(values: Floats, some: np.ndarray) -> Floats:
    low, high = max(int(some[0]) - 1, 0), min(int(some[-1]) + 1, len(values) - 1)
    return np.linspace(values[low], values[high], STEPS)


def _alike(share: Floats) -> float:
    """Over how many samples the noise stays as it is."""
    beyond = share - share.mean()
    spectrum = np.abs(np.fft.rfft(beyond, 2 * len(beyond))) ** 2
    found = np.fft.irfft(spectrum)[: len(beyond)]
    if found[0] <= 0:
        return 1.0
    found = found / found[0]
    until = int(np.argmax(found < 0.1)) or len(found)
    return float(1 + 2 * np.clip(found[1:until], 0, None).sum())


def _log_likelihood(
    times: Floats, share: Floats, catches: Floats, lengths: Floats, spread: float
) -> Floats:
    """Of each catch and duration; bends and lags are averaged over."""
    whole = []
    step = float(np.median(np.diff(times)))
    for bend, prior in BENDS:
        since = (times[:, None] - catches.ravel()) / lengths.ravel()
        model = np.clip(1 - since, 0, 1) ** bend
        for lag in LAGS:
            seen = _lagged(model, step, lag) if lag else model
            miss = ((share[:, None] - seen) / spread) ** 2
            total = -0.5 * np.minimum(miss, 25).sum(axis=0)
            whole.append(total.reshape(catches.shape) + np.log(prior / len(LAGS)))
    top = np.max(whole, axis=0)
    return np.asarray(top + np.log(sum(np.exp(each - top) for each in whole)))


def _lagged(model: Floats, step: float, lag: float) -> Floats:
    """As a sensor with a first-order lag gives it."""
    from scipy.signal import lfilter

    keep = float(np.exp(-step / lag))
    start = keep * model[:1]
    return np.asarray(lfilter([1 - keep], [1, -keep], model, axis=0, zi=start)[0])
