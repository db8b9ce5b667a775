"""Photographs in, views on and off, and the copies that are shown."""

from __future__ import annotations

import hashlib
import io

import pytest
from PIL import Image

from tests.desk.conftest import picture
from weftglass.desk import (
    Collection,
    add_photos_to_piece,
    add_view,
    create_piece,
    edit_view,
    get_piece_dossier,
    get_view,
    import_photos,
    original_path,
    picture_path,
    restore_view,
    withdraw_view,
)
from weftglass.errors import InputError
from weftglass.records import Piece, View


def test_original_is_kept_untouched_under_its_hash(collection: Collection) -> None:
    """The file in the collection has the bytes that were handed in."""
    content = picture()
    (photo,) = import_photos(collection, [("C:\\shots\\a.jpg", content)], who="Mira")
    assert photo.sha256 == hashlib.sha256(content).hexdigest()
    assert (photo.width_px, photo.height_px, photo.format) == (600, 900, "JPEG")
    assert original_path(collection, photo.id).read_bytes() == content


def test_same_file_is_stored_once(collection: Collection) -> None:
    """A second copy, under whatever name, gives the photograph that is there."""
    first, second = import_photos(collection, [("a.jpg", picture()), ("b.jpg", picture())], who="Mira")
    assert first == second == import_photos(collection, [("c.jpg", picture())], who="Tove")[0]
    assert first.name == "a.jpg"


@pytest.mark.parametrize("content", [b"", b"hello", picture()[:400], picture(kind="PNG")[:-2000]])
def test_what_is_no_picture_changes_nothing(collection: Collection, piece: Piece, content: bytes) -> None:
    """One bad file among good ones: none is taken in."""
    files = [("new.png", picture("red", "PNG")), ("bad.jpg", content)]
    with pytest.raises(InputError, match=r"bad\.jpg"):
        add_photos_to_piece(collection, piece.id, files, who="Mira")
    assert len(get_piece_dossier(collection, piece.id).views) == 1
    assert len(list((collection.path / "photos").iterdir())) == 1


def test_first_photograph_of_a_piece_becomes_its_front(collection: Collection) -> None:
    """Later ones are close-ups until somebody says otherwise; a file shown already is passed over."""
    bare = create_piece(collection, "Jar", who="Mira")
    views = add_photos_to_piece(
        collection, bare.id, [("a.jpg", picture()), ("a2.jpg", picture()), ("b.jpg", picture("red"))], who="Mira"
    )
    assert [view.role for view in views] == ["front", "close-up"]
    assert add_photos_to_piece(collection, bare.id, [("a3.jpg", picture())], who="Mira") == ()
    assert edit_view(collection, views[1].id, role="turn 02/08", who="Mira").role == "turn 02/08"


def test_view_is_refused_when_role_or_photograph_is_wrong(collection: Collection, piece: Piece, view: View) -> None:
    """Unknown role, unknown photograph, and the same photograph twice."""
    with pytest.raises(InputError, match="role"):
        edit_view(collection, view.id, role="inside", who="Mira")
    with pytest.raises(InputError, match="photograph"):
        add_view(collection, piece.id, "0" * 64, "side", who="Mira")
    with pytest.raises(InputError, match="does not show yet"):
        add_view(collection, piece.id, view.photo, "side", who="Mira")


def test_view_taken_off_comes_back(collection: Collection, piece: Piece, view: View) -> None:
    """The photograph stays, the view too."""
    withdraw_view(collection, view.id, who="Mira")
    assert get_piece_dossier(collection, piece.id).views == ()
    restore_view(collection, view.id, who="Mira")
    assert get_piece_dossier(collection, piece.id).cover == get_view(collection, view.id).view


@pytest.mark.parametrize(("size", "pixels"), [("small", (320, 480)), ("large", (600, 900)), ("whole", (600, 900))])
def test_copy_has_the_wanted_size_and_no_camera_notes(
    collection: Collection, size: str, pixels: tuple[int, int]
) -> None:
    """Upright, reduced, nothing beside the pixels; made again when it is deleted."""
    image, exif = Image.open(io.BytesIO(picture())), Image.Exif()
    exif[0x010E] = "at the old mill"
    written = io.BytesIO()
    image.save(written, "JPEG", exif=exif)
    assert b"old mill" in written.getvalue()
    (photo,) = import_photos(collection, [("a.jpg", written.getvalue())], who="Mira")
    copy = picture_path(collection, photo.id, size)
    with Image.open(copy) as shown:
        assert shown.size == pixels
    assert b"old mill" not in copy.read_bytes()
    copy.unlink()
    assert picture_path(collection, photo.id, size).is_file()


def test_unknown_size_is_refused(collection: Collection, view: View) -> None:
    """Sizes are words, never parts of a path."""
    with pytest.raises(InputError, match="size"):
        picture_path(collection, view.photo, "../../x")
