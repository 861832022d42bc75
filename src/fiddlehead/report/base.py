"""The base as files: solids to print, the assembly, its measures and pictures.

results/base/  base.stl, plug.stl, base.3mf, assembly.step, base.json, base.png/svg,
                   drawing.pdf/png/svg
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.base import BaseLayout, base_layout
from fiddlehead.fabricate.base_solid import (
    ModelledPart,
    assembled,
    base_solid,
    base_stoppers,
    blanking_plug,
)
from fiddlehead.fabricate.exporters.step import write_step
from fiddlehead.fabricate.exporters.stl import write_stl
from fiddlehead.fabricate.exporters.threemf import write_3mf
from fiddlehead.fabricate.printcheck import PrintCheck, print_check
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.solid import FingerSolid
from fiddlehead.files import write_text
from fiddlehead.project.load import Project
from fiddlehead.report.fabrication import Proven, prove
from fiddlehead.report.figures.drawing import draw_base
from fiddlehead.report.figures.paper import save_drawing
from fiddlehead.report.figures.style import save
from fiddlehead.report.figures.views import Viewpoint, ViewsPicture, draw_views, view_of
from fiddlehead.report.printing import check_numbers
from fiddlehead.report.results import Written, write_result


@dataclass(frozen=True, eq=False)
class Gripper:
    """Base, fingers and plugs, modelled and proven.

    parts : what stands in the slots, in the gripper's axes
    """

    layout: BaseLayout
    base: Proven
    plug: Proven
    finger: FingerSolid
    standing: tuple[tuple[str, kernel.Shape], ...]

    @property
    def plugs_needed(self) -> int:
        """Slots without a finger."""
        return self.layout.parameters.slots - len(self.layout.parameters.used)


def model_gripper(project: Project, finger: FingerSolid) -> Gripper:
    """Model and prove the base of a project, its plug, and how the fingers stand in it.

    Raises
    ------
    ParameterError : finger and base do not match, or something runs into something else
    InputError : a solid is unsound
    """
    layout = base_layout(project.base, project.finger, project.fittings)
    base, plug = base_solid(layout, project.fittings), blanking_plug(layout)
    return Gripper(
        layout=layout,
        base=_proven(base),
        plug=_proven(plug),
        finger=finger,
        standing=tuple(assembled(layout, finger.shape, plug.shape)),
    )


def _proven(modelled: ModelledPart) -> Proven:
    volume = kernel.volume(modelled.shape)
    return prove(modelled.name, modelled.shape, modelled.part(), volume)


def check_base(gripper: Gripper, project: Project) -> PrintCheck:
    """The layer check of the base, its bores and ports stopped."""
    return print_check(gripper.base.part, project.process, base_stoppers(gripper.layout))


def write_base(
    results: Path, project: Project, gripper: Gripper, check: PrintCheck | None, date: str
) -> Written:
    """Write base, plug, assembly and drawing.

    Parameters
    ----------
    check : the base's layer check; None to leave it out
    date : for the drawing's title block

    Raises
    ------
    StoreError : the folder cannot be written
    """
    base, plug = gripper.base.part, gripper.plug.part

    def fill(folder: Path) -> None:
        write_stl(base, folder / "base.stl")
        parts = [base]
        if gripper.plugs_needed:
            write_stl(plug, folder / "plug.stl")
            parts += [_named(plug, n, gripper) for n in range(1, gripper.plugs_needed + 1)]
        write_3mf(parts, folder / "base.3mf", title=f"{project.name}: base")
        write_step([("base", gripper.base.shape), *gripper.standing], folder / "assembly.step")
        write_text(folder / "base.json", json.dumps(numbers(gripper, check), indent=2) + "\n")
        save(draw_views(base_picture(project, gripper)), folder, "base")
        volume = f"{gripper.base.measures['volume_mm3'] / 1000.0:.1f} cm³ when solid"
        block = [("date, input", f"{date[:10]}, {project.input_hash[:12]}"), ("volume", volume)]
        drawing = draw_base(base, gripper.layout, f"{project.name}: base", block)
        save_drawing(drawing, folder, "drawing")

    pictures = ("base", "drawing")
    return write_result(results / "base", fill, "base", project.input_hash, pictures)


def _named(plug: Part, number: int, gripper: Gripper) -> Part:
    name = f"{plug.name} {number}" if gripper.plugs_needed > 1 else plug.name
    return Part(name, plug.vertices, plug.triangles, plug.to_plate)


def numbers(gripper: Gripper, check: PrintCheck | None) -> dict[str, Any]:
    """Sizes and measures as plain values."""
    layout = gripper.layout
    found: dict[str, Any] = {
        "parameters": asdict(layout.parameters),
        "wrist_flange": asdict(layout.interface),
        "outer_diameter_mm": 2.0 * layout.radius,
        "thickness_mm": layout.thickness,
        "slots": layout.parameters.slots,
        "slots_with_fingers": [n + 1 for n in layout.parameters.used],
        "blanking_plugs": gripper.plugs_needed,
        "base": gripper.base.measures,
        "plug": gripper.plug.measures,
    }
    if check is not None:
        found["layer_check"] = check_numbers(check)
    return found


def base_picture(project: Project, gripper: Gripper) -> ViewsPicture:
    """The gripper from the side, and the base alone from below and from above."""
    p, layout = gripper.layout.parameters, gripper.layout
    standing = [Part(name, *kernel.triangles(shape)) for name, shape in gripper.standing]
    base = gripper.base.part
    views = (
        view_of([base, *standing], Viewpoint(20.0, -15.0), caption="with fingers"),
        view_of([base], Viewpoint(20.0, -50.0), caption="base from below"),
        view_of([base], Viewpoint(20.0, 40.0), caption="flange face"),
    )
    feed = "one manifold" if p.air == "manifold" else "a port for every slot"
    detail = (
        f"{len(p.used)} fingers in {p.slots} slots, pitch radius {p.pitch_radius_mm:g} mm, splay "
        f"{p.splay_deg:g}°; {feed}; wrist flange {p.flange}; {2 * layout.radius:g} mm across, "
        f"{layout.thickness:g} mm thick"
    )
    return ViewsPicture(f"{project.name}: base", detail, views)
