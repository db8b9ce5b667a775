"""The tone of a piece: what its recordings say, and keeping it as evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from weftglass.desk.collection import Collection
from weftglass.desk.measurements import record_measurement
from weftglass.errors import InputError
from weftglass.records import MeasurementRecord
from weftglass.tone import Capacity, Fill, Tone, capacity_from_tone, find_tone, read_sound
from weftglass.vessels.atmosphere import Atmosphere

MOST_RECORDINGS = 40
READ_BY_THERMOMETER_C, GUESSED_C = 1.0, 4.0  # sd of the air's temperature; working figures, no source
PER_KELVIN = 0.0017  # relative change of a tone a kelvin near 20 °C: half of 1 / 293
GUESSED_HUMIDITY = 0.001  # relative sd of a tone where the humidity is not known: 20 to 80 % at 20 °C
ROOM = Atmosphere()

File = tuple[str, bytes]


@dataclass(frozen=True)
class FilledWith:
    """Recordings of a piece holding a known dry fill: millilitres, and the files."""

    fill_ml: float
    files: tuple[File, ...]


@dataclass(frozen=True)
class Weather:
    """The air of the room; None where it was not measured."""

    temperature_c: float | None = None
    humidity_pct: float | None = None

    @property
    def atmosphere(self) -> Atmosphere:
        """The air as measured, 20 °C and 50 % in place of what was not."""
        temperature = ROOM.temperature_c if self.temperature_c is None else self.temperature_c
        return Atmosphere(temperature, ROOM.humidity_pct if self.humidity_pct is None else self.humidity_pct)

    @property
    def spread(self) -> float:
        """Relative standard deviation that the air leaves in a tone."""
        kelvin = GUESSED_C if self.temperature_c is None else READ_BY_THERMOMETER_C
        return float(np.hypot(PER_KELVIN * kelvin, GUESSED_HUMIDITY if self.humidity_pct is None else 0.0))


@dataclass(frozen=True)
class Heard:
    """
    What recordings of one piece say.

    Parameters
    ----------
    tone : Tone
        As it sounded in the room; its frequency is None where there is no tone, with the reason.
    at_rest_hz, at_rest_sd_hz : float or None
        The same in air of 20 °C and 50 %, where the forms' tones are computed; the weather's uncertainty counted in.
    capacity : Capacity
        From bore and neck, narrowed by dry fills; None in it, with the reason, where it can't be told.
    fills : tuple of Fill
        The dry fills whose tones were found.
    """

    tone: Tone
    at_rest_hz: float | None
    at_rest_sd_hz: float | None
    capacity: Capacity
    fills: tuple[Fill, ...] = ()


def hear_tone(
    files: Sequence[File],
    *,
    weather: Weather | None = None,
    bore_mm: float | None = None,
    neck_length_mm: float | None = None,
    filled: Sequence[FilledWith] = (),
) -> Heard:
    """
    Listen to recordings of one empty piece, and of the same piece with known dry fills.

    Parameters
    ----------
    files : sequence of (name, content)
        WAV, FLAC, OGG or MP3, 1 to 40 of them.
    weather : Weather, optional
        The air of the room. Default: not measured.
    bore_mm, neck_length_mm : float, optional
        Both, or neither: for the capacity.
    filled : sequence of FilledWith
        Recordings under dry fills, which narrow the capacity.

    Raises
    ------
    InputError
        No recording, or one that can't be read; only one of bore and neck; a fill whose tone isn't above the empty
        vessel's.
    """
    if not 1 <= len(files) <= MOST_RECORDINGS:
        raise InputError("tone", "recordings", len(files), f"1 to {MOST_RECORDINGS} recordings of the empty piece")
    if (bore_mm is None) != (neck_length_mm is None):
        missing = "bore" if bore_mm is None else "neck"
        raise InputError("tone", missing, None, "both bore and neck length in mm, or neither")
    air = weather or Weather()
    tone = _tone_in(files)
    fills = []
    for one in filled:
        under = _tone_in(one.files)
        if under.frequency_hz is None or under.reading_sd_hz is None:
            raise InputError("tone", f"fill of {one.fill_ml:g} ml", under.reason, "recordings in which a tone is found")
        fills.append(Fill(one.fill_ml, under.frequency_hz, under.reading_sd_hz))
    if tone.frequency_hz is None or tone.sd_hz is None:
        return Heard(tone, None, None, Capacity(None, None, reason=tone.reason), tuple(fills))
    at_rest = tone.frequency_hz * ROOM.speed_m_s / air.atmosphere.speed_m_s
    spread = float(np.hypot(tone.sd_hz / tone.frequency_hz, air.spread))
    if bore_mm is None or neck_length_mm is None:
        held = Capacity(None, None, reason="bore and neck length are needed for it")
    else:
        held = capacity_from_tone(
            tone.frequency_hz,
            tone.sd_hz,
            bore_mm,
            neck_length_mm,
            air.atmosphere,
            fills,
            reading_sd_hz=tone.reading_sd_hz,
        )
    return Heard(tone, at_rest, at_rest * spread, held, tuple(fills))


def _tone_in(files: Sequence[File]) -> Tone:
    return find_tone([read_sound(content, name) for name, content in files])


def keep_capacity(
    collection: Collection, piece_id: str, capacity_ml: float, sd_ml: float, *, who: str, remark: str = ""
) -> MeasurementRecord:
    """
    Keep a capacity that dry fills and their tones told, in place of the tone: the two are not independent.

    Parameters
    ----------
    capacity_ml, sd_ml : float
        As `Heard.capacity`.

    Raises
    ------
    InputError
        A capacity outside 1 to 100,000 ml, or a standard deviation that is not above 0.
    """
    typed = f"{capacity_ml:.1f} ml"
    return record_measurement(
        collection, piece_id, "capacity", typed, who=who, how="recording", sd=sd_ml, remark=remark
    )


def keep_tone(
    collection: Collection, piece_id: str, hz: float, sd_hz: float, *, who: str, remark: str = ""
) -> MeasurementRecord:
    """
    Keep a tone as a measurement of the piece.

    Parameters
    ----------
    hz, sd_hz : float
        In air of 20 °C and 50 %, as `Heard.at_rest_hz` and its standard deviation.

    Raises
    ------
    InputError
        A tone outside 20 to 5000 Hz, or a standard deviation that is not above 0.
    """
    return record_measurement(
        collection, piece_id, "tone", f"{hz:.2f} Hz", who=who, how="recording", sd=sd_hz, remark=remark
    )
