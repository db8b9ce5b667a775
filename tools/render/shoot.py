"""
Photograph a layout with Blender's Cycles: python tools/render/shoot.py LAYOUT.npz PICTURE.png MASK.png

Needs the optional extra `render` (Blender's Python module). One Blender unit is 100 mm.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from backdrops import lights, surroundings
from materials import card_material, fibre_material, glass_material, plain_material

UNIT = 0.01  # Blender units a mm


def mesh_object(
    name: str, vertices: np.ndarray, quads: np.ndarray, material: Any, attributes: dict[str, tuple[str, np.ndarray]]
) -> Any:
    """A smooth-shaded mesh from arrays in mm."""
    mesh = bpy.data.meshes.new(name)
    mesh.vertices.add(len(vertices))
    mesh.vertices.foreach_set("co", (vertices * UNIT).astype(np.float32).ravel())
    mesh.loops.add(quads.size)
    mesh.loops.foreach_set("vertex_index", quads.astype(np.int32).ravel())
    mesh.polygons.add(len(quads))
    mesh.polygons.foreach_set("loop_start", np.arange(0, quads.size, 4, dtype=np.int32))
    mesh.polygons.foreach_set("use_smooth", np.ones(len(quads), dtype=bool))
    for key, (kind, values) in attributes.items():
        layer = mesh.attributes.new(key, kind, "POINT")
        layer.data.foreach_set("color" if kind == "FLOAT_COLOR" else "vector", values.astype(np.float32).ravel())
    mesh.update(calc_edges=True)
    mesh.validate()
    thing = bpy.data.objects.new(name, mesh)
    thing.data.materials.append(material)
    bpy.context.scene.collection.objects.link(thing)
    return thing


def piece_objects(arrays: Any, scene: dict[str, Any]) -> list[Any]:
    """The glass and the strands of the piece."""
    parts = [mesh_object("glass", arrays["glass.vertices"], arrays["glass.quads"], glass_material(scene["glass"]), {})]
    for finish in ("fibre", "cord", "strip"):
        if f"{finish}.vertices" not in arrays:
            continue
        rgba = np.column_stack([arrays[f"{finish}.colours"], np.ones(len(arrays[f"{finish}.colours"]))])
        extra = {"colour": ("FLOAT_COLOR", rgba), "strand": ("FLOAT_VECTOR", arrays[f"{finish}.strand"])}
        parts.append(
            mesh_object(finish, arrays[f"{finish}.vertices"], arrays[f"{finish}.quads"], fibre_material(finish), extra)
        )
    return parts


def scale_card(bar: dict[str, Any], folder: Path) -> None:
    """The printed card, its front in the piece's axis plane, with a small block behind it."""
    corner, along, across = (np.array(bar[k], dtype=float) for k in ("corner", "along", "across"))
    wide, tall = bar["card"]
    face = [corner, corner + across * wide, corner + across * wide + along * tall, corner + along * tall]
    mesh = bpy.data.meshes.new("card")
    back = np.array([0.0, 1.2, 0.0])
    points = [p * UNIT for p in face] + [(p + back) * UNIT for p in face]
    mesh.from_pydata(
        [tuple(p) for p in points],
        [],
        [(0, 1, 2, 3), (7, 6, 5, 4), (0, 4, 5, 1), (1, 5, 6, 2), (2, 6, 7, 3), (3, 7, 4, 0)],
    )
    layer = mesh.uv_layers.new(name="UVMap")
    corners = [(0, 0), (1, 0), (1, 1), (0, 1)]
    for polygon in mesh.polygons:
        for k, loop in enumerate(polygon.loop_indices):
            layer.data[loop].uv = corners[k] if polygon.index == 0 else (0.02, 0.02)
    thing = bpy.data.objects.new("card", mesh)
    thing.data.materials.append(card_material(bar["card"], folder))
    bpy.context.scene.collection.objects.link(thing)
    middle = corner + across * wide / 2 + along * (tall / 2 if along[0] else 0)
    bpy.ops.mesh.primitive_cube_add(size=1, location=(middle[0] * UNIT, (middle[1] + 8) * UNIT, 4.5 * UNIT))
    block = bpy.context.object
    block.scale = (20 * UNIT, 13 * UNIT, 9 * UNIT)
    block.data.materials.append(plain_material("block", (0.05, 0.05, 0.05), 0.6))


