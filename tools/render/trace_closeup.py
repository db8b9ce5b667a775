"""One close-up of `closeups.py` by Blender's path tracer; needs Blender's Python module (the extra `render`)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import numpy as np
from closeups import Recipe, Wall, grid_quads
from materials import cloth_material, fibre_material, plain_material, wood_material
from mathutils import Vector
from shoot import UNIT, mesh_object
from sweep import Mesh

SAMPLES = 4


def traced(scene: Recipe, meshes: list[Mesh], wall: Wall, camera: dict[str, Any], png: Path) -> None:
    """Render the patch with a lamp from aside and a weak fill."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    rng = np.random.default_rng([*scene["seed"], 5])
    for number, mesh in enumerate(meshes):
        angle = 2 * np.pi * mesh.uv[:, 1]
        strand = np.column_stack([mesh.uv[:, 0], np.cos(angle), np.sin(angle)])
        rgba = np.column_stack([mesh.colours, np.ones(len(mesh.colours))])
        more = {"colour": ("FLOAT_COLOR", rgba), "strand": ("FLOAT_VECTOR", strand)}
        mesh_object(f"strands {number}", mesh.vertices, mesh.quads, fibre_material(mesh.finish), more)
    quads = grid_quads(*wall.points.shape[:2])
    mesh_object("wall", wall.points.reshape(-1, 3), quads, behind(scene["without"], rng), {})
    _lamps(scene)
    data = bpy.data.cameras.new("camera")
    data.sensor_fit, data.sensor_height = "VERTICAL", 24.0
    data.lens = 24.0 * camera["focal_px"] / scene["size"][1]
    thing = bpy.data.objects.new("camera", data)
    matrix = np.eye(4)
    matrix[:3] = np.column_stack([camera["right"], camera["up"], -camera["forward"], camera["place"] * UNIT])
    thing.matrix_world = [list(row) for row in matrix.T]
    bpy.context.scene.collection.objects.link(thing)
    bpy.context.scene.camera = thing
    world = bpy.context.scene
    world.render.engine = "CYCLES"
    cycles = world.cycles
    cycles.device, cycles.samples, cycles.use_denoising, cycles.denoiser = "CPU", SAMPLES, True, "OPENIMAGEDENOISE"
    cycles.max_bounces = cycles.diffuse_bounces = cycles.glossy_bounces = 2
    cycles.seed = scene["seed"][1]
    world.render.threads_mode, world.render.threads = "FIXED", 1
    world.render.resolution_x, world.render.resolution_y, world.render.resolution_percentage = *scene["size"], 100
    world.view_settings.view_transform = "AgX"
    world.view_settings.exposure = scene["exposure"]
    world.render.image_settings.file_format = "PNG"
    world.render.filepath = str(png)
    bpy.ops.render.render(write_still=True)


def behind(without: str | None, rng: np.random.Generator) -> Any:
    """The wall under the work: dark glass, or what a picture without work shows."""
    if without == "cloth":
        return cloth_material((0.42, 0.38, 0.30))
    if without == "wood":
        return wood_material((0.10, 0.045, 0.02), (0.36, 0.20, 0.09), rng.uniform(-0.2, 0.2))
    return plain_material("glass", (0.03, 0.05, 0.02), 0.08)


def _lamps(scene: Recipe) -> None:
    aside, up = (np.deg2rad(angle) for angle in scene["light"])
    for turn, high, watts, size in ((aside, up, 60.0, 0.9), (-0.7 * aside, 0.3, 9.0, 2.5)):
        data = bpy.data.lights.new("lamp", "AREA")
        data.shape, data.size, data.energy = "DISK", size * 2, watts * 6
        thing = bpy.data.objects.new("lamp", data)
        away = np.array([np.sin(turn) * np.cos(high), -np.cos(turn) * np.cos(high), np.sin(high)])
        middle = np.array([0.0, -scene["radius"] * UNIT, 0.0])
        thing.location = middle + 5.0 * away
        thing.rotation_euler = Vector(-away).to_track_quat("-Z", "Y").to_euler()
        bpy.context.scene.collection.objects.link(thing)
    world = bpy.data.worlds.new("room")
    bpy.context.scene.world = world
    world.use_nodes = True
    world.node_tree.nodes["Background"].inputs[0].default_value = (0.8, 0.88, 1.0, 1)
    world.node_tree.nodes["Background"].inputs[1].default_value = 0.25
