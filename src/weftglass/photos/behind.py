"""What can be seen of the glass through an open covering, put together from several photographs of one face."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError, Unfit
from weftglass.photos.exposure import evened
from weftglass.photos.rollout import TurnedView
from weftglass.photos.turns import registered_to
from weftglass.photos.unroll import Colours, Strip, unroll
from weftglass.photos.wall import Wall, wall_of
from weftglass.vessels import Section

FloatArray = NDArray[np.float64]

MOST_VIEWS = 12
FACE_DEG = 62.0
SURE_LIKENESS = 0.25
ELSEWHERE_DEG = (-20.0, 20.0, -40.0, 40.0)
THIN_MM = 0.7
"""A bright line thinner than this is a glint on a letter, not a strand."""

CLOSER = 4.0
"""How much the best-seeing photograph is preferred where several see the glass: the power of its weight."""


@dataclass(frozen=True)
class Placed:
    """
    How a photograph was laid on the others.

    Parameters
    ----------
    turn_deg : float
        Turn found.
    likeness : float
        Correlation of its covering with the first photograph's; 1 for the first.
    used : bool
        False where it could not be matched and was left out.
    """

    turn_deg: float
    likeness: float
    used: bool


@dataclass(frozen=True, eq=False)
class BehindOpenwork:
    """
    One picture of the glass behind a covering.

    Parameters
    ----------
    picture : array, shape (rows, columns, 3), uint8
        Row 0 at the top; where no photograph sees through, an even grey.
    clearer : array, shape (rows, columns), uint8
        The same in grey with local contrast raised, to read embossing by.
    photographs : array, shape (rows, columns), uint8
        How many photographs see the glass at each place.
    px_per_mm : float
        On the glass.
    height_mm : array, shape (rows,)
        Of each row.
    share_one, share_all : float
        Share of the face that the best single photograph shows, and that all together do.
    placed : tuple of Placed
        One for each photograph, in order.
    warnings : tuple of str
    """

    picture: NDArray[np.uint8]
    clearer: NDArray[np.uint8]
    photographs: NDArray[np.uint8]
    px_per_mm: float
    height_mm: FloatArray
    share_one: float
    share_all: float
    placed: tuple[Placed, ...]
    warnings: tuple[str, ...] = ()


def behind_openwork(
    views: Sequence[TurnedView],
    profile: ArrayLike,
    *,
    cover_mm: float,
    heights_mm: tuple[float, float],
    face_deg: float = 0.0,
    glass_colour: Sequence[float] | None = None,
    lightest: bool = False,
    px_per_mm: float = 4.0,
    section: Section | None = None,
    depth_share: float = 1.0,
    unknown_turns: Sequence[int] = (),
    where: str = "letters",
) -> BehindOpenwork:
    """
    Put together what several photographs show of the glass behind an open covering.

    Parameters
    ----------
    views : sequence of TurnedView
        1 to 12 photographs of one face; each turn known to about 12 degrees.
    profile : array, shape (n, 2)
        Rows of (height, half-width) in mm of the outline, covering and all.
    cover_mm : float
        How far the glass lies behind that outline, 0 to 40.
    heights_mm : (low, high)
        Where to look, mm above the standing plane.
    face_deg : float
        Turn of the face.
    glass_colour : (r, g, b), optional
        0 to 1, of the glass as photographed. Default: the darkest tenth of what is seen.
    lightest : bool
        The lightest tenth instead: pale glass behind dark cord.
    px_per_mm : float
        Of the picture.
    section, depth_share
        As for a rollout.
    unknown_turns : sequence of int
        Which of the photographs, from 0, were turned nobody knows how far: they are looked for up to 50 degrees. A net
        whose meshes are all alike may then be laid a mesh off.
    where : str
        For messages.

    Raises
    ------
    InputError
        No photograph or more than 12, a thickness or range that cannot be, or nothing seen of that face.

    Notes
    -----
    The covering turns with the glass, so turns are found by matching coverings on the outer wall. On the glass, which
    lies deeper, strands then fall on other places in every photograph, and each place is read from those in which it is
    glass: by colour, strands being what is unlike glass over more than the width of a glint.
    """
    if not 1 <= len(views) <= MOST_VIEWS:
        raise InputError(where, "photographs", len(views), f"1 to {MOST_VIEWS} of one face")
    rows = np.asarray(profile, dtype=np.float64)
    if not 0 <= cover_mm <= min(40.0, float(rows[:, 1].max()) - 3):
        raise InputError(where, "cover_mm", cover_mm, "0 to 40, less than the half-width of the piece, in mm")
    plan = section or Section("round")
    outer = wall_of(
        rows, px_per_mm=px_per_mm, heights_mm=heights_mm, section=plan, depth_share=depth_share, where=where
    )
    deeper = np.column_stack([rows[:, 0], np.maximum(rows[:, 1] - cover_mm, 1.0)])
    inner = wall_of(
        deeper, px_per_mm=px_per_mm, heights_mm=heights_mm, section=plan, depth_share=depth_share, where=where
    )
    placed, rises = _placed(views, outer, unknown_turns)
    strips = [
        unroll(view.pixels, view.standing, inner, turn_deg=one.turn_deg, rise_mm=rise, widest_deg=FACE_DEG)
        for view, one, rise in zip(views, placed, rises, strict=True)
        if one.used
    ]
    columns = _face_columns(inner, face_deg)
    cut = [_cut(strip, columns) for strip in strips]
    if not any(strip.seen.any() for strip in cut):
        wrong = f"no photograph shows the face at {face_deg:g} degrees"
        raise Unfit(where, "face", wrong, "a face that one of the photographs shows")
    colours = [np.clip(colour[:, columns], 0, 1).astype(np.float32) for colour in evened(strips, inner)]
    glass = _glass(cut, colours, glass_colour, lightest, px_per_mm)
    return _merged(cut, colours, glass, inner, placed)


def _placed(views: Sequence[TurnedView], outer: Wall, unknown: Sequence[int]) -> tuple[tuple[Placed, ...], list[float]]:
    """Turn and rise of each photograph, from its covering laid on the first one's."""
    strips = [unroll(view.pixels, view.standing, outer, turn_deg=view.turn_deg) for view in views]
    placed, rises = [Placed(views[0].turn_deg, 1.0, True)], [0.0]
    for k, (strip, view) in enumerate(zip(strips[1:], views[1:], strict=True), start=1):
        turn, rise, likeness = registered_to(strips[0], strip, outer)
        if k in unknown:
            turn, rise, likeness = max((turn, rise, likeness), _looked_for(strips[0], view, outer), key=itemgetter(2))
        sure = likeness >= SURE_LIKENESS
        placed.append(Placed(view.turn_deg + turn if sure else view.turn_deg, likeness, sure))
        rises.append(rise if sure else 0.0)
    return tuple(placed), rises


