"""The units that a person may write, metric and US, and what each is in SI."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import isnan, pi

from tripmargin.ground.languages import later, numeral, say
from tripmargin.ground.unit_words import dimension_words, unit_words

INCH, FOOT = 0.0254, 0.3048  # m, exact: international yard and pound agreement, 1959
POUND = 0.45359237  # kg, exact, same agreement
GRAVITY = 9.80665  # m/s2, standard gravity, ISO 80000-3
LBF = POUND * GRAVITY  # N
_NEARLY_ALL = 0.99999  # a share beyond it is told as 'over', not with ever more nines
_EVEN = 0.5  # protected less often than this is 'not protected' (models page, Protected)
_MOST_DIGITS = 3


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its factor to SI and, for temperatures, what to add after scaling."""

    factor: float
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Dimension:
    """What kind of quantity: its SI unit, the units allowed, how to show it in each system.

    `metric` and `us` are the units used to show a value; both stand in `units`. `example` is marked
    for the catalogues: `say(kind.example)`.
    """

    name: str
    si: str
    units: dict[str, Unit]
    metric: str
    us: str
    example: str

    @property
    def words(self) -> str:
        """Its name in the reader's language."""
        return dimension_words(self.name)


def _dimension(
    name: str, si: str, factors: dict[str, float], metric: str, us: str, example: str
) -> Dimension:
    return Dimension(name, si, {k: Unit(f) for k, f in factors.items()}, metric, us, example)


_TEMPERATURE = Dimension(
    "temperature",
    "K",
    {
        "K": Unit(1.0),
        "degC": Unit(1.0, 273.15),
        "degF": Unit(5 / 9, 273.15 - 32 * 5 / 9),
    },
    "degC",
    "degF",
    later('"20 degC" or "68 degF"'),
)

DIMENSIONS: dict[str, Dimension] = {
    dimension.name: dimension
    for dimension in (
        _dimension(
            "length",
            "m",
            {"m": 1, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "in": INCH, "ft": FOOT},
            "mm",
            "in",
            later('"330 mm" or "13 in"'),
        ),
        _dimension(
            "area",
            "m2",
            {"mm2": 1e-6, "mm²": 1e-6, "cm2": 1e-4, "m2": 1},
            "mm2",
            "mm2",
            later('"0.75 mm2"'),
        ),
        _dimension("time", "s", {"s": 1, "ms": 1e-3, "us": 1e-6}, "ms", "ms", later('"8 ms"')),
        _dimension("duration", "s", {"min": 60, "h": 3600, "s": 1}, "min", "min", later('"5 min"')),
        _dimension("running hours", "s", {"h": 3600, "min": 60}, "h", "h", later('"1240 h"')),
        _dimension(
            "days", "s", {"d": 86400, "h": 3600, "week": 604800}, "d", "d", later('"7 d" or "12 h"')
        ),
        _dimension(
            "rotation",
            "rev/s",
            {"rpm": 1 / 60, "rev/s": 1},
            "rpm",
            "rpm",
            later('"1000 rpm"'),
        ),
        _dimension(
            "speed",
            "m/s",
            {"m/s": 1, "km/h": 1 / 3.6, "ft/min": FOOT / 60, "ft/s": FOOT, "in/s": INCH},
            "m/s",
            "ft/min",
            later('"1.7 m/s"'),
        ),
        _dimension("frequency", "Hz", {"Hz": 1, "kHz": 1e3}, "Hz", "Hz", later('"160 Hz"')),
        _dimension(
            "voltage", "V", {"V": 1, "mV": 1e-3, "uV": 1e-6, "kV": 1e3}, "V", "V", later('"13.2 V"')
        ),
        _dimension("power", "W", {"W": 1, "mW": 1e-3}, "W", "W", later('"2 W"')),
        _dimension("current", "A", {"A": 1, "mA": 1e-3}, "A", "A", later('"0.2 A"')),
        _dimension(
            "resistance",
            "ohm",
            {"ohm": 1, "mohm": 1e-3, "kohm": 1e3, "Ω": 1, "kΩ": 1e3},
            "ohm",
            "ohm",
            later('"18 ohm"'),
        ),
        _dimension(
            "inductance", "H", {"H": 1, "mH": 1e-3, "uH": 1e-6}, "H", "H", later('"0.16 H"')
        ),
        _dimension(
            "flux density",
            "T",
            {"T": 1, "mT": 1e-3, "G": 1e-4, "kG": 0.1},
            "T",
            "kG",
            later('"0.38 T"'),
        ),
        _dimension(
            "angle",
            "rad",
            {"deg": pi / 180, "°": pi / 180, "rad": 1},
            "deg",
            "deg",
            later('"3 deg"'),
        ),
        _dimension("fraction", "", {"%": 0.01}, "%", "%", later('"3 %"')),
        _dimension(
            "mass",
            "kg",
            {"kg": 1, "g": 1e-3, "lb": POUND, "oz": POUND / 16},
            "kg",
            "lb",
            later('"0.15 kg"'),
        ),
        _dimension("force", "N", {"N": 1, "kN": 1e3, "lbf": LBF}, "N", "lbf", later('"30 N"')),
        _dimension(
            "stiffness",
            "N/m",
            {"N/m": 1, "N/mm": 1e3, "lbf/in": LBF / INCH},
            "N/m",
            "lbf/in",
            later('"800 N/m"'),
        ),
        _dimension("damping", "N s/m", {"N s/m": 1}, "N s/m", "N s/m", later('"1 N s/m"')),
        _dimension(
            "torque",
            "N m",
            {"N m": 1, "Nm": 1, "lbf ft": LBF * FOOT, "lbf in": LBF * INCH},
            "N m",
            "lbf ft",
            later('"1.3 N m"'),
        ),
        _dimension(
            "torsional stiffness",
            "N m/rad",
            {"N m/rad": 1, "Nm/rad": 1, "N m/deg": 180 / pi},
            "N m/rad",
            "N m/rad",
            later('"12000 N m/rad"'),
        ),
        _dimension(
            "torsional damping",
            "N m s/rad",
            {"N m s/rad": 1, "Nms/rad": 1},
            "N m s/rad",
            "N m s/rad",
            later('"0.001 N m s/rad"'),
        ),
        _dimension(
            "moment of inertia",
            "kg m2",
            {"kg m2": 1, "kg m^2": 1, "lb ft2": POUND * FOOT**2},
            "kg m2",
            "lb ft2",
            later('"0.0004 kg m2"'),
        ),
        _TEMPERATURE,
        _dimension("number", "", {"": 1}, "", "", later('900 or "900 +- 5 %"')),
    )
}


