"""Photos: looked into before they are kept, and written with the entry or not at all."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import warnings
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.utils import timezone
from PIL import Image

from tests.photos import NOT_PHOTOS, huge_png, photo, turned_photo
from tripmargin.records.keeping.entries import EntryConflictError, NewEntry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.photos import (
    LARGEST,
    MOST,
    SMALL,
    PhotoError,
    read_photo,
    read_photos,
    write_entry_with_photos,
)
from tripmargin.records.kinds import EntryError
from tripmargin.records.store.models import Entry, Machine, Photo
from tripmargin.records.store.models.append_only import AppendOnlyError


@pytest.fixture
def machine(records: str) -> Machine:
    return add_demo_machine("sanderling", who_name="Ann")


@pytest.mark.parametrize(
    ("kind", "content_type"),
    [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")],
)
def test_the_type_is_that_of_the_content_and_the_bytes_stay(kind: str, content_type: str) -> None:
    content = photo(1000, 600, kind)
    read = read_photo(content, "anything.exe")
    assert (read.content_type, read.width, read.height) == (content_type, 1000, 600)
    assert read.content == content
    assert read.digest == hashlib.sha256(content).hexdigest()
    small = Image.open(BytesIO(read.small))
    assert (small.format, max(small.size)) == ("JPEG", SMALL)


def test_a_phones_picture_of_several_pictures_is_a_jpeg() -> None:
    made = BytesIO()
    one, two = (Image.new("RGB", (64, 48), colour) for colour in ("red", "blue"))
    one.save(made, "MPO", save_all=True, append_images=[two])
    assert read_photo(made.getvalue()).content_type == "image/jpeg"


def test_the_small_one_is_turned_as_the_camera_was_held_and_tells_nothing_else() -> None:
    # EXIF 2.32, orientation 6: the top of what is seen is stored on the right, so a clockwise
    # quarter turn shows it; the left half, black, comes to the top.
    content = turned_photo(6)
    read = read_photo(content)
    assert (read.width, read.height) == (480, 640)
    small = Image.open(BytesIO(read.small))
    assert small.size == (360, 480)
    assert small.getpixel((180, 60)) < (40, 40, 40)
    assert small.getpixel((180, 420)) > (215, 215, 215)
    assert b"secret" in content
    assert b"secret" not in read.small
    assert not small.getexif()


def test_what_is_clear_is_shown_on_white() -> None:
    read = read_photo(photo(50, 50, "PNG", (255, 0, 0, 0), mode="RGBA"))
    assert Image.open(BytesIO(read.small)).getpixel((25, 25)) > (250, 250, 250)


@pytest.mark.parametrize("name", NOT_PHOTOS)
def test_what_only_calls_itself_a_photo_is_refused_with_what_to_do(name: str) -> None:
    with pytest.raises(PhotoError) as caught:
        read_photo(NOT_PHOTOS[name], "photo.jpg")
    assert "photo.jpg" in str(caught.value)
    assert "Allowed: a photo as JPEG, PNG or WebP" in str(caught.value)
    assert caught.value.hint


@pytest.mark.parametrize(
    ("width", "height"), [(6401, 6251), (9000, 9000), (60000, 60000), (2**31 - 1, 2**31 - 1)]
)
def test_a_bomb_is_refused_by_its_header(width: int, height: int) -> None:
    content = huge_png(width, height)
    assert len(content) < 1000
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # as on a server: a warning stops nothing there
        with pytest.raises(PhotoError, match=r"megapixels|far too many pixels"):
            read_photo(content, "bomb.png")


def test_a_photo_too_large_says_how_large_it_is() -> None:
    with pytest.raises(PhotoError, match=r"8\.0 MB is too large"):
        read_photo(photo() + bytes(LARGEST), "large.jpg")


def test_the_same_photo_twice_is_one_and_too_many_are_refused() -> None:
    same = photo()
    assert len(read_photos([("a.jpg", same), ("b.jpg", same)])) == 1
    with pytest.raises(PhotoError, match="6 for one entry"):
        read_photos((f"{n}.jpg", photo(colour=(n * 30, 0, 0))) for n in range(MOST + 1))


def _new(**more: object) -> NewEntry:
    said = {"kind": "note", "values": {"text": "look"}, "uid": uuid4(), "at": timezone.now()}
    return NewEntry(**(said | more))  # type: ignore[arg-type]


def test_an_entry_and_its_photos_are_kept_once(machine: Machine) -> None:
    new, photos = _new(), read_photos([("a.jpg", photo()), ("b.png", photo(10, 10, "PNG"))])
    first, second = (
        write_entry_with_photos(machine, new, photos, who_name="Ann") for _ in range(2)
    )
    assert (first.new, second.new) == (True, False)
    assert Entry.objects.count() == 1
    kept = Photo.objects.order_by("id")
    assert [bytes(one.content) for one in kept] == [one.content for one in photos]
    assert [one.size for one in kept] == [len(one.content) for one in photos]
    with pytest.raises(AppendOnlyError):
        kept[0].delete()


def test_a_second_try_adds_the_photos_that_were_lacking(machine: Machine) -> None:
    new = _new()
    first, second = (read_photo(photo(colour=(n * 30, 0, 0))) for n in (1, 2))
    write_entry_with_photos(machine, new, [first])
    write_entry_with_photos(machine, new, [first, second])
    assert Photo.objects.count() == 2
    more = [read_photo(photo(colour=(n * 30, 90, 0))) for n in range(5)]
    with pytest.raises(PhotoError, match="6 for one entry"):
        write_entry_with_photos(machine, new, more)
    assert Photo.objects.count() == 2


def test_nobody_adds_photos_to_what_another_entered(machine: Machine, person: object) -> None:
    ann, bo = (person(name) for name in ("Ann", "Bo"))  # type: ignore[operator]
    new = _new()
    write_entry_with_photos(machine, new, who=ann)
    with pytest.raises(EntryConflictError):
        write_entry_with_photos(machine, new, [read_photo(photo())], who=bo)
    assert not Photo.objects.exists()


def test_an_entry_that_is_refused_leaves_no_photo_and_the_other_way_round(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = read_photo(photo())
    with pytest.raises(EntryError):
        write_entry_with_photos(machine, _new(values={}), [read])
    assert not Photo.objects.exists()

    def full(*_: object, **__: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr(Photo.objects, "create", full)
    with pytest.raises(OSError, match="No space"):
        write_entry_with_photos(machine, _new(), [read])
    assert not Entry.objects.exists()


EIGHT_AT_ONCE = """
import io, resource, threading
from PIL import Image
import django
django.setup()
from tripmargin.records.keeping.photos import MOST_PIXELS, read_photo

sent = io.BytesIO()
Image.new("RGBA", (8000, MOST_PIXELS // 8000)).save(sent, "PNG", compress_level=1)
content, answers = sent.getvalue(), []
read_photo(content)  # what one of them takes, and what making it took
alone = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
eight = [
    threading.Thread(target=lambda: answers.append(read_photo(content).width)) for _ in range(8)
]
for one in eight:
    one.start()
for one in eight:
    one.join()
assert answers == [8000] * 8
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - alone)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="ru_maxrss is in kB there only")
def test_eight_of_the_largest_photos_at_once_take_the_memory_of_one(tmp_path: Path) -> None:
    """Decoded side by side they took 2.4 GB as PNG, 4.6 GB as WebP."""
    environment = {
        **os.environ, "TRIPMARGIN_HOME": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "tripmargin.records.settings",
    }  # fmt: skip
    run = subprocess.run(
        [sys.executable, "-c", EIGHT_AT_ONCE], env=environment, capture_output=True, text=True,
        check=False, timeout=300,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert int(run.stdout) < 100_000  # kB; a single decoded picture has 160 MB
