"""Entries that are right alone and wrong together."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path

from fiddlehead.errors import FiddleheadError
from fiddlehead.fabricate.fittings import Fittings, default_fittings
from fiddlehead.finger.checks import design_warnings
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.material.catalogue import CATALOGUE, law_entry
from fiddlehead.material.curves import CurveFile, read_curves
from fiddlehead.material.making import card_from_constants
from fiddlehead.project.fabricate_section import MountSection
from fiddlehead.project.findings import Finding, from_error
from fiddlehead.project.finger_section import FingerSection
from fiddlehead.project.locate import Path as KeyPath
from fiddlehead.project.material_section import MaterialSection, TestFiles
from fiddlehead.project.pad_section import PadSection
from fiddlehead.project.run_sections import BlockSection, PrintSection
from fiddlehead.project.slips import nearest
from fiddlehead.project.validate import Source

RECOMMENDED = "recommended"


def finger_parameters(finger: FingerSection, pad: PadSection | None) -> FingerParameters:
    """The finger as the ``finger`` room knows it (not yet validated)."""
    sizes = finger.model_dump()
    if sizes["channel_width_mm"] is None:
        sizes["channel_width_mm"] = finger.width_mm - 2.0 * finger.side_wall_thickness_mm
    return FingerParameters(**sizes, pad=PadParameters(**pad.model_dump()) if pad else None)


def finger_mistakes(parameters: FingerParameters, source: Source) -> Iterator[Finding]:
    """Sizes that cannot make a finger together."""
    for problem in parameters.problems():
        yield from_error(problem, **source.place(_finger_path(problem.where)))


def block_mistakes(
    block: BlockSection, parameters: FingerParameters | None, source: Source
) -> Iterator[Finding]:
    """What the rig for the blocked force cannot do."""
    path: KeyPath = ("tests", "block")
    if block.tip_hold == "held" and any(block.preset_angles_deg):
        yield Finding(
            kind="mistake",
            message="a held tip stays straight",
            found=str(list(block.preset_angles_deg)),
            allowed="[0.0]",
            remedy='Use tip_hold = "plate" for preset angles.',
            **source.place((*path, "preset_angles_deg")),
        )
    if parameters is not None and block.contact_length_mm is not None:
        room = parameters.length_mm - parameters.root_length_mm
        if block.contact_length_mm > room:
            yield Finding(
                kind="mistake",
                message="the plate would reach past the root block",
                found=f"{block.contact_length_mm:g} mm",
                allowed=f"up to {room:.4g} mm",
                remedy="Give the length of gripping face at the tip that lies on the plate.",
                **source.place((*path, "contact_length_mm")),
            )


def print_settings(section: PrintSection) -> PrintSettings:
    """The print as the ``finger`` room knows it."""
    return PrintSettings(**section.model_dump())


def fittings(
    section: MountSection, parameters: FingerParameters, line_width_mm: float = 0.4
) -> Fittings:
    """Mount, port and serial as the ``fabricate`` room knows them (not yet validated)."""
    usual = default_fittings(parameters)
    rail = {
        "neck_width_mm": section.dovetail_neck_width_mm,
        "depth_mm": section.dovetail_depth_mm,
        "pin_mm": section.locking_pin_mm,
    }
    own = {name: value for name, value in rail.items() if value is not None}
    return Fittings(
        port=section.port if parameters.inlet_bore_mm else "none",
        mount=section.mount,
        dovetail=dataclasses.replace(usual.dovetail, **own),
        hose_bore_mm=section.hose_bore_mm,
        barb_on=section.barb_on,
        thread_form=section.thread_form,
        thread=section.thread,
        fillet_radius_mm=section.fillet_radius_mm,
        serial=section.serial,
        engraving_depth_mm=line_width_mm,
        stroke_width_mm=2.0 * line_width_mm,
    )


def mount_mistakes(
    section: MountSection, parameters: FingerParameters, source: Source
) -> Iterator[Finding]:
    """What does not suit this finger's root block."""
    for problem in fittings(section, parameters).problems(parameters):
        name = problem.where.removeprefix("mount.").replace("dovetail.", "dovetail_")
        key = "locking_pin_mm" if name == "dovetail_pin_mm" else name
        yield from_error(problem, **source.place(("mount", key)))


