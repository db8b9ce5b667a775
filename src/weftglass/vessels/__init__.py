"""Glass vessels: profiles, sections, volumes, forms and the form library."""

from weftglass.vessels.drawing import form_drawing_svg, library_sheet_svg
from weftglass.vessels.filling import capacity_from_water_ml, permitted_error_ml, water_density_g_per_ml
from weftglass.vessels.form import Form, Letters, Tolerance
from weftglass.vessels.library import FormLibrary
from weftglass.vessels.profile import Profile
from weftglass.vessels.section import Section
from weftglass.vessels.volume import (
    CONTAINER_GLASS_G_PER_ML,
    capacity_from_outer_ml,
    glass_volume_ml,
    outer_volume_ml,
    surface_area_mm2,
)

__all__ = [
    "CONTAINER_GLASS_G_PER_ML",
    "Form",
    "FormLibrary",
    "Letters",
    "Profile",
    "Section",
    "Tolerance",
    "capacity_from_outer_ml",
    "capacity_from_water_ml",
    "form_drawing_svg",
    "glass_volume_ml",
    "library_sheet_svg",
    "outer_volume_ml",
    "permitted_error_ml",
    "surface_area_mm2",
    "water_density_g_per_ml",
]
