"""MDF4 (and 3) through asammdf: one channel group, some thousands of records at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.mdf_links import refuse_rings
from tripmargin.recordings.reading.mdf_opening import opened
from tripmargin.recordings.reading.mdf_time import Clock, clock_elsewhere
from tripmargin.recordings.reading.naming import names_time
from tripmargin.recordings.reading.options import Options
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.table import Page, survey
from tripmargin.recordings.reading.time_watch import TimeWatch
from tripmargin.recordings.reading.unpacking import refuse_too_much
from tripmargin.recordings.recording import Channel, Guess, Recording, Trouble

Floats = NDArray[np.float64]
_RECORDS = 1 << 16  # at a time
_PAGE = 1 << 26  # bytes of records at a time
_TIME = 1  # a master channel's kind of axis: seconds (ASAM MDF 4.1, from memory)
_LISTED = 12


@dataclass(frozen=True)
class MdfGroup:
    """A channel group: its number from 1, its clock, and its channels of numbers by their index."""

    number: int
    name: str
    records: int
    clock: Clock | None
    indices: tuple[int, ...]
    channels: tuple[Channel, ...]
    words: tuple[str, ...]  # names of channels that hold no numbers
    there: int  # records that its data blocks can hold, unpacked
    page: int  # records at a time

    @property
    def numbers(self) -> int:
        """That are to be read, whatever the file promises."""
        return min(self.records, self.there) * (len(self.indices) + (self.clock is not None))


@dataclass(frozen=True)
class MdfPages:
    """The records of one channel group."""

    original: Original
    group: MdfGroup

    def pages(self, columns: Sequence[int], first: int = 0) -> Iterator[Page]:
        """Pages of some channels, by their numbers from 0."""
        group = self.group
        with opened(self.original) as file:
            for begin in range(first * group.page, group.records, group.page):
                count = min(group.page, group.records - begin)
                stamps = None
                if (clock := group.clock) is not None:
                    stamps = _numbers(file, clock.group, clock.index, begin, count) * clock.factor
                values = [
                    _numbers(file, group.number, group.indices[k], begin, count) for k in columns
                ]
                rows = min((len(each) for each in (stamps, *values) if each is not None), default=0)
                if not rows:
                    return
                table = np.column_stack([each[:rows] for each in values] or [np.empty((rows, 0))])
                yield Page(None if stamps is None else stamps[:rows], table)
                if rows < count:
                    return


def _numbers(file: Any, group: int, index: int, begin: int, count: int) -> Floats:
    """A channel's values, nan where they are marked as invalid; fewer where the file is cut off."""
    try:
        samples, invalid = _samples(file, group - 1, index, begin, count)
    except Exception:  # the library raises whatever a block that is cut off leads to
        return np.empty(0)
    values = np.asarray(samples, dtype=np.float64)
    if invalid is not None and len(invalid) == len(values):
        values = np.where(np.asarray(invalid, dtype=bool), np.nan, values)
    return values


def _samples(file: Any, group: int, index: int, begin: int, count: int) -> tuple[Any, Any]:
    """Samples and their marks; where a channel turns numbers into words, the numbers."""
    for raw in (False, True):
        samples, invalid = file.get(
            group=group,
            index=index,
            record_offset=begin,
            record_count=count,
            samples_only=True,
            raw=raw,
        )
        if samples.dtype.kind in "iufb":
            break
    return samples, invalid


def read_mdf(original: Original, options: Options, kind: str) -> Recording:
    """A recording from one channel group of an MDF file.

    Raises
    ------
    RecordingError
        Where the library is missing, the file is damaged, or the group asked for is not there.
    """
    options.only_for(original.path, kind, "group", "rate", "units")
    refuse_rings(original, kind)
    with opened(original) as file:
        groups = [each for k in range(len(file.groups)) if (each := _group(file, k)) is not None]
        began = file.start_time.replace(tzinfo=None).isoformat() if file.start_time else ""
        group, guesses = _chosen(groups, options, original)
        if group.clock is None and options.rate is None:
            group, more = _with_clock(file, group, groups, options)
            guesses += more
    if group.clock is None and options.rate is None:
        raise refusal(
            original.path,
            say(
                "this channel group has no time, and no other group of as many records has"
                " the only one"
            ),
            where="group",
            value=str(group.number),
            allowed=say("a group with a time channel, or the rate"),
            hint=say("Say rate=1000 (samples a second), or another group."),
        )
    refuse_too_much(original, group.numbers)
    guesses += [
        Guess("left out", name, say("it holds no numbers"), "group") for name in group.words
    ]
    channels = tuple(
        replace(each, unit=options.units.get(each.name, each.unit)) for each in group.channels
    )
    watch = TimeWatch(original.path)
    made = survey(
        original, kind, MdfPages(original, group), channels, watch, options,
        timed=group.clock is not None, guesses=tuple(guesses), began=began,
    )  # fmt: skip
    if watch.rows < group.records:
        words = say(
            "The file breaks off: {records} records are promised, {rows} can be read and were.",
            records=group.records,
            rows=watch.rows,
        )
        cut = Trouble("truncated", words, made.duration)
        made = replace(made, troubles=(cut, *made.troubles))
    return made


