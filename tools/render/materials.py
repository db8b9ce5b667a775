"""Materials for shoot.py: glass by colour, plant fibre and cord, the printed card, wood, cloth, paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import numpy as np

GLASS = {  # share of red, green and blue light that passes 10 mm of glass
    "aqua": (0.55, 0.86, 0.80),
    "pale green": (0.66, 0.87, 0.62),
    "green": (0.13, 0.42, 0.16),
    "olive": (0.26, 0.34, 0.05),
    "dark olive": (0.055, 0.075, 0.008),
    "amber": (0.50, 0.15, 0.008),
    "cobalt": (0.03, 0.07, 0.55),
    "colourless": (0.93, 0.96, 0.945),
}


class Nodes:
    """A material's node tree, with the few moves used here."""

    def __init__(self, name: str) -> None:
        self.material = bpy.data.materials.new(name)
        self.material.use_nodes = True
        self.tree = self.material.node_tree
        self.tree.nodes.clear()
        self.out = self.tree.nodes.new("ShaderNodeOutputMaterial")

    def add(self, kind: str, **values: Any) -> Any:
        """A node; keywords set its properties, or its inputs by name with spaces as underscores."""
        node = self.tree.nodes.new(kind)
        for key, value in values.items():
            if hasattr(node, key):
                setattr(node, key, value)
            else:
                node.inputs[key.replace("_", " ")].default_value = value
        return node

    def join(self, source: Any, target: Any) -> None:
        """Connect an output to an input."""
        self.tree.links.new(source, target)

    def maths(self, operation: str, a: Any, b: Any = None) -> Any:
        """A mathematical node's output; a and b are sockets or numbers."""
        node = self.tree.nodes.new("ShaderNodeMath")
        node.operation = operation
        for k, value in enumerate((a, b)):
            if value is None:
                continue
            if isinstance(value, int | float):
                node.inputs[k].default_value = value
            else:
                self.join(value, node.inputs[k])
        return node.outputs[0]


def glass_material(colour: str) -> Any:
    """Refracting glass that absorbs along the path; shadow rays pass it tinted."""
    nodes = Nodes("glass")
    passing = np.array(GLASS[colour])
    sigma = -np.log(passing) / 0.1  # a Blender unit; 10 mm are 0.1
    body = nodes.add("ShaderNodeBsdfRefraction", IOR=1.52, Roughness=0.0)
    gloss = nodes.add("ShaderNodeBsdfGlossy", Roughness=0.015)
    fresnel = nodes.add("ShaderNodeFresnel", IOR=1.52)
    glass = nodes.add("ShaderNodeMixShader")
    nodes.join(fresnel.outputs[0], glass.inputs[0])
    nodes.join(body.outputs[0], glass.inputs[1])
    nodes.join(gloss.outputs[0], glass.inputs[2])
    wobble = nodes.add("ShaderNodeTexNoise", Scale=3.0, Detail=2.0)
    bump = nodes.add("ShaderNodeBump", Strength=0.12, Distance=0.04)
    nodes.join(nodes.add("ShaderNodeTexCoord").outputs["Object"], wobble.inputs["Vector"])
    nodes.join(wobble.outputs[0], bump.inputs["Height"])
    for shader in (body, gloss):
        nodes.join(bump.outputs[0], shader.inputs["Normal"])
    clear = nodes.add("ShaderNodeBsdfTransparent")
    clear.inputs[0].default_value = (*(passing**0.2), 1)
    shade = nodes.add("ShaderNodeMixShader")
    nodes.join(nodes.add("ShaderNodeLightPath").outputs["Is Shadow Ray"], shade.inputs[0])
    nodes.join(glass.outputs[0], shade.inputs[1])
    nodes.join(clear.outputs[0], shade.inputs[2])
    nodes.join(shade.outputs[0], nodes.out.inputs["Surface"])
    inside = nodes.add("ShaderNodeVolumeAbsorption", Density=float(sigma.max()))
    inside.inputs["Color"].default_value = (*(1 - sigma / sigma.max()), 1)
    nodes.join(inside.outputs[0], nodes.out.inputs["Volume"])
    return nodes.material


