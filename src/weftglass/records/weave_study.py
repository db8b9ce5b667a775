"""A weave study: rows and stitches of a covering as counted once on one photograph, by the program or by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError, Unfit
from weftglass.records.offer import day_of
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, SHORT, words

HOW_COUNTED: dict[str, str] = {"picture": "counted in the picture", "hand": "counted by hand"}
"""How a study came about, each with its words."""

STUDY_LEANS = ("", "up to the right", "up to the left")
MOST_PER_CM = 60.0


@dataclass(frozen=True, kw_only=True)
class WeaveStudy(Record):
    """
    One count on one photograph.

    Parameters
    ----------
    piece, view : str
        Ids of the piece and of the view that was counted on.
    on : str
        The day, ``YYYY-MM-DD``.
    by : str
    how : str
        One of `HOW_COUNTED`.
    technique : str
        As it was taken to be; empty where nobody said.
    rows_per_cm, rows_sd, stitches_per_cm, stitches_sd : float or None
        None where that was not counted.
    lean : str
        One of `STUDY_LEANS`; empty: not told.
    box_px : tuple of float
        Left, top, right and lower edge of what was counted, pixels; empty for a count by hand.
    bar : tuple of float
        The scale: two points in pixels and their distance in mm.
    taps_px : tuple of (x, y)
        The taps of a count by hand.
    remark : str
    """

    KIND: ClassVar[str] = "weave study"
    PLURAL: ClassVar[str] = "weave_studies"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece", "view": "view"}

    piece: str
    view: str
    on: str
    by: str
    how: str
    technique: str = ""
    rows_per_cm: float | None = None
    rows_sd: float | None = None
    stitches_per_cm: float | None = None
    stitches_sd: float | None = None
    lean: str = ""
    box_px: tuple[float, ...] = ()
    bar: tuple[float, ...] = ()
    taps_px: tuple[tuple[float, float], ...] = ()
    remark: str = ""

    @property
    def about(self) -> str:
        """The counts."""
        parts = [
            f"{value:.2f} {what} per cm"
            for value, what in ((self.rows_per_cm, "rows"), (self.stitches_per_cm, "stitches"))
            if value is not None
        ]
        return f"{self.on}, " + (", ".join(parts) or "no count")

    def check_fields(self, where: str) -> None:
        """A day that is one, counts with their uncertainty, and a scale they came from."""
        day_of(self.on, where, "on")
        words(self.by, where, "by", longest=100, needed=True)
        if self.how not in HOW_COUNTED:
            raise InputError(where, "how", self.how, "one of: " + ", ".join(HOW_COUNTED))
        words(self.technique, where, "technique", longest=SHORT)
        words(self.remark, where, "remark", longest=LONG)
        if self.lean not in STUDY_LEANS:
            raise InputError(where, "lean", self.lean, "one of: " + ", ".join(filter(None, STUDY_LEANS)) + ", or empty")
        if self.rows_per_cm is None and self.stitches_per_cm is None:
            raise Unfit(where, "rows_per_cm", "nothing is counted", "a count of rows or of stitches")
        for name in ("rows", "stitches"):
            value, sd = getattr(self, f"{name}_per_cm"), getattr(self, f"{name}_sd")
            if value is not None and not 0 < value <= MOST_PER_CM:
                raise InputError(where, f"{name}_per_cm", value, f"above 0 and at most {MOST_PER_CM:g} per cm")
            if (value is None) != (sd is None) or (sd is not None and not (math.isfinite(sd) and sd > 0)):
                raise InputError(where, f"{name}_sd", sd, "a number above 0 where there is a count, else nothing")
        if len(self.bar) != 5:
            raise InputError(where, "bar", self.bar, "two points in pixels and their distance in mm, five numbers")
        if len(self.box_px) not in (0, 4):
            raise InputError(where, "box_px", self.box_px, "four numbers, or none")
