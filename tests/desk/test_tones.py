"""Listening to recordings of a piece, and keeping what was heard."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile

from weftglass.desk import Collection, FilledWith, Weather, create_piece, evidence_of, hear_tone, keep_tone
from weftglass.errors import InputError

RATE = 16_000


def pat(hz: float, seed: int = 1) -> tuple[str, bytes]:
    """A WAV file of a pat that dies away in a little noise."""
    t = np.arange(2 * RATE) / RATE
    ring = np.where(t > 0.3, np.exp(-np.pi * hz / 30 * (t - 0.3)) * np.sin(2 * np.pi * hz * t), 0.0)
    place = io.BytesIO()
    samples = 0.5 * ring + 0.01 * np.random.default_rng(seed).standard_normal(len(t))
    soundfile.write(place, samples, RATE, format="WAV", subtype="PCM_16")
    return f"pat-{seed}.wav", place.getvalue()


def test_tone_is_told_for_a_room_of_twenty_degrees() -> None:
    """In a cold room sound is slower, so at 20 °C the tone is higher: about 0.17 % a kelvin."""
    heard = hear_tone([pat(140.0, 1), pat(140.2, 2)], weather=Weather(8.0, 50.0))
    assert heard.tone.frequency_hz == pytest.approx(140.0, rel=0.004)
    assert heard.at_rest_hz is not None
    assert heard.tone.frequency_hz is not None
    assert heard.at_rest_hz / heard.tone.frequency_hz == pytest.approx(1 + 0.0017 * 12, abs=0.002)


def test_unmeasured_weather_makes_the_tone_less_sure() -> None:
    """Four kelvin either way are 0.7 %."""
    known, guessed = hear_tone([pat(140.0)], weather=Weather(20.0, 50.0)), hear_tone([pat(140.0)])
    assert known.at_rest_sd_hz is not None
    assert guessed.at_rest_sd_hz is not None
    assert guessed.at_rest_sd_hz > known.at_rest_sd_hz


def test_dry_fills_narrow_the_capacity() -> None:
    """Without bore and neck there is none; with them a wide one; a fill narrows it."""
    assert hear_tone([pat(132.5)]).capacity.capacity_ml is None
    wide = hear_tone([pat(132.5)], bore_mm=19.5, neck_length_mm=50).capacity
    fill = FilledWith(250.0, (pat(153.0),))
    narrow = hear_tone([pat(132.5)], bore_mm=19.5, neck_length_mm=50, filled=[fill]).capacity
    assert wide.sd_ml is not None
    assert narrow.sd_ml is not None
    assert narrow.sd_ml < 0.6 * wide.sd_ml


@pytest.mark.parametrize(
    ("more", "field"), [({"bore_mm": 18.0}, "neck"), ({"neck_length_mm": 80.0}, "bore")], ids=["bore only", "neck only"]
)
def test_half_a_neck_is_refused(more: dict[str, float], field: str) -> None:
    """Bore and neck belong together."""
    with pytest.raises(InputError) as fault:
        hear_tone([pat(140.0)], **more)  # type: ignore[arg-type]
    assert fault.value.field == field


def test_noise_alone_gives_no_tone_and_no_capacity() -> None:
    """Nothing is claimed, and the reason is told."""
    place = io.BytesIO()
    soundfile.write(place, 0.1 * np.random.default_rng(3).standard_normal(RATE * 2), RATE, format="WAV")
    heard = hear_tone([("noise.wav", place.getvalue())], bore_mm=18.0, neck_length_mm=80.0)
    assert heard.at_rest_hz is None
    assert heard.capacity.capacity_ml is None
    assert heard.tone.reason


def test_kept_tone_is_evidence(collection: Collection) -> None:
    """It stands among the piece's measurements with its standard deviation and how it was taken."""
    piece = create_piece(collection, "No. 3", who="Ada")
    record = keep_tone(collection, piece.id, 141.27, 1.9, who="Ada", remark="three pats")
    assert (record.what, record.how, record.sd) == ("tone", "recording", 1.9)
    kept = evidence_of(collection, piece.id).measurements
    assert [(m.what, m.value, m.sd) for m in kept] == [("tone", 141.27, 1.9)]
