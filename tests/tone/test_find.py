"""Finding the tone: pats and puffs are read, hum, voices and noise are refused with a reason."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile
from benchmarks.tone_recordings import WITHOUT, with_tone, without_tone

from weftglass.errors import InputError
from weftglass.tone import Sound, find_tone, read_sound

RATE = 16_000


def pat(hz: float, seed: int = 0, seconds: float = 2.0) -> Sound:
    """A pat that dies away in a little noise."""
    t = np.arange(int(seconds * RATE)) / RATE
    ring = np.where(t > 0.3, np.exp(-np.pi * hz / 30 * (t - 0.3)) * np.sin(2 * np.pi * hz * t), 0.0)
    return Sound.of(0.5 * ring + 0.01 * np.random.default_rng(seed).standard_normal(len(t)), RATE, f"pat {seed}")


def test_tones_at_ten_decibels_are_found() -> None:
    """At least 19 in 20 within half a per cent (the benchmark has 200)."""
    rng = np.random.default_rng(11)
    made = [with_tone(rng) for _ in range(20)]
    found = [find_tone([one.sound]).frequency_hz for one in made]
    near = [f is not None and abs(f / one.tone_hz - 1) < 0.005 for f, one in zip(found, made, strict=True)]
    assert sum(near) >= 19


@pytest.mark.parametrize("kind", WITHOUT)
def test_nothing_is_claimed_where_there_is_no_tone(kind: str) -> None:
    """No frequency, and a reason."""
    tone = find_tone([without_tone(kind, np.random.default_rng(5)).sound])
    assert tone.frequency_hz is None
    assert tone.sd_hz is None
    assert tone.reason


def test_several_recordings_agree_and_a_stray_one_is_left_out() -> None:
    """The stray is told of."""
    tone = find_tone([pat(140, 1), pat(140.3, 2), pat(139.8, 3), pat(171, 4)])
    assert tone.frequency_hz == pytest.approx(140, rel=0.005)
    assert any("left out" in warning for warning in tone.warnings)


def test_recordings_that_disagree_give_no_tone() -> None:
    """Two pitches, no majority."""
    tone = find_tone([pat(140, 1), pat(230, 2)])
    assert tone.frequency_hz is None
    assert "disagree" in (tone.reason or "")


def test_a_pat_is_told_from_a_held_tone() -> None:
    """One dies away, the other stays."""
    t = np.arange(2 * RATE) / RATE
    held = 0.3 * np.sin(2 * np.pi * 137 * t) + 0.01 * np.random.default_rng(1).standard_normal(len(t))
    assert find_tone([pat(137)]).struck
    assert not find_tone([Sound.of(held, RATE)]).struck


@pytest.mark.parametrize("kind", ["WAV", "FLAC", "OGG", "MP3"])
def test_every_format_is_read(kind: str) -> None:
    """The same tone comes out."""
    file = io.BytesIO()
    soundfile.write(file, pat(180).samples, RATE, format=kind)
    assert find_tone([read_sound(file.getvalue(), f"pat.{kind}")]).frequency_hz == pytest.approx(180, rel=0.005)


@pytest.mark.parametrize(
    ("content", "field"), [(b"no sound at all", "file"), (b"", "file"), (b"\0" * 64_000_001, "size")]
)
def test_what_is_no_sound_is_refused(content: bytes, field: str) -> None:
    """One clear error."""
    with pytest.raises(InputError) as caught:
        read_sound(content, "x.wav")
    assert caught.value.field == field


def test_a_file_without_sound_is_called_so() -> None:
    """Not by its size in bytes."""
    with pytest.raises(InputError, match="there is no sound in it that can be read; it should be a recording"):
        read_sound(b"abc", "x.wav")


@pytest.mark.parametrize(
    ("samples", "rate", "field"),
    [
        (np.zeros(10), RATE, "length"),
        (np.zeros(121 * 4000), 4000, "length"),
        (np.zeros(1000), 100, "sampling rate"),
        (np.zeros((4000, 9)), 4000, "channels"),
        (np.full(4000, np.nan), 4000, "samples"),
    ],
)
def test_sounds_out_of_range_are_refused(samples: np.ndarray, rate: int, field: str) -> None:
    """Too short, too long, too slow, too many channels, not numbers."""
    with pytest.raises(InputError) as caught:
        Sound.of(samples, rate)
    assert caught.value.field == field
