"""Pictures of every kind come out upright; what is not a whole picture is refused in one sentence."""

from __future__ import annotations

import io
import random
import struct
import zlib

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from weftglass.errors import InputError
from weftglass.photos import read_photograph, thumbnail_jpeg, without_camera_notes, working_copy

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "HEIC")
ORIENTATION, EXIF_IFD, GPS_IFD = 0x0112, 0x8769, 0x8825


def corners() -> np.ndarray:
    """A picture whose four corners differ, so that every turn and flip shows."""
    pixels = np.full((40, 60, 3), 30, np.uint8)
    pixels[:20, :20], pixels[:20, 40:], pixels[20:, :20] = (250, 0, 0), (0, 250, 0), (0, 0, 250)
    return np.kron(pixels, np.ones((2, 2, 1), np.uint8))


TURNED = {
    1: lambda p: p,
    2: lambda p: p[:, ::-1],
    3: lambda p: p[::-1, ::-1],
    4: lambda p: p[::-1],
    5: lambda p: p.transpose(1, 0, 2),
    6: lambda p: np.rot90(p, -1),
    7: lambda p: np.rot90(p, 2).transpose(1, 0, 2),
    8: lambda p: np.rot90(p),
}


def notes(orientation: int = 1, focal: int = 26) -> Image.Exif:
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[EXIF_IFD] = {0xA405: focal, 0x9003: "2024:05:06 07:08:09"}
    return exif


def encoded(image: Image.Image, kind: str, exif: Image.Exif | None = None) -> bytes:
    target = io.BytesIO()
    extra = {} if exif is None else {"exif": exif.tobytes()}
    if kind == "HEIC":
        pillow_heif.from_pillow(image).save(target, quality=95, **extra)
    else:
        image.save(target, kind, **extra)
    return target.getvalue()


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_read_photograph_is_upright_for_every_orientation(kind: str, orientation: int) -> None:
    """EXIF 2.32, tag 0x0112: the eight orientations."""
    photo = read_photograph(encoded(Image.fromarray(corners()), kind, notes(orientation)), "x")
    wanted = TURNED[orientation](corners())
    assert photo.pixels.shape == wanted.shape
    assert np.abs(photo.pixels.astype(int) - wanted).mean() < 8


@pytest.mark.parametrize("kind", FORMATS)
def test_read_photograph_takes_focal_length_and_date(kind: str) -> None:
    photo = read_photograph(encoded(Image.fromarray(corners()), kind, notes()), "x")
    assert (photo.focal_35mm, photo.taken) == (26.0, "2024-05-06T07:08:09")
    assert not photo.pixels.flags.writeable


def test_read_photograph_drops_the_focal_length_of_a_cropped_picture() -> None:
    exif = notes()
    exif[EXIF_IFD] = {0xA405: 26, 0xA002: 4000, 0xA003: 3000}
    photo = read_photograph(encoded(Image.fromarray(corners()[:, :100]), "JPEG", exif), "x")
    assert photo.focal_35mm is None
    assert "cropped" in photo.warnings[0]


@pytest.mark.parametrize("mode", ["L", "P", "LA", "RGBA", "CMYK", "1"])
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_read_photograph_gives_three_colours_whatever_the_file_holds(mode: str, kind: str) -> None:
    if (mode, kind) == ("CMYK", "PNG"):
        kind = "JPEG"  # PNG has no CMYK
    image = Image.fromarray(corners()).convert(mode)
    photo = read_photograph(encoded(image, kind), "x")
    assert np.abs(photo.pixels[5, 5].astype(int) - image.convert("RGB").getpixel((5, 5))).max() <= 4


def test_read_photograph_cuts_sixteen_bits_to_eight_and_says_so() -> None:
    grey = corners()[:, :, 0].astype(np.uint16) * 257
    photo = read_photograph(encoded(Image.fromarray(grey), "PNG"), "x")
    np.testing.assert_array_equal(photo.pixels[:, :, 0], corners()[:, :, 0])
    assert "Sixteen bits" in photo.warnings[0]


def test_read_photograph_shows_transparent_parts_on_white() -> None:
    image = Image.new("RGBA", (30, 30), (0, 0, 0, 0))
    assert read_photograph(encoded(image, "PNG"), "x").pixels.min() == 255


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds next to nothing."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def test_read_photograph_refuses_more_than_200_megapixels_from_the_header() -> None:
    with pytest.raises(InputError) as refused:
        read_photograph(png_header(30_000, 30_000), "bomb.png")
    assert "900 megapixels" in str(refused.value)
    assert refused.value.expected == "at most 200 megapixels"


def test_read_photograph_reads_the_size_in_a_webp_header_before_opening_it() -> None:
    size = struct.pack("<I", 16382)[:3]
    header = b"RIFF\xff\0\0\0WEBPVP8X\x0a\0\0\0" + b"\0\0\0\0" + size + size
    with pytest.raises(InputError, match="268 megapixels"):
        read_photograph(header, "bomb.webp")


@pytest.mark.parametrize("content", [b"", b"GIF89a" + b"\0" * 50, b"%PDF-1.7", b"<svg/>", b"\xff\xd8"])
def test_read_photograph_refuses_what_is_no_picture(content: bytes) -> None:
    with pytest.raises(InputError) as refused:
        read_photograph(content, "note.txt")
    assert refused.value.where == "note.txt"
    assert "JPEG, PNG, TIFF, WebP or HEIC" in refused.value.expected


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("share", [0.15, 0.5, 0.85])
def test_read_photograph_refuses_a_file_cut_short(kind: str, share: float) -> None:
    noise = np.random.default_rng(3).integers(0, 255, (64, 64, 3), np.uint8)
    content = encoded(Image.fromarray(noise), kind)
    with pytest.raises(InputError, match="damaged or cut off"):
        read_photograph(content[: int(share * len(content))], "cut")


@pytest.mark.parametrize("kind", FORMATS)
def test_read_photograph_raises_nothing_else_on_altered_files(kind: str) -> None:
    """Two hundred files with a few bytes changed: decoded or refused, never another error."""
    content = encoded(Image.fromarray(corners()), kind, notes())
    chance = random.Random(5)
    outcomes = []
    for _ in range(200):
        altered = bytearray(content)
        for _ in range(chance.randrange(1, 6)):
            altered[chance.randrange(len(altered))] = chance.randrange(256)
        try:
            outcomes.append(read_photograph(bytes(altered), "x").pixels.ndim)
        except InputError as refused:
            outcomes.append(len(refused.args))
    assert set(outcomes) <= {3, 4}


def test_without_camera_notes_leaves_nothing_of_place_or_date() -> None:
    exif = notes(6)
    exif[GPS_IFD] = {1: "N", 2: (47.0, 30.0, 0.0)}
    photo = read_photograph(encoded(Image.fromarray(corners()), "JPEG", exif), "x")
    again = Image.open(io.BytesIO(without_camera_notes(photo)))
    assert len(again.getexif()) == 0
    assert again.size == (photo.width_px, photo.height_px)


def test_thumbnail_is_a_small_jpeg_and_working_copy_never_enlarges() -> None:
    photo = read_photograph(encoded(Image.fromarray(corners()), "PNG"), "x")
    assert Image.open(io.BytesIO(thumbnail_jpeg(photo, 50))).size == (50, 33)
    assert working_copy(photo.pixels, 5000)[1] == 1.0