def design_advice(
    parameters: FingerParameters, settings: PrintSettings, source: Source
) -> Iterator[Finding]:
    """Where the design is possible but unwise."""
    for warning in design_warnings(parameters, settings):
        yield Finding(
            kind="advice",
            message=warning.message,
            found=warning.found,
            remedy=warning.advice,
            standing=warning.standing,
            **source.place(_finger_path(warning.field)),
        )


def _finger_path(field: str) -> KeyPath:
    """Where the file keeps a parameter."""
    section, _, name = field.rpartition(".")
    return (section, name)


def curve_files(tests: TestFiles, folder: Path, confirmed: bool) -> list[CurveFile]:
    """What the ``material`` room needs to read one ``[[material.tests]]``."""
    shared = tests.model_dump(exclude={"files"})
    return [
        CurveFile(path=folder / name, unusual_modulus_confirmed=confirmed, **shared)
        for name in tests.files
    ]


def material_mistakes(material: MaterialSection, folder: Path, source: Source) -> Iterator[Finding]:
    """What the chosen origin of the law needs and does not find; test files that cannot be read."""
    yield from _law_name(material, source)
    if material.law_from == "tests":
        yield from _tests(material, folder, source)
    elif material.law_from == "hardness":
        if material.shore_a_hardness is None:
            yield _needed("shore_a_hardness", 'law_from = "hardness" needs it', "85.0", source)
    else:
        yield from _constants(material, source)


def _needed(name: str, why: str, example: str, source: Source) -> Finding:
    return Finding(
        kind="mistake",
        message=f"this entry is missing: {why}",
        remedy=f"Add {name} = {example}",
        **source.place(("material", name)),
    )


def _law_name(material: MaterialSection, source: Source) -> Iterator[Finding]:
    if material.law == RECOMMENDED:
        if material.law_from == "constants":
            yield _needed("law", "constants belong to a law that has a name", '"yeoh"', source)
        return
    if material.law_from == "hardness" and material.law != "neo_hookean":
        yield Finding(
            kind="mistake",
            message="hardness gives one constant, which is enough for neo_hookean only",
            found=f'"{material.law}"',
            allowed='"recommended" | "neo_hookean"',
            remedy="Test the material for a better law.",
            **source.place(("material", "law")),
        )
        return
    try:
        law_entry(material.law)
    except FiddleheadError as error:
        yield from_error(error, **source.place(("material", "law")))


def _tests(material: MaterialSection, folder: Path, source: Source) -> Iterator[Finding]:
    if not material.tests:
        yield Finding(
            kind="mistake",
            message='law_from = "tests" needs at least one test file',
            remedy='Add [[material.tests]] with files = ["..."], or law_from = "hardness".',
            **source.place(("material", "tests")),
        )
    for number, tests in enumerate(material.tests):
        path: KeyPath = ("material", "tests", number, "files")
        for file in curve_files(tests, folder, material.unusual_modulus_confirmed):
            try:
                read_curves(file)
            except FiddleheadError as error:
                yield from_error(error, **source.place(path))


def _constants(material: MaterialSection, source: Source) -> Iterator[Finding]:
    law = CATALOGUE.get(material.law)
    if law is None:
        return
    path: KeyPath = ("material", "constants")
    missing = [name for name in law.constants if name not in material.constants]
    unknown = [name for name in material.constants if name not in law.constants]
    for name in missing:
        yield Finding(
            kind="mistake",
            message=f"{law.title} needs this constant",
            allowed=", ".join(law.constants),
            remedy=f"Add {name} = ... below [material.constants]",
            **source.place((*path, name)),
        )
    for name in unknown:
        near = nearest(name, missing)
        yield Finding(
            kind="mistake",
            message=f"{law.title} has no such constant",
            found=name,
            allowed=", ".join(law.constants),
            remedy=f"Did you mean {near}?" if near else "Leave it out.",
            **source.place((*path, name)),
        )
    if law.has_conventions and material.ogden_convention is None:
        yield _needed(
            "ogden_convention", "Ogden constants are printed in two forms", '"mu/alpha"', source
        )
    elif not missing and not unknown:
        try:
            card_from_constants(
                material.law,
                material.constants,
                name=material.name,
                date="",
                ogden_convention=material.ogden_convention,
                use_strain=material.use_strain_percent / 100.0,
                unusual_modulus_confirmed=material.unusual_modulus_confirmed,
            )
        except FiddleheadError as error:
            yield from_error(error, **source.place(path))
