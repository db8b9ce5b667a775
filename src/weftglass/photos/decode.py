"""Which picture is in a file: pixels upright, and what the camera wrote beside them."""

from __future__ import annotations

import io
import re
import struct
import warnings as python_warnings
import zlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pillow_heif
from numpy.typing import NDArray
from PIL import Image, ImageOps, JpegImagePlugin, PngImagePlugin, TiffImagePlugin, WebPImagePlugin

from weftglass.errors import Unfit

MAX_MEGAPIXELS = 200
MIN_SIDE_PX = 16

Pixels = NDArray[np.uint8]

EXIF_IFD = 0x8769
DATE_TIME_ORIGINAL = 0x9003
PIXEL_X, PIXEL_Y = 0xA002, 0xA003
FOCAL_LENGTH_35MM = 0xA405

FORMATS = "JPEG, PNG, TIFF, WebP or HEIC"
PLAIN_MODES = frozenset({"1", "L", "P", "RGB", "RGBX", "CMYK", "YCbCr", "LAB", "HSV"})
ALPHA_MODES = frozenset({"LA", "La", "PA", "RGBA", "RGBa"})
SIXTEEN_BIT_MODES = frozenset({"I;16", "I;16L", "I;16B", "I;16N"})

# What the decoders raise on broken files, found by feeding them cut and altered ones. Warnings are listed because a
# caller may have turned them into errors.
DECODER_FAULTS = (
    OSError,
    EOFError,
    SyntaxError,
    ValueError,
    TypeError,
    KeyError,
    IndexError,
    AttributeError,
    RuntimeError,
    OverflowError,
    MemoryError,
    ZeroDivisionError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
    Warning,
)


@dataclass(frozen=True, eq=False)
class Photograph:
    """
    A decoded photograph.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
        Red, green, blue; upright (orientation applied), read-only. Pixel (0, 0) is the centre of the top-left one.
    focal_35mm : float or None
        Focal length as on 35 mm film, in mm, as the camera wrote it; None where unknown or no longer true.
    taken : str or None
        When it was taken, ``YYYY-MM-DDTHH:MM:SS`` without a zone (cameras write none).
    format : str
        JPEG, PNG, TIFF, WebP or HEIC.
    warnings : tuple of str
        What the reader should know, one sentence each.
    """

    pixels: Pixels
    focal_35mm: float | None = None
    taken: str | None = None
    format: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def width_px(self) -> int:
        """Width of the upright picture in pixels."""
        return int(self.pixels.shape[1])

    @property
    def height_px(self) -> int:
        """Height of the upright picture in pixels."""
        return int(self.pixels.shape[0])


def read_photograph(content: bytes, where: str) -> Photograph:
    """
    Decode a photograph: upright, eight bits, red, green, blue.

    Transparent parts are shown on white, sixteen bits are cut to eight, CMYK is turned to RGB, of several pictures in
    one file the first is taken.

    Parameters
    ----------
    content : bytes
        The whole file.
    where : str
        Name of the file, for messages.

    Returns
    -------
    Photograph

    Raises
    ------
    InputError
        If it is not a JPEG, PNG, TIFF, WebP or HEIC picture, is cut short or damaged, would decode to more than
        200 megapixels (told from its header, before decoding), or is less than 16 pixels wide or high.

    Examples
    --------
    >>> from PIL import Image
    >>> file = io.BytesIO()
    >>> Image.new("RGB", (40, 60), "white").save(file, "PNG")
    >>> photo = read_photograph(file.getvalue(), "white.png")
    >>> photo.width_px, photo.height_px, photo.format
    (40, 60, 'PNG')
    """
    kind = _kind_of(content)
    if kind is None:
        raise Unfit(where, "photograph", f"its {len(content)} bytes are of another kind", f"a {FORMATS} picture")
    if kind == "WebP":
        _check_size(_webp_size(content), where)
    damaged = Unfit(where, "photograph", f"the {kind} file is damaged or cut off", "a whole picture: copy it again")
    try:
        with python_warnings.catch_warnings():
            python_warnings.simplefilter("ignore")
            image = _open(kind, content, where)
            _check_size(image.size, where)
            focal, taken, exif_notes = _camera_notes(image)
            image.load()
            picture, notes = _upright_rgb(image, kind, where)
    except DECODER_FAULTS as fault:
        raise damaged from fault
    pixels = np.asarray(picture, dtype=np.uint8).copy()
    pixels.setflags(write=False)
    return Photograph(pixels, focal, taken, kind, (*notes, *exif_notes))


