"""3MF: named parts in millimetres, each turned into its printing orientation on the plate.

Written after the open 3MF Core Specification 1.4.0 (3MF Consortium): an Open Packaging ZIP with
one model part; no colours and no settings of any machine.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.records import Part
from fiddlehead.files import write_bytes

NAMESPACE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
MODEL_PLACE = "3D/3dmodel.model"
CONTENT_TYPES = """\
<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"""
RELATIONS = f"""\
<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="rel0" Target="/{MODEL_PLACE}" \
Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"""
BETWEEN_MM = 5.0
"""Room between parts on the plate."""
SAME_BYTES = (2020, 1, 1, 0, 0, 0)
"""Date written into the ZIP, so that the same parts give the same bytes."""


def threemf_bytes(parts: Sequence[Part], *, title: str, about: str = "") -> bytes:
    """The parts side by side on the plate.

    Parameters
    ----------
    parts : names must differ
    title, about : written into the model's metadata

    Raises
    ------
    ParameterError : no parts, or two of one name
    """
    names = [part.name for part in parts]
    if not parts or len(set(names)) != len(names):
        raise ParameterError(
            "3MF needs parts with names that differ", where="3mf", found=", ".join(names) or "none"
        )
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{NAMESPACE}">',
        f'<metadata name="Title">{_text(title)}</metadata>',
        '<metadata name="Application">fiddlehead</metadata>',
    ]
    if about:
        lines.append(f'<metadata name="Description">{_text(about)}</metadata>')
    lines.append("<resources>")
    for number, part in enumerate(parts, 1):
        lines += _object(number, part)
    lines += ["</resources>", "<build>"]
    for number, (rotation, shift) in enumerate(_places(parts), 1):
        # Rows of the specification's matrix are the images of the part's axes.
        values = [*rotation.T.ravel(), *shift]
        transform = " ".join(_number(value) for value in values)
        lines.append(f'<item objectid="{number}" transform="{transform}"/>')
    lines += ["</build>", "</model>"]
    return _package("\n".join(lines) + "\n")


def write_3mf(parts: Sequence[Part], path: Path, *, title: str, about: str = "") -> Path:
    """Write parts side by side on the plate.

    Raises
    ------
    ParameterError : no parts, or two of one name
    StoreError : the folder cannot be written
    """
    return write_bytes(path, threemf_bytes(parts, title=title, about=about))


def _object(number: int, part: Part) -> list[str]:
    name = quoteattr(part.name)
    lines = [f'<object id="{number}" type="model" name={name}>', "<mesh>", "<vertices>"]
    lines += [
        f'<vertex x="{_number(x)}" y="{_number(y)}" z="{_number(z)}"/>' for x, y, z in part.vertices
    ]
    lines += ["</vertices>", "<triangles>"]
    lines += [f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in part.triangles]
    return [*lines, "</triangles>", "</mesh>", "</object>"]


def _places(
    parts: Sequence[Part],
) -> list[tuple[Float[np.ndarray, "3 3"], Float[np.ndarray, " 3"]]]:
    """Rotation and shift that put every part on the plate, in a row along y from the origin."""
    places = []
    row = 0.0
    for part in parts:
        turned = part.vertices @ part.to_plate.T
        low, high = turned.min(axis=0), turned.max(axis=0)
        places.append((part.to_plate, np.array([-low[0], row - low[1], -low[2]])))
        row += float(high[1] - low[1]) + BETWEEN_MM
    return places


def _number(value: float) -> str:
    """Nine digits, plain decimals, no negative zero."""
    text = f"{float(value):.9f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _text(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _package(model: str) -> bytes:
    room = io.BytesIO()
    with zipfile.ZipFile(room, "w", zipfile.ZIP_DEFLATED) as package:
        for place, text in (
            ("[Content_Types].xml", CONTENT_TYPES),
            ("_rels/.rels", RELATIONS),
            (MODEL_PLACE, model),
        ):
            entry = zipfile.ZipInfo(place, SAME_BYTES)
            entry.compress_type = zipfile.ZIP_DEFLATED
            package.writestr(entry, text)
    return room.getvalue()