def _looked_for(first: Strip, view: TurnedView, outer: Wall) -> tuple[float, float, float]:
    """Turn to add, rise and likeness of a photograph whose turn was not told, where it is most like the first."""
    tried = []
    for start in ELSEWHERE_DEG:
        strip = unroll(view.pixels, view.standing, outer, turn_deg=view.turn_deg + start)
        turn, rise, likeness = registered_to(first, strip, outer)
        tried.append((start + turn, rise, likeness))
    return max(tried, key=lambda one: one[2])


def _face_columns(wall: Wall, face_deg: float) -> NDArray[np.int64]:
    columns = wall.shape[1]
    half = int(FACE_DEG / 360 * columns)
    return np.asarray(np.mod(round((face_deg / 360 + 0.5) * columns) + np.arange(-half, half + 1), columns))


def _cut(strip: Strip, columns: NDArray[np.int64]) -> Strip:
    return Strip(strip.colours[:, columns], strip.facing[:, columns], strip.px_per_mm[:, columns], strip.turn_deg)


def _glass(
    strips: Sequence[Strip],
    colours: Sequence[Colours],
    glass_colour: Sequence[float] | None,
    lightest: bool,
    px_per_mm: float,
) -> list[Colours]:
    """How surely each place of each strip is glass, 0 to 1."""
    labs = [cv2.cvtColor(colour, cv2.COLOR_RGB2LAB) for colour in colours]
    seen = np.concatenate([lab[strip.seen] for lab, strip in zip(labs, strips, strict=True)])
    if glass_colour is None:
        light = -seen[:, 0] if lightest else seen[:, 0]
        glass = np.median(seen[light <= np.quantile(light, 0.1)], axis=0)
    else:
        glass = cv2.cvtColor(np.array([[glass_colour]], dtype=np.float32), cv2.COLOR_RGB2LAB)[0, 0]
    apart = np.linalg.norm(seen - glass, axis=1)
    edge = _between(apart)
    size = max(3, int(THIN_MM * px_per_mm) | 1)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    margin = np.ones((3, 3), dtype=np.uint8)  # the blur at a strand's edge is neither glass nor strand
    result = []
    for lab, strip in zip(labs, strips, strict=True):
        away = np.linalg.norm(lab - glass, axis=2).astype(np.float32)
        strand = cv2.dilate(cv2.morphologyEx(away, cv2.MORPH_OPEN, kernel), margin)
        soft = 1 / (1 + np.exp(np.clip((strand - edge) / (0.12 * edge), -30, 30)))
        result.append(np.asarray(np.where(strip.seen, soft, 0), dtype=np.float32))
    return result


