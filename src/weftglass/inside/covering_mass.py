"""What a covering weighs: fibre with its air, by material and technique."""

from __future__ import annotations

from weftglass.evidence import Covering

# Words of the material, dry density of the strand in g/ml (least, typical, greatest) and the share of the covering that
# is strand. Densities from timber and fibre tables or from memory, shares assumed: see docs/reference/sources.md.
MATERIALS: tuple[tuple[tuple[str, ...], tuple[float, float, float], float], ...] = (
    (("skein",), (0.36, 0.45, 0.52), 0.70),
    (("willow", "osier", "rod"), (0.36, 0.45, 0.52), 0.55),
    (("cane", "rattan skin"), (0.50, 0.65, 0.80), 0.75),
    (("rattan", "reed"), (0.30, 0.45, 0.65), 0.55),
    (("bamboo",), (0.55, 0.68, 0.80), 0.70),
    (("mace", "cattail", "typha"), (0.08, 0.18, 0.30), 0.75),
    (("straw",), (0.10, 0.20, 0.35), 0.60),
    (("root",), (0.40, 0.52, 0.75), 0.68),
    (("shoot", "hazel"), (0.45, 0.55, 0.70), 0.65),
    (("bark",), (0.25, 0.35, 0.50), 0.70),
    (("esparto", "alfa"), (0.45, 0.65, 0.89), 0.60),
    (("seagrass",), (0.30, 0.45, 0.60), 0.60),
    (("rush", "juncus"), (0.10, 0.18, 0.30), 0.70),
    (("grass", "sedge"), (0.40, 0.60, 0.80), 0.70),
    (("raffia",), (0.50, 0.70, 0.90), 0.65),
    (("palm", "pandanus", "leaf"), (0.45, 0.60, 0.80), 0.60),
    (("splint", "ash", "oak", "chestnut"), (0.45, 0.62, 0.75), 0.75),
    (("hemp", "marline", "rope"), (0.75, 0.95, 1.10), 0.70),
    (("flax", "linen"), (0.80, 1.00, 1.15), 0.70),
    (("cotton",), (0.70, 0.85, 1.00), 0.60),
    (("jute", "hessian"), (0.60, 0.80, 1.00), 0.60),
    (("sisal", "henequen"), (0.60, 0.80, 1.00), 0.60),
    (("abaca", "manila"), (0.70, 0.90, 1.05), 0.65),
    (("coir", "coconut"), (0.40, 0.60, 0.80), 0.50),
    (("leather",), (0.80, 0.88, 1.00), 1.00),
    (("paper",), (0.60, 0.75, 0.90), 0.60),
    (("rayon", "viscose"), (1.48, 1.52, 1.54), 0.60),
    (("nylon",), (1.12, 1.14, 1.15), 0.60),
    (("plastic", "polyethylene", "polypropylene"), (0.90, 0.92, 0.96), 0.50),
    (("vinyl", "pvc"), (1.20, 1.30, 1.40), 0.60),
    (("wire",), (7.80, 7.90, 8.90), 0.15),
    (("cord", "twine", "string"), (0.60, 0.85, 1.10), 0.65),
)
ANY_MATERIAL = (0.38, 0.45)  # g/ml of covering and relative sd where the material is unknown: middle of the table
PACKING_SD = 0.20  # relative sd of the share that is strand; assumed, no source
OPEN_WORK: tuple[tuple[str, float], ...] = (  # share of the wall that is covered, typical; assumed, no source
    ("net", 0.30),
    ("loop", 0.45),
    ("lattice", 0.40),
    ("openwork", 0.45),
    ("open", 0.65),
    ("hexagonal", 0.60),
    ("fitch", 0.45),
    ("crossed", 0.55),
    ("square", 0.80),
)
OPEN_SD = 0.30  # relative sd of that share

# Mass of what closes the mouth, g, and its sd; from memory.
STOPPERS: tuple[tuple[str, float, float], ...] = (
    ("glass", 45.0, 25.0),
    ("none", 0.0, 0.3),
    ("no ", 0.0, 0.3),
    ("open", 0.0, 0.3),
    ("porcelain", 25.0, 10.0),
    ("swing", 30.0, 12.0),
    ("lightning", 30.0, 12.0),
    ("marble", 6.0, 2.0),
    ("cork", 3.0, 3.0),
    ("crown", 2.2, 0.5),
    ("screw", 6.0, 5.0),
    ("thread", 6.0, 5.0),
)
ANY_STOPPER = (5.0, 12.0)


def fibre_g_per_ml(covering: Covering) -> tuple[float, float]:
    """
    Mass of a ml of covering, air among the strands included, and its relative standard deviation.

    Examples
    --------
    >>> density, spread = fibre_g_per_ml(Covering("wicker", "willow"))
    >>> round(density, 2), round(spread, 2)
    (0.25, 0.22)
    >>> fibre_g_per_ml(Covering())
    (0.38, 0.45)
    """
    material, technique = (covering.material or "").lower(), (covering.technique or "").lower()
    density, spread = ANY_MATERIAL
    for words, (least, typical, most), strand in MATERIALS:
        if any(word in material for word in words):
            density = typical * strand
            spread = float(((most - least) ** 2 / (16 * typical**2) + PACKING_SD**2) ** 0.5)
            break
    covered = next((share for word, share in OPEN_WORK if word in technique), None)
    if covered is None:
        return density, spread
    return density * covered, float((spread**2 + OPEN_SD**2) ** 0.5)


def stopper_g(closure: str | None) -> tuple[float, float]:
    """
    Mass of what closes the mouth, g, and its standard deviation, from the word for it; None where nothing was seen.

    Examples
    --------
    >>> stopper_g("ground glass stopper"), stopper_g(None)
    ((45.0, 25.0), (5.0, 12.0))
    """
    words = (closure or "").lower()
    return next(((mean, sd) for word, mean, sd in STOPPERS if word in words), ANY_STOPPER)
