"""The slicing sheet as a page to print, a picture, and TOML that no program owns.

results/sheet/  slicing.html, slicing.png/svg, slicing.toml
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

import tomlkit

from fiddlehead.fabricate.printcheck import PrintCheck
from fiddlehead.fabricate.slicing_sheet import Setting, Value, slicing_settings
from fiddlehead.files import write_text
from fiddlehead.project.load import Project
from fiddlehead.report.document import Section, Sheet, Table, html
from fiddlehead.report.figures.sheets import draw_sheet
from fiddlehead.report.figures.style import save
from fiddlehead.report.results import Written, write_result

CAUTIONS = (
    "The nozzle is hotter than 200 °C and the plate can burn: let both cool before you reach in.",
    "Ventilate the room; molten plastic gives off fumes. Read the safety data sheet of your"
    " filament.",
    "Dry filament only in a device made for it and below the temperature on the spool.",
    "Never leave a printer running where a fire would go unnoticed; follow your local rules.",
    "A sheet promises nothing: test every print for leaks before it is used.",
)
LYING = {"side": "on its side", "upright": "upright", "base_down": "on its gripping face"}
"""Build orientations in words."""
LOG = (
    "serial number on the finger",
    "date, operator",
    "printer, nozzle and hours on it",
    "spool: material, lot, opened",
    "drying: temperature, hours",
    "room: temperature, humidity",
    "program and version, profile kept as",
    "start, end, time taken",
    "mass as printed",
    "remarks",
)
"""What to write down about every print."""


def write_sheet(results: Path, project: Project, check: PrintCheck | None = None) -> Written:
    """Write the sheet.

    Parameters
    ----------
    check : the layer check, for time, filament and verdict; None to leave these out

    Raises
    ------
    StoreError : the folder cannot be written
    """
    settings = slicing_settings(project.finger, project.printing, project.process)

    def fill(folder: Path) -> None:
        write_text(folder / "slicing.toml", neutral_toml(project, settings))
        write_text(folder / "slicing.html", html(sheet(project, settings, check)))
        rows = [(s.group, s.name, shown(s), searched(s), s.reason, s.standing) for s in settings]
        figure = draw_sheet(f"{project.name}: slicing sheet", _subtitle(project, check), rows)
        save(figure, folder, "slicing")

    return write_result(results / "sheet", fill, "sheet", project.input_hash, ("slicing",))


def _subtitle(project: Project, check: PrintCheck | None) -> str:
    text = f"printed {LYING[project.printing.build_orientation]}, without support"
    if check is not None:
        e = check.estimate
        minutes = round(e.time_s / 60)
        text += (
            f"; about {minutes // 60} h {minutes % 60:02d} min, {e.filament_mm / 1000:.2f} m or "
            f"{e.mass_g:.1f} g of filament; layer check: {check.verdict}"
        )
    return text


def shown(setting: Setting) -> str:
    """The start value with its unit."""
    mark = " (outside the usual range)" if setting.from_project and setting.outside else ""
    return _with_unit(setting.start, setting.unit) + mark


def searched(setting: Setting) -> str:
    """The range with its unit; empty where there is nothing to search."""
    if not setting.searchable:
        return "off or on" if setting.high == "on" else ""
    return f"{_plain(setting.low)} to {_with_unit(setting.high, setting.unit)}"


def _plain(value: Value) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def _with_unit(value: Value, unit: str) -> str:
    return f"{_plain(value)} {unit}".strip() if not isinstance(value, str) else value


def sheet(project: Project, settings: Sequence[Setting], check: PrintCheck | None) -> Sheet:
    """The page: settings by group, seam and orientation, and a log to fill in."""
    sections = []
    for group, members in groupby(settings, key=lambda s: s.group):
        rows = tuple(
            (s.name, shown(s), searched(s), s.reason, s.standing + (" (start: your project)" if
             s.from_project else "")) for s in members
        )  # fmt: skip
        header = ("setting", "start", "search within", "why", "rests on")
        sections.append(Section(group, (Table(header, rows),)))
    log = Table(("print log", "fill in"), tuple((line, "") for line in LOG))
    hint = (
        "Key the start values into your program and print one finger. Leak-test it before you "
        "change anything; then change one setting at a time, or plan an experiment."
    )
    first = Section("How to use this sheet", (hint,))
    return Sheet(
        title=f"{project.name}: slicing sheet",
        subtitle=_subtitle(project, check),
        sections=(first, *sections, Section("Record of this print", (log,))),
        cautions=CAUTIONS,
    )


def neutral_toml(project: Project, settings: Sequence[Setting]) -> str:
    """Every setting with start, range, unit, reason and standing; no program's own format."""
    document = tomlkit.document()
    document.add(tomlkit.comment("Print settings in words and units of the trade."))
    document.add(tomlkit.comment("No slicing program reads this by itself: key the values in."))
    document["project"] = project.name
    document["input_hash_sha256"] = project.input_hash
    document["build_orientation"] = project.printing.build_orientation
    document["nozzle_diameter_mm"] = project.printing.nozzle_diameter_mm
    for setting in settings:
        table = tomlkit.table()
        table["name"] = setting.name
        table["start"] = setting.start
        if setting.searchable:
            table["range"] = [setting.low, setting.high]
        if setting.unit:
            table["unit"] = setting.unit
        table["reason"] = setting.reason
        table["standing"] = setting.standing
        table["from_project"] = setting.from_project
        document[setting.key] = table
    return tomlkit.dumps(document)