def _between(apart: FloatArray) -> float:
    """The value that parts two groups best (Otsu 1979)."""
    counts, edges = np.histogram(apart, 128)
    middle = (edges[1:] + edges[:-1]) / 2
    below, total = np.cumsum(counts), counts.sum()
    sum_below = np.cumsum(counts * middle)
    above = total - below
    with np.errstate(divide="ignore", invalid="ignore"):
        apart_by = below * above * (sum_below / below - (sum_below[-1] - sum_below) / above) ** 2
    return float(max(middle[int(np.nanargmax(apart_by))], 4.0))


def _merged(
    strips: Sequence[Strip],
    colours: Sequence[Colours],
    glass: Sequence[Colours],
    wall: Wall,
    placed: tuple[Placed, ...],
) -> BehindOpenwork:
    clear = np.stack([share > 0.5 for share in glass])
    weight = np.stack(
        [(share * strip.facing) ** CLOSER * (share > 0.5) for share, strip in zip(glass, strips, strict=True)]
    )
    total = weight.sum(axis=0)
    mean = (weight[..., None] * np.stack(colours)).sum(axis=0) / np.maximum(total, 1e-9)[..., None]
    sees = clear.sum(axis=0).astype(np.uint8)
    face = np.stack([strip.seen for strip in strips]).any(axis=0)
    picture = np.where((sees > 0)[..., None], np.clip(mean * 255, 0, 255), 168).astype(np.uint8)
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    filled = cv2.inpaint(grey, (sees == 0).astype(np.uint8), 3, cv2.INPAINT_TELEA)
    raised = cv2.createCLAHE(3.0, (8, 8)).apply(filled)
    clearer = np.where(sees > 0, raised, 168).astype(np.uint8)
    area = max(int(face.sum()), 1)
    return BehindOpenwork(
        np.ascontiguousarray(picture[::-1]),
        np.ascontiguousarray(clearer[::-1]),
        np.ascontiguousarray(sees[::-1]),
        wall.px_per_mm,
        np.ascontiguousarray(wall.height_mm[::-1]),
        float(max(one.sum() for one in clear) / area),
        float((sees > 0).sum() / area),
        placed,
    )
