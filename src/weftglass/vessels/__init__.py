"""Glass vessels: profiles, sections, volumes, forms and the form library."""

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
    "glass_volume_ml",
    "outer_volume_ml",
    "surface_area_mm2",
]
