"""All the evidence about one piece, and the evidence file people hand in."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from weftglass.errors import InputError, UnusableFile
from weftglass.evidence.covering import Covering
from weftglass.evidence.measurement import Measurement
from weftglass.evidence.outline import Outline
from weftglass.evidence.reading import Record, need_list, need_text, refuse_unknown
from weftglass.evidence.sighting import Sighting
from weftglass.files import read_text
from weftglass.vessels.fields import record_of

KNOWN = frozenset({"piece", "outlines", "measurements", "sightings", "covering"})
MAX_FILE_BYTES = 256 * 2**20
EXPECTED = "an evidence file, JSON for one piece or JSON Lines with a piece a line"


@dataclass(frozen=True, eq=False)
class Evidence:
    """Outlines, measurements, sightings and covering of one piece; any of them may be empty."""

    piece: str = "piece"
    outlines: tuple[Outline, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    sightings: tuple[Sighting, ...] = ()
    covering: Covering = field(default_factory=Covering)

    @classmethod
    def from_record(cls, record: object, where: str = "evidence") -> Evidence:
        """
        Read the contract's evidence record.

        Raises
        ------
        InputError
            Names the first field that is wrong, its value and what would be right.

        Examples
        --------
        >>> Evidence.from_record({"piece": "p-1", "measurements": [{"what": "height", "value": 231, "sd": 1}]}).piece
        'p-1'
        """
        top = record_of(record, where, "evidence")
        refuse_unknown(top, KNOWN, where, "")

        def each(name: str) -> list[tuple[Record, str]]:
            items = need_list(top.get(name), where, name)
            return [(record_of(item, where, f"{name}[{i}]"), f"{name}[{i}]") for i, item in enumerate(items)]

        covering = record_of(top.get("covering") or {}, where, "covering")
        return cls(
            need_text(top.get("piece", "piece"), where, "piece", "a short name for the piece"),
            tuple(Outline.from_record(item, where, name) for item, name in each("outlines")),
            tuple(Measurement.from_record(item, where, name) for item, name in each("measurements")),
            tuple(Sighting.from_record(item, where, name) for item, name in each("sightings")),
            Covering.from_record(covering, where, "covering"),
        )

    def to_record(self) -> dict[str, Any]:
        """The contract's record; `from_record` reads it back."""
        return {
            "piece": self.piece,
            "outlines": [outline.to_record() for outline in self.outlines],
            "measurements": [measurement.to_record() for measurement in self.measurements],
            "sightings": [sighting.to_record() for sighting in self.sightings],
            "covering": self.covering.to_record(),
        }

    @property
    def is_empty(self) -> bool:
        """True when there is nothing to reason from."""
        return not (self.outlines or self.measurements or self.sightings)


def parse_json(text: str, where: str) -> object:
    """JSON text as Python values; nonsense, NaN and Infinity are refused with the place."""

    def refuse(constant: str) -> object:
        raise InputError(where, "JSON", constant, "a finite number")

    try:
        return json.loads(text, parse_constant=refuse)
    except json.JSONDecodeError as fault:
        raise InputError(
            where,
            "JSON",
            text[max(0, fault.pos - 20) : fault.pos + 20],
            f"valid JSON ({fault.msg} at character {fault.pos})",
        ) from None
    except ValueError:  # an integer of thousands of digits
        raise InputError(where, "JSON", text[:40], "JSON with numbers of at most 4300 digits") from None
    except RecursionError:
        raise InputError(where, "JSON", text[:40], "JSON that is not nested hundreds of levels deep") from None


def is_json_lines(path: Path, text: str) -> bool:
    """True for JSON Lines: by its name, or more than one line each of which opens an object."""
    if path.suffix.lower() in (".jsonl", ".ndjson"):
        return True
    return len(re.findall(r"(?m)^\s*\{\s*\"", text)) > 1 and _first_line_is_whole(text)


def read_evidence(path: str | Path) -> list[Evidence]:
    """
    Read an evidence file: one JSON document, or JSON Lines with one piece a line (blank lines are passed over).

    Parameters
    ----------
    path : str or Path
        UTF-8, at most 256 MiB.

    Returns
    -------
    list of Evidence
        In the order of the file; a JSON document gives one.

    Raises
    ------
    InputError
        Unreadable file, nonsense JSON, or a wrong field, with file, line and field.
    """
    file = Path(path)
    text = read_text(file, EXPECTED, most_bytes=MAX_FILE_BYTES)
    if not is_json_lines(file, text):
        return [Evidence.from_record(parse_json(text, file.name), file.name)]
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise UnusableFile(file.name, "file", "there is nothing but blank lines in it", EXPECTED)
    return [
        Evidence.from_record(parse_json(line, f"{file.name} line {number}"), f"{file.name} line {number}")
        for number, line in lines
    ]


def _first_line_is_whole(text: str) -> bool:
    first = next((line for line in text.splitlines() if line.strip()), "")
    try:
        return isinstance(json.loads(first), dict)
    except ValueError:
        return False
