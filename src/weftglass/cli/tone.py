"""`weftglass tone`: the tone of a vessel in recordings, and the capacity it stands for."""

from __future__ import annotations

import math
from pathlib import Path

import click

from weftglass.cli.options import ABOVE_0, FILE, NUMBER, both_or_neither, json_option
from weftglass.cli.printing import print_json, warn
from weftglass.errors import InputError, Unfit
from weftglass.files import read_file
from weftglass.tone import Capacity, Fill, Tone, capacity_from_tone, find_tone, read_sound
from weftglass.vessels.atmosphere import Atmosphere

CAUTION = (
    "Never blow with the lips: what the vessel held is unknown. Puff air from a rubber bulb across the open mouth, or "
    "pat it with a gloved palm. Never force a stopper."
)
A_RECORDING = "a recording: WAV, FLAC, OGG or MP3"
FILL_SD = 0.003  # relative, of a tone typed in; what one recording of this program usually has
MOST_SOUNDS = 40


@click.command(epilog=CAUTION)
@click.argument("sounds", metavar="SOUND...", nargs=-1, required=True, type=FILE)
@click.option("--bore", "bore_mm", type=ABOVE_0, metavar="MM", help="Inner diameter of the mouth.")
@click.option(
    "--neck-length", "neck_mm", type=ABOVE_0, metavar="MM", help="Length of the neck, from the lip to where it swells."
)
@click.option(
    "--temperature", "temperature_c", type=NUMBER, metavar="C", default=20.0, show_default=True, help="Of the air."
)
@click.option(
    "--humidity", "humidity_pct", type=NUMBER, metavar="PCT", default=50.0, show_default=True, help="Relative."
)
@click.option(
    "--pressure", "pressure_hpa", type=ABOVE_0, metavar="HPA", default=1013.25, show_default=True, help="Of the air."
)
@click.option(
    "--fill",
    "fills",
    multiple=True,
    metavar="ML:HZ",
    help="A known dry fill and the tone it gave; narrows the capacity.",
)
@json_option
def tone(
    sounds: tuple[Path, ...],
    bore_mm: float | None,
    neck_mm: float | None,
    temperature_c: float,
    humidity_pct: float,
    pressure_hpa: float,
    fills: tuple[str, ...],
    as_json: bool,
) -> None:
    """
    Find the tone of the empty vessel in recordings, and its capacity.

    SOUND is a WAV, FLAC, OGG or MP3 file of a puff of air across the open mouth or of a palm's pat on it; several of
    one vessel are taken together. With bore and neck length the capacity follows, known to 15 to 25 %; a dry fill or
    two (rice, beads) of known volume narrow it to a few per cent.

    \b
    Example:
      weftglass tone puff-1.wav puff-2.wav --bore 18.5 --neck-length 80 --fill 250:162.4
    """
    air = Atmosphere(temperature_c, humidity_pct, pressure_hpa)
    both_or_neither("tone", {"--bore": bore_mm, "--neck-length": neck_mm})
    if len(sounds) > MOST_SOUNDS:
        raise Unfit("tone", "SOUND", f"{len(sounds)} files are given", f"at most {MOST_SOUNDS} recordings")
    known = [fill_of(text) for text in fills]
    heard = find_tone([read_sound(read_file(file, A_RECORDING), file.name) for file in sounds])
    held = capacity_of(heard, bore_mm, neck_mm, air, known)
    warn(heard.warnings)
    if as_json:
        print_json(heard.to_record() | held.to_record() | {"reason": heard.reason or held.reason})
        return
    show(heard, held)


def capacity_of(
    heard: Tone, bore_mm: float | None, neck_mm: float | None, air: Atmosphere, fills: list[Fill]
) -> Capacity:
    """The capacity, or why there is none."""
    if heard.frequency_hz is None or heard.sd_hz is None:
        return Capacity(None, None, reason=heard.reason)
    if bore_mm is None or neck_mm is None:
        return Capacity(None, None, reason="for the capacity, --bore and --neck-length are needed too")
    return capacity_from_tone(
        heard.frequency_hz, heard.sd_hz, bore_mm, neck_mm, air, fills, reading_sd_hz=heard.reading_sd_hz
    )


def show(heard: Tone, held: Capacity) -> None:
    """Tone and capacity for people."""
    if heard.frequency_hz is None or heard.sd_hz is None:
        click.echo(f"No tone found: {heard.reason}.")
        return
    count = len(heard.ringings)
    how = "patted" if heard.struck else "blown"
    click.echo(f"Tone {heard.frequency_hz:.1f} ± {heard.sd_hz:.1f} Hz ({how}, {count} time{'s' if count > 1 else ''})")
    if held.capacity_ml is None or held.sd_ml is None or held.low_ml is None or held.high_ml is None:
        click.echo(f"No capacity: {held.reason}.")
        return
    click.echo(
        f"Capacity to the brim {rounded(held.capacity_ml)} ± {rounded(held.sd_ml)} ml from {held.how}; "
        f"in 9 cases of 10 between {rounded(held.low_ml)} and {rounded(held.high_ml)} ml"
    )


def rounded(value: float) -> str:
    """Three figures, as capacity by ear bears."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def fill_of(text: str) -> Fill:
    """A fill as typed: millilitres, a colon, hertz."""
    expected = "a volume in ml and a tone in Hz, such as 250:162.4"
    volume, colon, hertz = text.partition(":")
    try:
        fill_ml, tone_hz = float(volume), float(hertz)
    except ValueError:
        raise InputError("tone", "--fill", text, expected) from None
    fine = colon and math.isfinite(fill_ml) and 0 < fill_ml <= 100_000 and 10 <= tone_hz <= 5000
    if not fine:
        raise InputError("tone", "--fill", text, expected)
    return Fill(fill_ml, tone_hz, FILL_SD * tone_hz)
