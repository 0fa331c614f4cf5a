"""CSV files that people and other programs make: read whole, or told what is wrong with them."""

from __future__ import annotations

import csv
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from tests.records.machines import add_small_machines
from tripmargin.records.exchange.columns import FIXED, field_keys
from tripmargin.records.exchange.csv_in import DELIMITERS
from tripmargin.records.exchange.exporting import export_file
from tripmargin.records.exchange.importing import Imported, import_file
from tripmargin.records.exchange.lines import LONGEST_LINE
from tripmargin.records.exchange.troubles import ImportRefusedError
from tripmargin.records.home import RecordsError
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.kinds import KINDS
from tripmargin.records.store.models import AuditLine, Entry, Machine, Standing

HEAD = "uid,machine,kind,at,who,corrects,note,tripped,hours_s,gap_after_m/lower,text\n"
GOOD = ",Knot,daily check,2026-03-01T07:30:00Z,Ann,,,yes,3600,,\n"
A, B = UUID(int=10), UUID(int=11)
NOBODY = "6f1a2b3c-0000-4000-8000-00000000a001"  # fixed: a test's name must not change


@pytest.fixture(autouse=True)
def _machines(sqlite_records: str) -> None:
    add_small_machines()


def written(folder: Path, text: str | bytes, name: str = "log.csv") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def taken(folder: Path, text: str | bytes, name: str = "log.csv", **more: object) -> Imported:
    return import_file(written(folder, text, name), **more)  # type: ignore[arg-type]


def refused(folder: Path, text: str | bytes, **more: object) -> ImportRefusedError:
    before = Entry.objects.count()
    with pytest.raises(ImportRefusedError) as caught:
        taken(folder, text, **more)  # type: ignore[arg-type]
    assert Entry.objects.count() == before
    return caught.value


def test_a_file_without_ids_is_known_when_it_comes_again(tmp_path: Path) -> None:
    assert taken(tmp_path, HEAD + GOOD + GOOD) == Imported(new=1, there=1)
    assert taken(tmp_path, HEAD + GOOD) == Imported(new=0, there=1)
    entry = Entry.objects.get()
    assert (entry.values, entry.source) == ({"tripped": True, "hours_s": 3600.0}, "import")
    assert entry.version == entry.machine.versions.get()
    assert Standing.objects.get(machine=entry.machine).worked_out_at >= entry.received_at
    assert AuditLine.objects.filter(what="import").count() == 1


def test_a_look_alone_writes_nothing(tmp_path: Path) -> None:
    assert taken(tmp_path, HEAD + GOOD, check_only=True) == Imported(new=1, there=0)
    assert not Entry.objects.exists()
    assert not AuditLine.objects.filter(what="import").exists()


