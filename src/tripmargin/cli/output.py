"""What every command shares: which machine, and how its answer is shown and saved."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.typed_numbers import piece_typed
from tripmargin.ground.languages import say
from tripmargin.ground.typed import typed_quantity

if TYPE_CHECKING:
    from tripmargin.pictures import Section

SAVED_AS = (".svg", ".png", ".html", ".csv")


def machine_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    """The machine that the command is about: a file, or a demo machine's name."""
    return click.argument("machine", metavar="MACHINE", callback=_no_folder)(command)


def _no_folder(_: click.Context, __: click.Parameter, machine: str) -> str:
    """A folder is refused by the name that the person gave it."""
    if Path(machine).is_dir():
        raise click.BadParameter(say("{machine} is a folder, not a machine file.", machine=machine))
    return machine


def what_if_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--set FIELD="VALUE"`, as often as wanted."""
    return click.option(
        "--set",
        "settings",
        metavar='FIELD="VALUE"',
        multiple=True,
        help='What if: a field set otherwise, such as --set chain.supply="10.5 V".',
    )(command)


def machine_with(machine: str, settings: tuple[str, ...]) -> Any:
    """The machine loaded, with its what-ifs."""
    from tripmargin.machine import load_machine

    wanted: dict[str, Any] = {}
    for setting in settings:
        field, equals, value = setting.partition("=")
        if not equals or not field.strip() or not value.strip():
            raise click.UsageError(
                say(
                    '--set {setting}: write FIELD="VALUE", such as --set'
                    ' chain.pawls.lower.clearance="6 mm".',
                    setting=setting,
                )
            )
        wanted[field.strip()] = _as_written(field.strip(), value.strip())
    loaded = load_machine(machine)
    return loaded.with_settings(wanted) if wanted else loaded


def _as_written(field: str, value: str) -> Any:
    """A value as the machine file has it: a list, a table, a bare number, or a text.

    A bare number for a field with a dimension stays a text, so that it is refused for want of a
    unit as it is in the file, and is not silently taken as SI. One number may have the decimal
    comma of the language; in a list or a table commas part what stands in it.
    """
    import tomllib

    if value[0] not in "[{" and _is_one_number(field):
        value = typed_quantity(value)
    try:
        written = tomllib.loads(f"value = {value}")["value"]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return value
    return value if _is_number(written) and _has_dimension(field) else _units_asked(field, written)


def _units_asked(field: str, written: Any) -> Any:
    """A table whose bare numbers are texts where they need a unit; anything else as it is."""
    if not isinstance(written, dict):
        return written
    return {
        key: str(item)
        if _is_number(item) and _has_dimension(f"{field}.{key}")
        else _units_asked(f"{field}.{key}", item)
        for key, item in written.items()
    }


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _has_dimension(field: str) -> bool:
    """Whether a field is a quantity with a unit; a table's own name counts as its field's."""
    return any(spec.kind == "quantity" and not spec.bare for spec in _specs_of(field))


def _is_one_number(field: str) -> bool:
    """Whether a field holds one number, with a unit or without."""
    return any(spec.kind == "quantity" for spec in _specs_of(field))


def _specs_of(field: str) -> list[Any]:
    from tripmargin.machine import all_fields

    for name in reversed(field.split(".")):
        specs = [one.spec for one in all_fields() if one.path.rsplit(".", 1)[-1] == name]
        if specs:
            return specs
    return []


def quantity_of(text: str, dimension: str, option: str) -> float:
    """An option's quantity in SI; the error names the option."""
    from tripmargin.ground.errors import QuantityError
    from tripmargin.ground.quantities import quantity

    try:
        return quantity(typed_quantity(text), dimension).nominal
    except QuantityError as error:
        raise click.UsageError(f"{option}: {error}") from error


def piece_of(text: str) -> Any:
    """An option's piece; the error names the option."""
    try:
        return piece_typed(text)
    except ValueError as error:
        raise click.UsageError(f"--piece: {error}") from error


def length_of(text: str, option: str) -> float:
    """An option's length in metres."""
    return quantity_of(text, "length", option)


@dataclass(frozen=True, slots=True)
class Picture:
    """A result as a picture and a table: `draw(width, sun, us)` gives SVG, `table(us)` rows.

    Where a page is asked for, `draw` may give several, as many at each width.
    `page_table` is the table for a page, where it is not the one behind the picture; `sections(us)`
    is what else the page says, and `cautions` what to heed before its reader's hands go anywhere.
    """

    title: str
    draw: Callable[[float, bool, bool], str | Sequence[str]]
    table: Callable[[bool], tuple[Any, Any]]
    page_table: Callable[[bool], tuple[Any, Any]] | None = None
    sections: Callable[[bool], tuple[Section, ...]] | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Output:
    """How a person wants the answer."""

    as_json: bool = False
    save: Path | None = None
    us: bool = False
    sun: bool = False

    def show(
        self, result: Any, *, lines: Callable[[], None], picture: Picture | None = None
    ) -> None:
        """Print the answer, as JSON or by `lines`, then save its picture where asked.

        In this order: a full disk may cost the picture, never the answer.
        """
        if self.as_json:
            click.echo(json_text(result))
        else:
            lines()
        if self.save is not None and picture is not None:
            self.save_as(self.save, picture)
        if self.save is not None:
            said = say("Nothing saved: there is no picture of what is not known.")
            if picture is not None:
                said = say("Saved: {path}", path=self.save)
            click.echo(said, err=self.as_json)

    def save_as(self, path: Path, picture: Picture) -> None:
        """Save a picture under a name, as its ending asks."""
        from tripmargin.pictures import save_picture

        kind = path.suffix.lower()
        if kind == ".csv":
            save_picture(path, table=picture.table(self.us))
            return
        wide = picture.draw(840.0, self.sun, self.us)
        if kind == ".html":
            phone = picture.draw(360.0, self.sun, self.us)
            save_picture(
                path,
                svg=wide,
                phone=phone,
                table=(picture.page_table or picture.table)(self.us),
                title=picture.title,
                cautions=picture.cautions,
                sections=picture.sections(self.us) if picture.sections is not None else (),
            )
        else:
            save_picture(path, svg=wide)


def json_text(result: Any) -> str:
    """A result as JSON: SI, not-a-number and infinity as null."""
    from tripmargin.ground.results import plain

    made = result.to_dict() if hasattr(result, "to_dict") else result
    return json.dumps(plain(made), indent=2, ensure_ascii=False, allow_nan=False)


def output_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--json`, `--save`, `--us` and `--sun`, handed to the command as `output`."""

    @click.option("--json", "as_json", is_flag=True, help="The answer as JSON, in SI.")
    @click.option(
        "--save",
        type=click.Path(path_type=Path, dir_okay=False),
        callback=_checked_suffix,
        metavar="FILE",
        help="Save the picture (.svg, .png, .html) or the table behind it (.csv).",
    )
    @click.option("--us", is_flag=True, help="US units instead of metric.")
    @click.option("--sun", is_flag=True, help="Greatest contrast, for reading in sunlight.")
    @functools.wraps(command)
    def with_output(
        *args: Any, as_json: bool, save: Path | None, us: bool, sun: bool, **more: Any
    ) -> Any:
        return command(*args, output=Output(as_json, save, us, sun), **more)

    return with_output


def _checked_suffix(_: click.Context, __: click.Parameter, path: Path | None) -> Path | None:
    """Refused before the work, not after it."""
    if path is not None and path.suffix.lower() not in SAVED_AS:
        raise click.BadParameter(
            say("{name} must end in {endings}.", name=path.name, endings=", ".join(SAVED_AS))
        )
    if path is not None and not path.parent.is_dir():
        raise click.BadParameter(say("there is no folder {folder}.", folder=path.parent))
    return path