def fibre_material(finish: str) -> Any:
    """Plant strands with streaks along them; cord shows its lay."""
    nodes = Nodes(finish)
    colour = nodes.add("ShaderNodeAttribute", attribute_name="colour")
    strand = nodes.add("ShaderNodeAttribute", attribute_name="strand")
    stretch = nodes.add("ShaderNodeVectorMath", operation="MULTIPLY")
    stretch.inputs[1].default_value = (0.10, 2.4, 2.4)
    nodes.join(strand.outputs["Vector"], stretch.inputs[0])
    streak = nodes.add("ShaderNodeTexNoise", Scale=1.0, Detail=4.0, Roughness=0.7)
    nodes.join(stretch.outputs[0], streak.inputs["Vector"])
    fleck = nodes.add("ShaderNodeTexNoise", Scale=9.0, Detail=2.0)
    nodes.join(nodes.add("ShaderNodeTexCoord").outputs["Object"], fleck.inputs["Vector"])
    light = nodes.maths(
        "ADD", nodes.maths("MULTIPLY", streak.outputs[0], 0.75), nodes.maths("MULTIPLY", fleck.outputs[0], 0.5)
    )
    light = nodes.maths("ADD", light, 0.38)
    height = streak.outputs[0]
    if finish == "cord":
        apart = nodes.add("ShaderNodeSeparateXYZ")
        nodes.join(strand.outputs["Vector"], apart.inputs[0])
        angle = nodes.maths("ARCTAN2", apart.outputs[2], apart.outputs[1])
        lay = nodes.maths(
            "SINE",
            nodes.maths("ADD", nodes.maths("MULTIPLY", apart.outputs[0], 1.7), nodes.maths("MULTIPLY", angle, 2.0)),
        )
        lay = nodes.maths("ABSOLUTE", lay)
        light = nodes.maths("MULTIPLY", light, nodes.maths("ADD", nodes.maths("MULTIPLY", lay, 0.45), 0.62))
        height = nodes.maths("ADD", nodes.maths("MULTIPLY", lay, 2.2), nodes.maths("MULTIPLY", streak.outputs[0], 0.6))
    tint = nodes.add("ShaderNodeVectorMath", operation="SCALE")
    nodes.join(colour.outputs["Color"], tint.inputs[0])
    nodes.join(light, tint.inputs["Scale"])
    shader = nodes.add("ShaderNodeBsdfPrincipled", Roughness=0.62 if finish != "strip" else 0.48)
    shader.inputs["Specular IOR Level"].default_value = 0.32
    bump = nodes.add("ShaderNodeBump", Strength=0.55, Distance=0.004 if finish == "cord" else 0.003)
    nodes.join(height, bump.inputs["Height"])
    nodes.join(tint.outputs[0], shader.inputs["Base Color"])
    nodes.join(bump.outputs[0], shader.inputs["Normal"])
    nodes.join(shader.outputs[0], nodes.out.inputs["Surface"])
    return nodes.material


def plain_material(
    name: str, colour: tuple[float, float, float], roughness: float, grain: float = 0.0, scale: float = 30.0
) -> Any:
    """One colour, with a little grain."""
    nodes = Nodes(name)
    shader = nodes.add("ShaderNodeBsdfPrincipled", Roughness=roughness)
    shader.inputs["Base Color"].default_value = (*colour, 1)
    shader.inputs["Specular IOR Level"].default_value = 0.3
    if grain:
        where = nodes.add("ShaderNodeTexCoord").outputs["Object"]
        noise = nodes.add("ShaderNodeTexNoise", Scale=scale, Detail=5.0, Roughness=0.65)
        cloud = nodes.add("ShaderNodeTexNoise", Scale=scale / 25, Detail=3.0)
        for texture in (noise, cloud):
            nodes.join(where, texture.inputs["Vector"])
        light = nodes.maths(
            "ADD", nodes.maths("MULTIPLY", noise.outputs[0], grain), nodes.maths("MULTIPLY", cloud.outputs[0], grain)
        )
        tint = nodes.add("ShaderNodeVectorMath", operation="SCALE")
        tint.inputs[0].default_value = colour
        nodes.join(nodes.maths("ADD", light, 1 - grain), tint.inputs["Scale"])
        nodes.join(tint.outputs[0], shader.inputs["Base Color"])
        bump = nodes.add("ShaderNodeBump", Strength=0.25, Distance=0.01)
        nodes.join(noise.outputs[0], bump.inputs["Height"])
        nodes.join(bump.outputs[0], shader.inputs["Normal"])
    nodes.join(shader.outputs[0], nodes.out.inputs["Surface"])
    return nodes.material


