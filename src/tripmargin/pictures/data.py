"""What a picture needs to be given: the shapes of the results that it draws, all SI."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class SpreadLike(Protocol):
    """A number with its limits, SI."""

    @property
    def nominal(self) -> float:
        """With every input at its middle."""

    @property
    def low(self) -> float:
        """Least."""

    @property
    def high(self) -> float:
        """Greatest."""


class StageLike(SpreadLike, Protocol):
    """One stage of the stop: its name and its time, s."""

    @property
    def name(self) -> str:
        """As in the contract: `relay_release`, `swing lower`."""


class ProtectionMapLike(Protocol):
    """Probabilities of missed, too late and protected over cut length and ball diameter."""

    @property
    def machine_name(self) -> str:
        """As the machine file gives it."""

    @property
    def cut_lengths(self) -> Array:
        """Shape (nc,), m."""

    @property
    def diameters(self) -> Array:
        """Shape (nd,), m."""

    @property
    def missed(self) -> Array:
        """Shape (nc, nd); with the next two it sums to 1."""

    @property
    def too_late(self) -> Array:
        """Shape (nc, nd)."""

    @property
    def protected(self) -> Array:
        """Shape (nc, nd)."""

    @property
    def confidence(self) -> float:
        """From which a machine counts as protected."""

    @property
    def cuts_on_offer(self) -> Sequence[float]:
        """Cut lengths that the machine offers, m."""

    @property
    def must_stop(self) -> str:
        """The piece that the verdict is about, in words."""

    @property
    def must_stop_diameter(self) -> float | None:
        """The same as a ball's diameter, m; None for a piece that is not a ball."""

    @property
    def longest_protected_cut(self) -> float | None:
        """For the piece to stop, m; None: no cut."""

    @property
    def smallest_protected_ball(self) -> float | None:
        """For an even spread over places and heights, m; None: no ball."""

    @property
    def assumed(self) -> Sequence[str]:
        """Fields of the machine file that were not given."""


class RaceLike(Protocol):
    """One stop: the metal on its way to the shear bar, and the stages that must beat it."""

    @property
    def machine_name(self) -> str:
        """As the machine file gives it."""

    @property
    def cut_length(self) -> float:
        """In m."""

    @property
    def stages(self) -> Sequence[StageLike]:
        """In the order of the contract."""

    @property
    def margin(self) -> SpreadLike | None:
        """m; negative: through; None: the piece is not caught."""

    @property
    def probability_through(self) -> float:
        """That the metal passes the shear bar."""

    @property
    def sensor_to_shear_bar(self) -> SpreadLike:
        """Along the path, m."""

    @property
    def crossing_y(self) -> float | None:
        """Where the signal crosses the threshold, m; None: nowhere."""

    @property
    def times(self) -> Array:
        """Shape (nt,), s from the threshold crossing."""

    @property
    def position(self) -> Array:
        """Shape (nt,), m along the path from above the sensor's axis."""

    @property
    def position_low(self) -> Array:
        """Shape (nt,), m; least."""

    @property
    def position_high(self) -> Array:
        """Shape (nt,), m; greatest."""

    @property
    def assumed(self) -> Sequence[str]:
        """Fields of the machine file that were not given."""

    @property
    def piece(self) -> str | None:
        """In words; None: a race without a piece."""

    @property
    def x(self) -> float | None:
        """Place of the piece across the roll, from its middle, m; None: without a piece."""

    @property
    def height(self) -> float | None:
        """Of the piece above the lower front roll, m; None: without a piece."""

    @property
    def notes(self) -> Sequence[str]:
        """What to know about this race, in sentences."""


class BlindLike(Protocol):
    """A stretch across the roll, at one height, that sees nothing of use."""

    @property
    def x_low(self) -> float:
        """In m."""

    @property
    def x_high(self) -> float:
        """In m."""

    @property
    def height(self) -> float:
        """Above the roll, m."""

    @property
    def kind(self) -> str:
        """Why it is blind, in words."""


class ReachLike(Protocol):
    """The smallest ball seen, across the roll and by height above it."""

    @property
    def machine_name(self) -> str:
        """As the machine file gives it."""

    @property
    def places(self) -> Array:
        """Shape (nx,), m from the roll's middle."""

    @property
    def heights(self) -> Array:
        """Shape (nh,), m above the roll's top."""

    @property
    def smallest_ball(self) -> Array:
        """Shape (nh, nx), m; infinite where no ball is seen."""

    @property
    def speed(self) -> float:
        """Of the metal, m/s."""

    @property
    def blind(self) -> Sequence[BlindLike]:
        """Stretches that see nothing of use."""

    @property
    def must_stop_diameter(self) -> float | None:
        """Of the piece to stop, m; None: not a ball."""

    @property
    def probability(self) -> float | None:
        """Of catching, that the map asks for; None: nominal, without noise."""

    @property
    def assumed(self) -> Sequence[str]:
        """Fields of the machine file that were not given."""
