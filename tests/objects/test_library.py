"""The object library: the demo's pieces, and every mistake told with its place."""

from __future__ import annotations

from pathlib import Path

import jax.numpy as jnp
import pytest
import trimesh

from fiddlehead.errors import FiddleheadError
from fiddlehead.objects.library import (
    DEMO_LIBRARY,
    NO_STANDING,
    NUMBERS,
    find_object,
    read_library,
)
from fiddlehead.objects.making import shape_of

TILE = """
[[object]]
name = "tile"
shape = "rounded box"
sizes = { length_mm = 60.0, width_mm = 60.0, height_mm = 8.0, edge_radius_mm = 1.5 }
mass_g = 55.0
friction_coefficient = 0.4
contact_pressure_limit_kpa = 40.0
standing = { mass_g = "weighed" }
"""


def write(folder: Path, text: str) -> Path:
    (folder / "objects.toml").write_text(text, encoding="utf-8")
    return folder / "objects.toml"


def test_the_demo_holds_three_invented_pieces_that_stand() -> None:
    library = read_library()
    assert list(library) == ["bowl", "bottle", "tile edge"]
    assert "invented" in DEMO_LIBRARY.read_text(encoding="utf-8")
    for record in library.values():
        assert set(record.standing) == set(NUMBERS)
        assert NO_STANDING not in record.standing.values()
        low, high = shape_of(record).bounds()
        assert bool(jnp.all(high > low))


def test_an_entry_is_read_with_its_standings(tmp_path: Path) -> None:
    tile = find_object("tile", write(tmp_path, TILE))
    assert tile.mass_g == 55
    assert tile.force_limit_n is None
    assert tile.standing == {
        "mass_g": "weighed",
        "friction_coefficient": NO_STANDING,
        "contact_pressure_limit_kpa": NO_STANDING,
    }
    assert float(shape_of(tile).distance(jnp.array([0.0, 0, 10]))) == pytest.approx(6)


def test_a_scan_is_found_beside_the_library(tmp_path: Path) -> None:
    trimesh.creation.icosphere(subdivisions=2, radius=20.0).export(tmp_path / "pebble.stl")
    text = TILE.replace('"rounded box"', '"scanned"\nfile = "pebble.stl"')
    text = text.replace("length_mm = 60.0, width_mm = 60.0, height_mm = 8.0, edge_radius_mm = 1.5",
                        "steps_along = 12")  # fmt: skip
    shape = shape_of(find_object("tile", write(tmp_path, text)), tmp_path)
    assert float(shape.distance(jnp.array([0.0, 0, 25]))) == pytest.approx(5, abs=0.5)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("[[object]]", "[object]"), "holds .*object.* tables"),
        (("mass_g = 55.0", "mass_g ="), "no TOML"),
        (("mass_g = 55.0\n", ""), "missing .found mass_g"),
        (("mass_g = 55.0", "mass_g = 0"), "out of range"),
        (("mass_g = 55.0", "mass_g = '55'"), "out of range"),
        (("mass_g = 55.0", "mass_kg = 0.055"), "no such entry .found mass_kg"),
        (("friction_coefficient = 0.4", "friction_coefficient = 40"), "out of range"),
        (("limit_kpa = 40.0", "limit_kpa = -1"), "out of range"),
        (('name = "tile"', "name = 3"), "must be text"),
        (('shape = "rounded box"', 'shape = "scanned"'), "needs its file"),
        (('name = "tile"', 'name = "tile"\nfile = "a.stl"'), "only a scanned object"),
        (('standing = { mass_g = "weighed" }', 'standing = "weighed"'), "tables"),
    ],
)
def test_mistakes_are_told(change: tuple[str, str], told: str, tmp_path: Path) -> None:
    assert change[0] in TILE
    with pytest.raises(FiddleheadError, match=told) as caught:
        read_library(write(tmp_path, TILE.replace(*change)))
    assert "objects.toml" in caught.value.where


def test_names_are_kept_apart_and_slips_are_noticed(tmp_path: Path) -> None:
    with pytest.raises(FiddleheadError, match="two objects of one name"):
        read_library(write(tmp_path, TILE + TILE))
    with pytest.raises(FiddleheadError, match="Did you mean tile"):
        find_object("tiel", write(tmp_path, TILE))
    with pytest.raises(FiddleheadError, match="no such object library"):
        read_library(tmp_path / "none.toml")
