"""The README of a data package."""

from __future__ import annotations

from fiddlehead import __version__
from fiddlehead.report.job.crate import Licence, Made
from fiddlehead.report.job.parts import Job

TEXT = """\
# {name}

{note}

Data of a 3D-printed pneumatic soft gripper: test data, design, predictions, files for the printer
and measurements, as far as they were made. Packed on {day} with fiddlehead {version}.

- Made by: {author}
- Licence: {licence}
- Input (SHA-256 of all entries and test files): `{input_hash}`

## What is here

| place | what it is | made by |
|---|---|---|
| `report.html`, `report.pdf` | everything at a glance | `fiddlehead report` |
| `project/` | the project file and the raw data it names, unchanged | by hand |
{rows}
| `columns.csv` | every column of every table: unit and meaning | `fiddlehead report` |
| `ro-crate-metadata.json` | the same for machines (RO-Crate 1.1) | `fiddlehead report` |
| `manifest-sha256.txt` | checksums; `sha256sum --check manifest-sha256.txt` | `fiddlehead report` |

## Units and conventions

- Millimetres, newtons, kilopascals, seconds, degrees; the unit stands in each column's name.
- Pressures are gauge pressures unless a name says absolute. Flows are at 100 kPa and 20 °C.
- x runs along the finger from the clamped root, y from the gripping face to the bellows, z across
  the width with 0 in the middle. Pressure bends towards -y; bending angles count positive that way.
- Tip angle: between the tangents at root and tip. Chord angle: between the root axis and the line
  from root to tip; about half of it. A table says which.
- Strains of a finger are logarithmic, strains of test data nominal.
- CSV: comma, decimal point, one header line, UTF-8. `arrays.npz` opens with numpy, `.pvd` and
  `.vtu` with viewers of VTK files; `.3mf`, `.stl` and `.step` with programs for print and design.

## How to make it again

With fiddlehead {version} and the releases that `results/bend/record.json` names:

```
cd project
fiddlehead check
{commands}
fiddlehead report
```

Predictions repeat to rounding on another machine, byte for byte only with the same releases.

## Mind

Predictions are no measurements, and nothing here is a permission to put a print under pressure.
Compressed air can hurt: first inflation behind a screen, with eye protection, a relief valve and a
regulator that can be shut off. Local codes come first (ISO 4414).
"""


def readme(job: Job, licence: Licence, made: tuple[Made, ...]) -> str:
    """What the package holds and how to read it, in Markdown."""
    rows = "\n".join(f"| `{one.folder}/` | {one.tells} | `{one.command}` |" for one in made)
    return TEXT.format(
        name=job.project.name,
        note=job.project.sections.project.note or "No note was written in the project file.",
        day=job.day,
        version=__version__,
        author=job.project.sections.report.author or "not named in the project file",
        licence=licence.name,
        input_hash=job.project.input_hash,
        rows=rows,
        commands="\n".join(one.command for one in made),
    )
