"""The ``protocols`` folder: sheets to print, forms to fill in, the board and the marks."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from fiddlehead.bench.photos.board import Board
from fiddlehead.bench.protocols import Protocol, write_forms
from fiddlehead.errors import ParameterError
from fiddlehead.files import write_whole
from fiddlehead.project.bench import marks_of
from fiddlehead.project.bench_section import CameraSection
from fiddlehead.project.load import Project
from fiddlehead.report.figures.protocol_sheet import draw_board, draw_marks, draw_test_sheet
from fiddlehead.report.results import Written, write_result

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def write_protocols(results: Path, project: Project, wanted: Sequence[Protocol]) -> Written:
    """Write every wanted protocol for this project's finger.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    loads, finger = project.loads, project.finger
    notes = (
        f"working pressure {loads.working_pressure_kpa:g} kPa gauge; proof "
        f"{project.sections.air.proof_factor * loads.working_pressure_kpa:g} kPa",
        f"finger {finger.length_mm:.1f} x {finger.width_mm:g} x {finger.height_mm:g} mm, "
        f"{finger.bellows_count} bellows",
    )

    def fill(folder: Path) -> None:
        for protocol in wanted:
            write_forms(folder, protocol)
            _pdf(draw_test_sheet(protocol, project.name, notes), folder / f"{protocol.name}.pdf")
        if any(protocol.rig == "camera" for protocol in wanted):
            _pdf(draw_board(Board()), folder / "board.pdf")
            try:
                setup = marks_of(finger, CameraSection())
            except ParameterError:  # too small for dots: fiducials on tabs, placed by the user
                pass
            else:
                figure = draw_marks(setup, finger.length_mm, finger.height_mm, project.name)
                _pdf(figure, folder / "marks.pdf")

    return write_result(results / "protocols", fill, "protocols")


def _pdf(figure: Figure, path: Path) -> None:
    """A figure at its true size (ISO 32000), without a date inside."""
    metadata = {"CreationDate": None, "Creator": None, "Producer": None}
    write_whole(path, partial(figure.savefig, format="pdf", metadata=metadata))