def from_si(value: float, dimension: str, unit: str) -> float:
    """A value in SI, in another unit of its dimension.

    >>> round(from_si(0.33, "length", "in"), 3)
    12.992
    >>> round(from_si(313.15, "temperature", "degF"), 6)
    104.0
    """
    chosen = DIMENSIONS[dimension].units[unit]
    return (value - chosen.offset) / chosen.factor


def shown(value: float, dimension: str, *, us: bool = False, digits: int = 4) -> str:
    """A value in SI as a person reads it, with its unit.

    >>> shown(0.33, "length"), shown(0.33, "length", us=True), shown(0.03, "fraction")
    ('330 mm', '12.99 in', '3 %')
    """
    number, form, unit = _number(value, dimension, us=us, digits=digits)
    return f"{numeral(number, form)} {unit_words(unit)}".strip()


def written(value: float, dimension: str, *, us: bool = False, digits: int = 4) -> str:
    """A value in SI as it is written into a file, whatever the language; it can be read back.

    >>> written(0.0325, "length"), written(0.0325, "length", us=True)
    ('32.5 mm', '1.28 in')
    """
    number, form, unit = _number(value, dimension, us=us, digits=digits)
    return f"{number:{form}} {unit}".strip()


def _number(value: float, dimension: str, *, us: bool, digits: int) -> tuple[float, str, str]:
    """A number, the form to write it in, and its unit."""
    chosen = DIMENSIONS[dimension]
    unit = chosen.us if us else chosen.metric
    number, form = from_si(value, dimension, unit), f".{digits}g"
    text = format(number, form)
    if "e" in text and 1e-9 < abs(float(text)) < 1e15:
        decimals = len(f"{Decimal(text):f}".partition(".")[2])
        return float(text), f".{decimals}f", unit
    return number, form, unit


def percent(share: float, confidence: float | None = None) -> str:
    """A probability or a share as people read it, never rounded up to what it does not reach.

    Nothing reads "100 %" where some doubt is left, nor "0 %" where some chance is. A share below
    the confidence asked (or below one half, where a verdict changes) does not read as reaching it.

    >>> percent(1.0), percent(1 - 3e-7), percent(0.985501), percent(0.99224), percent(0.5)
    ('100 %', 'over 99.999 %', '98.6 %', '99.22 %', '50 %')
    >>> percent(3e-7), percent(0.0), percent(float("nan"))
    ('under 0.001 %', '0 %', 'not known')
    >>> percent(0.9899), percent(0.9899, 0.99), percent(0.98999999, 0.99)
    ('99 %', '98.99 %', 'just under 99 %')
    """
    if isnan(share):
        return say("not known")
    if confidence is not None:
        for bound in (confidence, _EVEN):
            if share < bound and (said := _short_of(share, bound)) is not None:
                return said
    if share >= 1.0:
        return "100 %"
    if share > _NEARLY_ALL:
        return say("over {share:g} %", share=100 * _NEARLY_ALL)
    if 0 < share < 1 - _NEARLY_ALL:
        return say("under {share:g} %", share=100 * (1 - _NEARLY_ALL))
    return _rounded(share, _digits(share))


def _short_of(share: float, bound: float) -> str | None:
    """A share that rounding would carry to a bound, with digits enough to stay below it."""
    if round(100 * share, _digits(share)) < 100 * bound - 1e-9:
        return None
    for digits in range(_digits(share) + 1, _MOST_DIGITS + 1):
        if round(100 * share, digits) < 100 * bound - 1e-9:
            return _rounded(share, digits)
    return say("just under {bound:.10g} %", bound=100 * bound)


def _digits(share: float) -> int:
    return 1 if 0.01 <= share <= 0.99 else 2 if 0.0005 <= share <= 0.9995 else 3


def _rounded(share: float, digits: int) -> str:
    value = 100 * max(share, 0.0)
    decimals = len(f"{value:.{digits}f}".rstrip("0").partition(".")[2])
    return f"{numeral(value, f'.{decimals}f')} %"