def set_camera(scene: dict[str, Any]) -> None:
    """Lens, place and depth of field."""
    view = scene["view"]
    data = bpy.data.cameras.new("camera")
    data.lens = view["focal"]
    data.sensor_fit = "VERTICAL"
    data.sensor_height = view["focal"] * scene["size"][1] / scene["focal_px"]
    data.clip_end = 500
    data.dof.use_dof = True
    data.dof.focus_distance = (scene["focus"] + view.get("focus_off", 0.0)) * UNIT
    data.dof.aperture_fstop = view.get("fstop", 9.0) / 10.0
    data.dof.aperture_blades = 7
    thing = bpy.data.objects.new("camera", data)
    matrix = np.array(scene["matrix"])
    matrix[:3, 3] *= UNIT
    thing.matrix_world = [list(row) for row in matrix.T]
    bpy.context.scene.collection.objects.link(thing)
    bpy.context.scene.camera = thing


def settings(scene: dict[str, Any], samples: int) -> None:
    """Cycles on two threads with denoising."""
    world = bpy.context.scene
    world.render.engine = "CYCLES"
    cycles = world.cycles
    cycles.device, cycles.samples, cycles.use_denoising, cycles.denoiser = "CPU", samples, True, "OPENIMAGEDENOISE"
    cycles.use_adaptive_sampling, cycles.adaptive_threshold, cycles.adaptive_min_samples = True, 0.03, 12
    cycles.max_bounces, cycles.transmission_bounces, cycles.transparent_max_bounces = 14, 12, 16
    cycles.diffuse_bounces, cycles.glossy_bounces = 3, 4
    if samples < 6:  # a quick picture: what it loses is noise, not shape
        cycles.max_bounces, cycles.transmission_bounces, cycles.denoising_quality = 9, 8, "FAST"
        cycles.denoising_prefilter, cycles.diffuse_bounces, cycles.glossy_bounces = "FAST", 2, 3
    cycles.caustics_reflective = cycles.caustics_refractive = False
    cycles.sample_clamp_indirect = 6.0
    cycles.seed = scene["seed"]
    render = world.render
    render.threads_mode, render.threads = "FIXED", 2
    render.resolution_x, render.resolution_y, render.resolution_percentage = *scene["size"], 100
    world.view_settings.view_transform = "AgX"
    world.view_settings.look = "AgX - Medium High Contrast"
    world.view_settings.exposure = scene["view"].get("exposure", 0.0)


def write(path: Path, depth: str, mode: str) -> None:
    """Render the scene into a PNG."""
    render = bpy.context.scene.render
    render.image_settings.file_format, render.image_settings.color_mode, render.image_settings.color_depth = (
        "PNG",
        mode,
        depth,
    )
    render.filepath = str(path.resolve())
    bpy.ops.render.render(write_still=True)


def write_mask(parts: list[Any], path: Path) -> None:
    """Alpha of the piece alone: everything else away, a sharp lens, a clear film."""
    world = bpy.context.scene
    for thing in world.objects:
        thing.hide_render = thing not in parts and thing.type != "CAMERA"
    flat = bpy.data.materials.new("flat")
    flat.use_nodes = True
    flat.node_tree.nodes.clear()
    glow, out = flat.node_tree.nodes.new("ShaderNodeEmission"), flat.node_tree.nodes.new("ShaderNodeOutputMaterial")
    flat.node_tree.links.new(glow.outputs[0], out.inputs[0])
    for thing in parts:
        thing.data.materials[0] = flat
    world.camera.data.dof.use_dof = False
    world.render.film_transparent = True
    world.cycles.samples, world.cycles.use_denoising, world.cycles.use_adaptive_sampling = 6, False, False
    write(path, "8", "RGBA")


def main(layout: str, picture: str, mask: str, samples: int = 40) -> None:
    """Render one layout."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    with np.load(layout) as content:
        arrays = dict(content)
    scene = json.loads(str(arrays["scene"]))
    parts = piece_objects(arrays, scene)
    if scene["bar"] is not None:
        scale_card(scene["bar"], Path(picture).parent)
    surroundings(scene, UNIT)
    lights(scene, UNIT)
    set_camera(scene)
    settings(scene, samples)
    write(Path(picture), "16", "RGB")
    write_mask(parts, Path(mask))


if __name__ == "__main__":
    main(*sys.argv[1:4], *(int(word) for word in sys.argv[4:5]))
