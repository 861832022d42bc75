"""What goes to the printer, with its proof: solids, their measures and pictures.

results/solid/  *.stl, *.3mf, *.step, solid.json, solid.png/svg
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fiddlehead.errors import InputError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.exporters.step import write_step
from fiddlehead.fabricate.exporters.stl import write_stl
from fiddlehead.fabricate.exporters.threemf import write_3mf
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.solid import FingerSolid
from fiddlehead.fabricate.surface import bodies, surface_problems
from fiddlehead.files import write_text
from fiddlehead.project.load import Project
from fiddlehead.report.figures.drawing import draw_finger
from fiddlehead.report.figures.paper import save_drawing
from fiddlehead.report.figures.style import save
from fiddlehead.report.figures.views import Viewpoint, ViewsPicture, draw_views, view_of
from fiddlehead.report.results import Written, write_result
from fiddlehead.units import say


@dataclass(frozen=True, eq=False)
class Proven:
    """A part whose surface and solid were checked, with the numbers found."""

    part: Part
    shape: kernel.Shape
    measures: dict[str, Any]


def prove(name: str, shape: kernel.Shape, part: Part, expected_mm3: float) -> Proven:
    """Check a solid and its surface.

    Raises
    ------
    InputError : the kernel or the surface check finds it unsound
    """
    problems = [*kernel.problems(shape), *surface_problems(part)]
    if bodies(part) != 1 and not problems:
        # a closed cavity without inlet is a shell of its own, and no fault
        shells = f"{bodies(part)} shells: a closed cavity that nothing can leave"
    else:
        shells = "one closed surface"
    if problems:
        raise InputError(
            "the modelled solid is unsound: " + "; ".join(problems),
            where=name,
            remedy="Change a size a little, and please report it: this should not happen.",
        )
    volume = kernel.volume(shape)
    return Proven(
        part,
        shape,
        {
            "volume_mm3": volume,
            "expected_volume_mm3": expected_mm3,
            "surface_volume_mm3": part.volume_mm3,
            "surface_against_solid_percent": 100.0 * (part.volume_mm3 / volume - 1.0),
            "triangles": len(part.triangles),
            "surface": f"closed, oriented, nothing crosses; {shells}",
        },
    )


def write_solid(
    results: Path, project: Project, finger: FingerSolid, date: str
) -> tuple[Written, Proven]:
    """Write the finger as STL, 3MF and STEP with its measures, a picture and a drawing.

    Parameters
    ----------
    date : for the drawing's title block

    Raises
    ------
    InputError : a solid is unsound
    StoreError : the folder cannot be written
    """
    orientation = project.printing.build_orientation
    found = prove("finger", finger.shape, finger.part(orientation), finger.expected_volume_mm3)
    mass = finger.mass_g(project.material.density_g_per_cm3)

    def fill(folder: Path) -> None:
        write_stl(found.part, folder / "finger.stl")
        write_3mf([found.part], folder / "finger.3mf", title=project.name, about=_about(project))
        write_step([("finger", finger.shape)], folder / "finger.step")
        record = {
            "finger": {
                **found.measures,
                "volume_by_feature_mm3": finger.ledger,
                "mass_g": mass,
                "build_orientation": orientation,
            }
        }
        write_text(folder / "solid.json", json.dumps(record, indent=2) + "\n")
        save(draw_views(finger_picture(project, found.part, mass)), folder, "solid")
        block = [*drawn_for(project, date), ("mass, solid", f"{mass:.1f} g")]
        drawing = draw_finger(
            found.part, project.finger, project.fittings, project.printing,
            f"{project.name}: finger", block,
        )  # fmt: skip
        save_drawing(drawing, folder, "drawing")

    pictures = ("solid", "drawing")
    written = write_result(results / "solid", fill, "solid", project.input_hash, pictures)
    return written, found


def drawn_for(project: Project, date: str) -> list[tuple[str, str]]:
    """Lines of a title block: what the drawing belongs to."""
    return [
        ("material", f"{project.material.name}, {project.material.density_g_per_cm3:g} g/cm³"),
        ("serial", project.fittings.serial.strip() or "none"),
        ("date, input", f"{date[:10]}, {project.input_hash[:12]}"),
    ]


def _about(project: Project) -> str:
    return f"input {project.input_hash[:12]}; printed {project.printing.build_orientation}"


def finger_picture(project: Project, part: Part, mass_g: float) -> ViewsPicture:
    """The finger from its back, and its root and gripping face."""
    f = project.fittings
    detail = (
        f"{say(part.volume_mm3 / 1000.0, 'cm3')}, {say(mass_g, '')} g solid; {f.mount} mount, "
        f"port: {f.port}; fillets {f.fillet_radius_mm:g} mm"
    )
    views = (
        view_of([part], Viewpoint(-35.0, 25.0), up=(0, 1, 0), caption="back"),
        view_of([part], Viewpoint(-120.0, -20.0), up=(0, 1, 0), caption="root and gripping face"),
    )
    return ViewsPicture(f"{project.name}: finger as modelled", detail, views)