@pytest.mark.parametrize("start", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_byte_order_mark_and_either_line_end_are_taken(
    start: str, end: str, tmp_path: Path
) -> None:
    assert taken(tmp_path, start + (HEAD + GOOD).replace("\n", end)).new == 1


def test_columns_in_any_order_capitals_and_empty_rows_are_taken(tmp_path: Path) -> None:
    text = "at, kind ,machine,tripped\n,,,\n2026-03-01T07:30Z,daily check,KNOT,YES\n\n"
    assert taken(tmp_path, text).new == 1
    assert Entry.objects.get().machine.name == "Knot"


def test_a_time_without_a_zone_is_local_and_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import time

    monkeypatch.setenv("TZ", "XYZ-02:00")  # POSIX: two hours ahead of UTC
    time.tzset()
    try:
        found = taken(tmp_path, "machine,kind,at,text\nKnot,note,2026-03-01 07:30,x\n")
    finally:
        monkeypatch.undo()
        time.tzset()
    assert found.without_zone == 1
    assert Entry.objects.get().at.isoformat() == "2026-03-01T05:30:00+00:00"


@pytest.mark.parametrize(
    ("row", "line", "said"),
    [
        (",Knto,note,2026-03-01T07:30Z,,,,,,,x", 2, 'Did you mean "Knot"'),
        (",,note,2026-03-01T07:30Z,,,,,,,x", 2, "machine: needed"),
        (",Knot,nott,2026-03-01T07:30Z,,,,,,,x", 2, 'Did you mean "note"'),
        (",Knot,withdrawn,2026-03-01T07:30Z,,,,,,,", 2, "takes an entry back"),
        (",Knot,note,,,,,,,,x", 2, "at: needed"),
        (",Knot,note,1.3.2026,,,,,,,x", 2, 'at = "1.3.2026": not a time'),
        (",Knot,note,2999-03-01T07:30Z,,,,,,,x", 2, "in the future"),
        (",Knot,note,0001-01-01T00:00Z,,,,,,,x", 2, "before anybody wrote"),
        (",Knot,note,2026-03-01T07:30Z,,,,,,,", 2, "text: needed"),
        (",Knot,note,2026-03-01T07:30Z,,,,yes,,,x", 2, "tripped"),
        (",Knot,daily check,2026-03-01T07:30Z,,,,perhaps,,,", 2, "neither yes nor no"),
        (",Knot,daily check,2026-03-01T07:30Z,,,,yes,12 h,,", 2, "not a number"),
        (',Knot,daily check,2026-03-01T07:30Z,,,,yes,"1,5",,', 2, "--delimiter"),
        (",Knot,daily check,2026-03-01T07:30Z,,,,yes,1e99,,", 2, "not such a value"),
        (",Knot,daily check,2026-03-01T07:30Z,,,,yes,nan,,", 2, "not a number"),
        (",Knot,daily check,2026-03-01T07:30Z,,,,yes,0x10,,", 2, "not a number"),
        (",Knot,adjustment,2026-03-01T07:30Z,,,,,,0.5,", 2, "gap_after_m/lower"),
        ("no id,Knot,note,2026-03-01T07:30Z,,,,,,,x", 2, "not an id"),
        (f",Knot,note,2026-03-01T07:30Z,,{NOBODY},,,,,x", 2, "no such entry"),
        (f"{A},Knot,note,2026-03-01T07:30Z,,{A},,,,,x", 2, "circle"),
        (f",Knot,note,2026-03-01T07:30Z,{'x' * 61},,,,,,x", 2, "who"),
        (f",Knot,note,2026-03-01T07:30Z,,,{'x' * 2001},,,,x", 2, "too long"),
        (",Knot,note", 2, "not as many as there are columns"),
        (',Knot,note,2026-03-01T07:30Z,,,"open,,,,x', 2, "quotation mark"),
        (',Knot,note,2026-03-01T07:30Z,,,"a"b,,,,x', 2, "not CSV"),
    ],
)
def test_what_is_wrong_in_a_row_is_told_with_its_line_and_column(
    row: str, line: int, said: str, tmp_path: Path
) -> None:
    error = refused(tmp_path, HEAD + row + "\n")
    assert said in str(error)
    assert {problem.line for problem in error.problems} == {line}
    assert "log.csv:2: " in str(error)
    assert "Nothing was written" in str(error)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing in it"),
        ("\n\n", "nothing in it"),
        ("machine,kind\n", "at: the column is missing"),
        ("machine,kind,at,kind\n", "there twice"),
        ("machine,kind,at,hours\n", 'Did you mean "hours_s"'),
        ("machine;kind;at\nKnot;note;x\n", "--delimiter ';'"),
        ("machine\tkind\tat\n", "--delimiter 'tab'"),
    ],
)
def test_what_is_wrong_in_the_header_is_told(text: str, said: str, tmp_path: Path) -> None:
    assert said in str(refused(tmp_path, text))


def test_the_line_is_that_of_the_file_behind_a_cell_of_several_lines(tmp_path: Path) -> None:
    rows = ',Knot,note,2026-03-01T07:30Z,,,"two\nlines",,,,x\n,Knot,note,bad,,,,,,,x\n'
    assert [one.line for one in refused(tmp_path, HEAD + rows).problems] == [4]


def test_everything_is_told_up_to_fifty(tmp_path: Path) -> None:
    row = ",Knot,note,bad,,,,,,,x\n"
    assert len(refused(tmp_path, HEAD + GOOD + row * 7).problems) == 7
    error = refused(tmp_path, HEAD + row * 2000)
    assert (len(error.problems), error.more) == (50, True)
    assert str(error).endswith("The first 50 problems. Nothing was written.")


def test_semicolons_and_decimal_commas_are_read_where_it_is_said(tmp_path: Path) -> None:
    text = "machine;kind;at;gap_after_m/lower\nKnot;adjustment;2026-03-01T07:30Z;0,0035\n"
    assert taken(tmp_path, text, delimiter=";").new == 1
    assert Entry.objects.get().values == {"gap_after_m/lower": 0.0035}
    assert set(DELIMITERS) == {",", ";", "\t"}


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ((HEAD + GOOD).encode("utf-16"), "UTF-16"),
        (b"PK\x03\x04" + b"x" * 100, "archive"),
        (b"\x1f\x8b" + b"x" * 100, "compressed"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"machine\0", "zero bytes"),
    ],
)
def test_what_is_no_text_is_told(content: bytes, said: str, tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match=said):
        taken(tmp_path, content)


