"""Reading a recording: one channel of samples, from WAV, FLAC, OGG or MP3."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import soundfile
from numpy.typing import NDArray

from weftglass.errors import InputError, Unfit, UnusableFile

FloatArray = NDArray[np.float64]

FORMATS = frozenset({"WAV", "WAVEX", "RF64", "W64", "AIFF", "FLAC", "OGG", "MP3"})
MOST_BYTES = 64_000_000
LONGEST_S = 120.0
SHORTEST_S = 0.1
LEAST_RATE_HZ, MOST_RATE_HZ = 4_000, 384_000
MOST_CHANNELS = 8
CLIPPED_SHARE = 0.001  # above this share of samples held at the top a recording counts as overdriven


@dataclass(frozen=True, eq=False)
class Sound:
    """
    One channel of a recording.

    Parameters
    ----------
    samples : array, shape (n,)
        Read-only, -1 to 1 in a whole recording, mean not taken off.
    rate_hz : int
        Samples a second.
    where : str
        What to call the recording in messages.
    warnings : tuple of str
        What may spoil it.
    """

    samples: FloatArray
    rate_hz: int
    where: str = "sound"
    warnings: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        """Length, s."""
        return len(self.samples) / self.rate_hz

    @classmethod
    def of(cls, samples: FloatArray, rate_hz: int, where: str = "sound") -> Sound:
        """
        Check samples and freeze them.

        Parameters
        ----------
        samples : array, shape (n,) or (n, channels)
            Of several channels the loudest is kept.
        rate_hz : int
            4,000 to 384,000.
        where : str
            What to call it in messages.

        Raises
        ------
        InputError
            Shorter than 0.1 s or longer than 120 s, a rate out of range, more than 8 channels, a value not finite.
        """
        if not LEAST_RATE_HZ <= rate_hz <= MOST_RATE_HZ:
            expected = f"{LEAST_RATE_HZ} to {MOST_RATE_HZ} samples a second"
            raise Unfit(where, "sampling rate", f"it has {rate_hz} samples a second", expected)
        block = np.array(samples, dtype=np.float64)
        block = block[:, None] if block.ndim == 1 else block
        if block.ndim != 2 or not 1 <= block.shape[1] <= MOST_CHANNELS:
            raise InputError(where, "channels", block.shape, f"1 to {MOST_CHANNELS} channels of samples")
        seconds = len(block) / rate_hz
        if not SHORTEST_S <= seconds <= LONGEST_S:
            raise Unfit(where, "length", f"it lasts {seconds:.3g} s", f"{SHORTEST_S:g} s to {LONGEST_S:g} s of sound")
        if not np.isfinite(block).all():
            raise Unfit(where, "samples", "some of its samples are not finite", "finite numbers")
        one = np.ascontiguousarray(block[:, int(np.var(block, axis=0).argmax())])
        one.setflags(write=False)
        told = (f"{where} is overdriven: record it again from farther away",) if _overdriven(one) else ()
        return cls(one, int(rate_hz), where, told)


def _overdriven(samples: FloatArray) -> bool:
    """Whether tops are cut flat: the greatest value held by neighbouring samples, again and again."""
    size = np.abs(samples)
    held = (size[1:] == size.max()) & (size[1:] == size[:-1])
    return bool(size.max() > 0) and float(held.mean()) > CLIPPED_SHARE


def read_sound(content: bytes, where: str) -> Sound:
    """
    Decode a recording.

    Parameters
    ----------
    content : bytes
        A WAV, FLAC, OGG, MP3 or AIFF file, at most 64 MB and 120 s.
    where : str
        Name of the file, for messages.

    Raises
    ------
    InputError
        No sound file, too big, too long or too short; the message names what was found.
    """
    if len(content) > MOST_BYTES:
        wrong = f"the file has {len(content) / 1e6:.0f} MB"
        raise Unfit(where, "size", wrong, f"a recording of at most {MOST_BYTES / 1e6:.0f} MB")
    wanted = "a recording: WAV, FLAC, OGG or MP3"
    try:
        with soundfile.SoundFile(io.BytesIO(content)) as file:
            if file.format not in FORMATS:
                raise InputError(where, "format", file.format, wanted)
            if file.channels > MOST_CHANNELS:
                raise InputError(where, "channels", file.channels, f"1 to {MOST_CHANNELS} channels of samples")
            most = int(LONGEST_S * min(file.samplerate, MOST_RATE_HZ)) + 1
            samples = file.read(most, dtype="float64", always_2d=True)
            rate = file.samplerate
            longer = len(samples) == most
    except (soundfile.LibsndfileError, RuntimeError, ValueError, TypeError):
        raise UnusableFile(where, "file", "there is no sound in it that can be read", wanted) from None
    if longer:
        raise Unfit(where, "length", f"it lasts over {LONGEST_S:g} s", f"{SHORTEST_S:g} s to {LONGEST_S:g} s of sound")
    return Sound.of(samples, rate, where)
