"""From a finger's parameters to its mesh."""

from __future__ import annotations

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import profile_layout
from fiddlehead.mesh.quality import require_sound
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.mesh.template import MeshTemplate, mesh_template


def build_mesh(parameters: FingerParameters, settings: MeshSettings | None = None) -> Mesh:
    """Mesh the half finger ``z >= 0``.

    Parameters
    ----------
    parameters : the finger
    settings : how finely; the standard mesh when None

    Raises
    ------
    ParameterError : the parameters contradict each other
    MeshError : an element has no valid shape
    """
    parameters.validate()
    template = mesh_template(profile_layout(parameters), settings or MeshSettings())
    mesh = mesh_of(template, parameters)
    require_sound(mesh)
    return mesh


def mesh_of(template: MeshTemplate, parameters: FingerParameters) -> Mesh:
    """Fill a template with the coordinates of one finger."""
    return Mesh(
        points=template.points(parameters),
        elements=template.elements,
        region_names=template.region_names,
        element_region=template.element_region,
        faces=template.faces,
        void_loops=template.void_loops,
        template=template,
    )
