"""The tone of a vessel: recordings, the resonance in them, and the capacity it stands for."""

from weftglass.tone.capacity import Capacity, Fill, capacity_from_tone, resonator_capacity_ml
from weftglass.tone.sound import Sound, read_sound
from weftglass.tone.tone import Tone, find_tone

__all__ = [
    "Capacity",
    "Fill",
    "Sound",
    "Tone",
    "capacity_from_tone",
    "find_tone",
    "read_sound",
    "resonator_capacity_ml",
]