def _group(file: Any, k: int) -> MdfGroup | None:
    """A channel group with its channels of numbers; None where it has no record."""
    found = file.groups[k]
    records = int(found.channel_group.cycles_nr)
    size = int(found.channel_group.samples_byte_nr)
    if not getattr(found, "uses_ld", False):  # which keep the marks of validity apart
        size += int(getattr(found.channel_group, "invalidation_bytes_nr", 0))
    there = _records_there(found, size, records)
    if records == 0 or there == 0:
        return None
    master = file.masters_db.get(k)
    clock = None if master is None else Clock(k + 1, master)
    if master is not None and getattr(found.channels[master], "sync_type", _TIME) not in (0, _TIME):
        master = clock = None  # an angle or a distance: a channel like others
    indices, channels, words = [], [], []
    for index, channel in enumerate(found.channels):
        if index == master:
            continue
        try:
            samples, _ = _samples(file, k, index, 0, 1)
            plain = samples.ndim == 1 and samples.dtype.kind in "iufb"
        except Exception:  # the library raises whatever an unusual channel leads to
            plain = False
        if plain:
            conversion = channel.conversion
            unit = (conversion and conversion.unit) or channel.unit or ""
            indices.append(index)
            channels.append(Channel(channel.name, unit))
        else:
            words.append(channel.name)
    name = getattr(found.channel_group, "acq_name", "") or ""
    return MdfGroup(
        k + 1, name, records, clock, tuple(indices), tuple(channels), tuple(words), there,
        max(min(_RECORDS, _PAGE // max(size, 1)), 1),
    )  # fmt: skip


def _records_there(found: Any, size: int, records: int) -> int:
    """Records for which there is room in a group's data blocks, as long as they say they are."""
    try:
        room = sum(int(block.original_size) for block in found.get_data_blocks())
    except Exception:  # the library raises whatever a damaged block leads to
        return records
    return room // size if room and size and found.sorted else records


def _with_clock(
    file: Any, group: MdfGroup, groups: list[MdfGroup], options: Options
) -> tuple[MdfGroup, list[Guess]]:
    """A group with the clock that stands elsewhere; without one where there is none."""

    def first_of(number: int, index: int, count: int) -> Floats:
        return _numbers(file, number, index, 0, count)

    clock, guesses = clock_elsewhere(group, groups, first_of, options.units)
    kept = [
        (index, channel)
        for index, channel in zip(group.indices, group.channels, strict=True)
        if clock is None or (clock.group, clock.index) != (group.number, index)
    ]
    if not kept:  # nothing but the time: its numbers are the channel
        return group, []
    indices, channels = zip(*kept, strict=True)
    return replace(group, clock=clock, indices=indices, channels=channels), guesses


def _chosen(
    groups: list[MdfGroup], options: Options, original: Original
) -> tuple[MdfGroup, list[Guess]]:
    """The group asked for, or the one with most records; and the list of all."""
    listed = "; ".join(_described(each) for each in groups[:_LISTED])
    usable = [each for each in groups if each.channels]
    if options.group is not None:
        for each in usable:
            if each.number == options.group:
                return each, []
        raise refusal(
            original.path,
            say("there is no such channel group with numbers in it"),
            where="group",
            value=str(options.group),
            allowed=listed or say("none: the file holds no record"),
        )
    if not usable:
        raise refusal(
            original.path,
            say("no channel group holds numbers"),
            allowed=say("a file with at least one record of numbers"),
        )
    best = max(usable, key=_worth)
    if len(groups) == 1:
        return best, []
    if len(groups) > _LISTED:
        listed = say("{listed}; and {more} more", listed=listed, more=len(groups) - _LISTED)
    because = say(
        "it has most records; the file has {groups} groups: {listed}",
        groups=len(groups),
        listed=listed,
    )

    return best, [Guess("group", str(best.number), because, "group")]


def _worth(group: MdfGroup) -> tuple[bool, bool, int, int]:
    """More than times alone, a clock, most records, most channels."""
    more = any(not names_time(each.name) for each in group.channels)
    return more, group.clock is not None, group.records, len(group.channels)


def _described(group: MdfGroup) -> str:
    records, channels = group.records, len(group.channels)
    if not group.name:
        return say(
            "{number} ({records} records, {channels} channels)",
            number=group.number,
            records=records,
            channels=channels,
        )
    return say(
        "{number} {name} ({records} records, {channels} channels)",
        number=group.number,
        name=group.name,
        records=records,
        channels=channels,
    )