def _kind_of(content: bytes) -> str | None:
    """The format by its first bytes; a file's name says nothing certain."""
    starts: tuple[tuple[str, Callable[[bytes], bool]], ...] = (
        ("JPEG", lambda head: head.startswith(b"\xff\xd8\xff")),
        ("PNG", lambda head: head.startswith(b"\x89PNG\r\n\x1a\n")),
        ("TIFF", lambda head: head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")),
        ("WebP", lambda head: head[:4] == b"RIFF" and head[8:12] == b"WEBP"),
        ("HEIC", lambda head: head[4:8] == b"ftyp" and head[8:12] in (b"heic", b"heix", b"heim", b"heis", b"mif1")),
    )
    head = content[:16]
    return next((kind for kind, starts_so in starts if starts_so(head)), None)


def _open(kind: str, content: bytes, where: str) -> Image.Image:
    """Open by the format's own reader: the general opener would warn and stop at its own, lower size."""
    source = io.BytesIO(content)
    match kind:
        case "JPEG":
            return JpegImagePlugin.JpegImageFile(source)
        case "PNG":
            return PngImagePlugin.PngImageFile(source)
        case "TIFF":
            return TiffImagePlugin.TiffImageFile(source)
        case "WebP":
            return WebPImagePlugin.WebPImageFile(source)
    heif = pillow_heif.open_heif(source)
    _check_size(heif.size, where)
    return heif.to_pillow()


def _check_size(size: tuple[int, int], where: str) -> None:
    width, height = size
    if width * height > MAX_MEGAPIXELS * 1_000_000:
        wrong = f"the picture has {width} × {height} = {width * height / 1e6:.0f} megapixels"
        raise Unfit(where, "photograph", wrong, f"at most {MAX_MEGAPIXELS} megapixels")
    if min(width, height) < MIN_SIDE_PX:
        wrong = f"the picture has {width} × {height} pixels"
        raise Unfit(where, "photograph", wrong, f"at least {MIN_SIDE_PX} pixels each way")


def _webp_size(content: bytes) -> tuple[int, int]:
    """Size in a WebP header (RFC 9649): its reader would make room for the picture already when opening it."""
    head = content[:30].ljust(30, b"\0")
    if head[12:16] == b"VP8X":
        return 1 + int.from_bytes(head[24:27], "little"), 1 + int.from_bytes(head[27:30], "little")
    if head[12:16] == b"VP8L":
        bits = int.from_bytes(head[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    return int.from_bytes(head[26:28], "little") & 0x3FFF, int.from_bytes(head[28:30], "little") & 0x3FFF


def _upright_rgb(image: Image.Image, kind: str, where: str) -> tuple[Image.Image, tuple[str, ...]]:
    notes: list[str] = []
    if image.mode in SIXTEEN_BIT_MODES:
        grey = (np.asarray(image).astype(np.uint16) >> 8).astype(np.uint8)
        orientation = image.getexif().get(0x0112, 1)
        image = Image.fromarray(grey)
        image.getexif()[0x0112] = orientation
        notes.append("Sixteen bits a colour were cut to eight.")
    if image.mode in ALPHA_MODES or "transparency" in image.info:
        layer = image.convert("RGBA")
        white = Image.new("RGBA", layer.size, (255, 255, 255, 255))
        orientation = image.getexif().get(0x0112, 1)
        if layer.getchannel("A").getextrema() != (255, 255):
            notes.append("Transparent parts of the picture are shown on white.")
        image = Image.alpha_composite(white, layer).convert("RGB")
        image.getexif()[0x0112] = orientation
    elif image.mode not in PLAIN_MODES:
        wrong = f"its pixels are of kind {image.mode}"
        raise Unfit(where, "photograph", wrong, "a picture with 8 or 16 bits a colour")
    # The HEIC reader has turned the picture already; the others leave it to the orientation tag.
    turned = image if kind == "HEIC" else ImageOps.exif_transpose(image)
    return turned.convert("RGB"), tuple(notes)


def _camera_notes(image: Image.Image) -> tuple[float | None, str | None, tuple[str, ...]]:
    """Focal length, date and warnings from EXIF; a damaged EXIF block is no reason to refuse the picture."""
    try:
        exif = image.getexif().get_ifd(EXIF_IFD)
        focal = float(exif.get(FOCAL_LENGTH_35MM) or 0)
        taken = _iso_time(str(exif.get(DATE_TIME_ORIGINAL, "")))
        sides = sorted((float(exif.get(PIXEL_X) or 0), float(exif.get(PIXEL_Y) or 0)))
    except DECODER_FAULTS:
        return None, None, ("What the camera wrote beside the picture could not be read.",)
    if not 1 <= focal <= 5000:
        return None, taken, ()
    short, long = sorted(image.size)
    if sides[0] > 0 and abs(sides[0] / sides[1] - short / long) > 0.02 * short / long:
        return None, taken, ("The picture was cropped after it was taken, so its focal length is not used.",)
    return focal, taken, ()


def _iso_time(text: str) -> str | None:
    match = re.match(r"(\d{4}):(\d\d):(\d\d)[ T](\d\d):(\d\d):(\d\d)", text)
    if match is None or match[1] == "0000":
        return None
    year, month, day, hour, minute, second = match.groups()
    return f"{year}-{month}-{day}T{hour}:{minute}:{second}"