def wood_material(dark: tuple[float, float, float], light: tuple[float, float, float], turn: float) -> Any:
    """Planed boards: long grain, rings, joints between boards."""
    nodes = Nodes("wood")
    where = nodes.add("ShaderNodeMapping")
    where.inputs["Rotation"].default_value = (0, 0, turn)
    where.inputs["Scale"].default_value = (0.22, 2.4, 1.0)
    nodes.join(nodes.add("ShaderNodeTexCoord").outputs["Object"], where.inputs["Vector"])
    rings = nodes.add("ShaderNodeTexNoise", Scale=1.3, Detail=6.0, Roughness=0.55, Distortion=1.1)
    grain = nodes.add("ShaderNodeTexNoise", Scale=16.0, Detail=8.0, Roughness=0.75)
    for texture in (rings, grain):
        nodes.join(where.outputs[0], texture.inputs["Vector"])
    mixed = nodes.maths(
        "ADD",
        nodes.maths("MULTIPLY", nodes.maths("SINE", nodes.maths("MULTIPLY", rings.outputs[0], 22.0)), 0.18),
        nodes.maths("MULTIPLY", grain.outputs[0], 0.9),
    )
    ramp = nodes.add("ShaderNodeValToRGB")
    ramp.color_ramp.elements[0].position, ramp.color_ramp.elements[0].color = 0.15, (*dark, 1)
    ramp.color_ramp.elements[1].position, ramp.color_ramp.elements[1].color = 0.85, (*light, 1)
    nodes.join(mixed, ramp.inputs[0])
    apart = nodes.add("ShaderNodeSeparateXYZ")
    nodes.join(where.outputs[0], apart.inputs[0])
    joint = nodes.maths(
        "GREATER_THAN",
        nodes.maths(
            "ABSOLUTE",
            nodes.maths("SUBTRACT", nodes.maths("FRACT", nodes.maths("MULTIPLY", apart.outputs[1], 0.38)), 0.5),
        ),
        0.012,
    )
    tint = nodes.add("ShaderNodeVectorMath", operation="SCALE")
    nodes.join(ramp.outputs[0], tint.inputs[0])
    nodes.join(nodes.maths("ADD", nodes.maths("MULTIPLY", joint, 0.75), 0.25), tint.inputs["Scale"])
    shader = nodes.add("ShaderNodeBsdfPrincipled", Roughness=0.42)
    nodes.join(tint.outputs[0], shader.inputs["Base Color"])
    bump = nodes.add("ShaderNodeBump", Strength=0.15, Distance=0.01)
    nodes.join(grain.outputs[0], bump.inputs["Height"])
    nodes.join(bump.outputs[0], shader.inputs["Normal"])
    nodes.join(shader.outputs[0], nodes.out.inputs["Surface"])
    return nodes.material


def cloth_material(colour: tuple[float, float, float]) -> Any:
    """Plain-woven linen."""
    nodes = Nodes("cloth")
    where = nodes.add("ShaderNodeTexCoord").outputs["UV"]
    threads = [nodes.add("ShaderNodeTexWave", Scale=90.0, Distortion=1.5, bands_direction=way) for way in ("X", "Y")]
    for texture in threads:
        nodes.join(where, texture.inputs["Vector"])
    weave = nodes.maths("MULTIPLY", threads[0].outputs["Fac"], threads[1].outputs["Fac"])
    tint = nodes.add("ShaderNodeVectorMath", operation="SCALE")
    tint.inputs[0].default_value = colour
    nodes.join(nodes.maths("ADD", nodes.maths("MULTIPLY", weave, 0.35), 0.82), tint.inputs["Scale"])
    shader = nodes.add("ShaderNodeBsdfPrincipled", Roughness=0.9)
    shader.inputs["Sheen Weight"].default_value = 0.25
    bump = nodes.add("ShaderNodeBump", Strength=0.2, Distance=0.008)
    nodes.join(weave, bump.inputs["Height"])
    nodes.join(bump.outputs[0], shader.inputs["Normal"])
    nodes.join(tint.outputs[0], shader.inputs["Base Color"])
    nodes.join(shader.outputs[0], nodes.out.inputs["Surface"])
    return nodes.material


def card_material(card: list[float], folder: Path) -> Any:
    """The printed scale bar; the print itself is made by `bar_print.py`."""
    nodes = Nodes("card")
    picture = nodes.add("ShaderNodeTexImage")
    picture.image = bpy.data.images.load(str((folder / "bar.png").resolve()))
    shader = nodes.add("ShaderNodeBsdfPrincipled", Roughness=0.75)
    nodes.join(picture.outputs[0], shader.inputs["Base Color"])
    nodes.join(shader.outputs[0], nodes.out.inputs["Surface"])
    return nodes.material