def test_a_zero_byte_far_down_is_told_with_its_line(tmp_path: Path) -> None:
    row = ",Knot,note,2026-03-01T07:30Z,,,a\0b,,,,x\n"
    assert "log.csv:22: note" in str(refused(tmp_path, HEAD + GOOD * 20 + row))


def test_another_encoding_is_told_with_its_line(tmp_path: Path) -> None:
    error = refused(tmp_path, (HEAD + GOOD).encode() + "\u00e9".encode("latin-1"))
    assert "log.csv:3: not UTF-8: byte 0xE9 at place 1" in str(error)


def test_huge_lines_and_cells_are_refused_before_they_fill_the_memory(tmp_path: Path) -> None:
    assert "too long" in str(refused(tmp_path, HEAD + "x" * (LONGEST_LINE + 1)))
    assert "field larger" in str(refused(tmp_path, HEAD + '"' + "x\n" * 200_000))


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match=r"\.csv, \.json"):
        taken(tmp_path, "x", name="log.xlsx")


def test_an_id_of_another_entry_is_told_wherever_that_is(tmp_path: Path) -> None:
    def row(text: str) -> str:
        return f"{A},Knot,note,2026-03-01T07:30Z,,,,,,,{text}\n"

    assert "another entry earlier in the file" in str(refused(tmp_path, HEAD + row("a") + row("b")))
    taken(tmp_path, HEAD + row("a"))
    assert "another entry in the records" in str(refused(tmp_path, HEAD + row("b")))


def test_a_correction_may_stand_before_what_it_corrects(tmp_path: Path) -> None:
    def row(uid: UUID, corrects: object, text: str) -> str:
        return f"{uid},Knot,note,2026-03-01T07:30Z,,{corrects},,,,,{text}\n"

    assert taken(tmp_path, HEAD + row(A, B, "right") + row(B, "", "wrong")).new == 2
    assert Entry.objects.get(uid=A).corrects == Entry.objects.get(uid=B)
    assert "gave way to" in str(refused(tmp_path, HEAD + row(uuid4(), B, "again")))
    c, d = uuid4(), uuid4()
    double = HEAD + row(c, "", "wrong") + row(uuid4(), c, "one") + row(uuid4(), c, "two")
    assert "corrected already in line 3" in str(refused(tmp_path, double))
    assert "in a circle" in str(refused(tmp_path, HEAD + row(c, d, "x") + row(d, c, "y")))


def test_a_correction_of_another_machines_entry_is_refused(tmp_path: Path) -> None:
    other = Machine.objects.exclude(name="Knot").get()
    there = write_entry(other, NewEntry(kind="note", values={"text": "x"})).entry
    row = f",Knot,note,2026-03-01T07:30Z,,{there.uid},,,,,y\n"
    assert "another machine" in str(refused(tmp_path, HEAD + row))


def test_a_file_that_changes_while_it_is_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.records.exchange import importing

    path = written(tmp_path, HEAD + GOOD)
    writer = importing.Writer

    def changed(*given: object) -> object:
        path.write_text(HEAD + GOOD.replace("Ann", "Eve"))
        return writer(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(importing, "Writer", changed)
    with pytest.raises(RecordsError, match="changed while it was read"):
        import_file(path)
    assert not Entry.objects.exists()


def test_an_export_opens_no_formula_and_is_utf_8_without_a_mark(tmp_path: Path) -> None:
    machine = Machine.objects.exclude(name="Knot").get()
    new = NewEntry(kind="note", values={"text": '=HYPERLINK("x")'}, note="+1\r\n@")
    write_entry(machine, new, who_name="-Ann")
    path = tmp_path / "log.csv"
    assert export_file(path) == 1
    content = path.read_bytes()
    assert content.startswith(b"uid,machine,")
    assert content.endswith(b"\r\n")
    with path.open(encoding="utf-8", newline="") as file:
        _, row = csv.reader(file)
    assert [cell for cell in row if cell[:1] in tuple("=+-@\t\r") and cell] == []
    with pytest.raises(RecordsError, match="is there already"):
        export_file(path)
    assert path.read_bytes() == content


def test_one_machine_is_exported_alone(tmp_path: Path) -> None:
    for machine in Machine.objects.all():
        write_entry(machine, NewEntry(kind="note", values={"text": "x"}))
    for name in ("log.csv", "log.json"):
        assert export_file(tmp_path / name, [Machine.objects.get(name="Knot")]) == 1
        assert "Tern" not in (tmp_path / name).read_text()


def test_no_field_of_an_entry_has_the_name_of_a_fixed_column() -> None:
    keys = [field.key for kind in KINDS.values() for field in kind.fields]
    assert set(keys) & set(FIXED) == set()
    assert field_keys(["gap_after_m/b", "gap_after_m/a", "later_m"])[-1] == "later_m"
