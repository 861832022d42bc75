"""Import of test files: every layout a machine writes, and every mistake named."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import CurveError
from fiddlehead.material import CurveFile, read_curves, standard_specimens
from fiddlehead.material.curves import FORCE_UNITS, LENGTH_UNITS, STRESS_UNITS

EXTENSION_MM = np.array([0.0, 1.0, 2.0, 4.0, 8.0])
FORCE_N = np.array([0.0, 4.0, 7.5, 13.0, 22.0])


def written(tmp_path, text, encoding="utf-8", name="pull.csv"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return path


def table(separator=",", decimal=".", header=("extension", "force"), before="", units=""):
    rows = [
        separator.join(f"{v:.3f}".replace(".", decimal) for v in pair)
        for pair in zip(EXTENSION_MM, FORCE_N, strict=True)
    ]
    return before + "\n".join([separator.join(header), *([units] if units else []), *rows]) + "\n"


def force_file(path, **more):
    settings_ = {
        "extension_column": "extension",
        "force_column": "force",
        "specimen": "ISO 37 type 2",
        **more,
    }
    return CurveFile(path=path, **settings_)


LAYOUTS = {
    "comma": table(),
    "semicolon, decimal comma": table(";", ","),
    "tab, decimal comma": table("\t", ","),
    "byte-order mark": "\ufeff" + table(),
    "comma, quoted decimal comma": "extension,force\n"
    + "\n".join(
        f'"{e:.3f}","{f:.3f}"'.replace(".", ",") for e, f in zip(EXTENSION_MM, FORCE_N, strict=True)
    ),
    "lines before the header": table(before="Machine 3\nOperator;AB\n\n"),
    "comments": table(before="# measured today\n"),
    "units under the header": table(";", units="(mm);(N)"),
    "windows line ends": table().replace("\n", "\r\n"),
    "blank lines": table().replace("\n", "\n\n"),
    "further columns": "no,extension,note,force\n"
    + "\n".join(
        f"{i},{e},ok,{f}" for i, (e, f) in enumerate(zip(EXTENSION_MM, FORCE_N, strict=True))
    ),
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_layouts(tmp_path, layout):
    (curve,) = read_curves(force_file(written(tmp_path, LAYOUTS[layout])))
    np.testing.assert_allclose(curve.stretch, 1.0 + EXTENSION_MM / 20.0, rtol=1e-12)
    np.testing.assert_allclose(curve.nominal_stress_mpa, FORCE_N / 8.0, rtol=1e-12)
    assert curve.specimen == "pull"
    assert not curve.zeroed
    assert len(curve.sha256) == 64


@given(
    force=st.sampled_from(sorted(FORCE_UNITS)),
    length=st.sampled_from(sorted(LENGTH_UNITS)),
)
@settings(max_examples=15, deadline=None)
def test_units_of_force_and_extension(tmp_path_factory, force, length):
    path = tmp_path_factory.mktemp("units") / "pull.csv"
    rows = zip(EXTENSION_MM / LENGTH_UNITS[length], FORCE_N / FORCE_UNITS[force], strict=True)
    path.write_text("extension,force\n" + "\n".join(f"{e!r},{f!r}" for e, f in _floats(rows)))
    (curve,) = read_curves(force_file(path, force_unit=force, extension_unit=length))
    np.testing.assert_allclose(curve.stretch, 1.0 + EXTENSION_MM / 20.0, rtol=1e-12)
    np.testing.assert_allclose(curve.nominal_stress_mpa, FORCE_N / 8.0, rtol=1e-12)


def _floats(rows):
    return ((float(a), float(b)) for a, b in rows)


@pytest.mark.parametrize(("unit", "scale"), [("fraction", 1.0), ("percent", 100.0)])
@pytest.mark.parametrize("stress", sorted(STRESS_UNITS))
def test_units_of_stress_and_strain(tmp_path, unit, scale, stress):
    strain = np.array([0.0, 0.1, 0.2, 0.4])
    rows = zip(strain * scale, 5.0 * strain / STRESS_UNITS[stress], strict=True)
    text = "e,s\n" + "\n".join(f"{a!r},{b!r}" for a, b in _floats(rows))
    file = CurveFile(
        path=written(tmp_path, text),
        strain_column="e",
        strain_unit=unit,
        stress_column="s",
        stress_unit=stress,
    )
    (curve,) = read_curves(file)
    np.testing.assert_allclose(curve.stretch, 1.0 + strain, rtol=1e-12)
    np.testing.assert_allclose(curve.nominal_stress_mpa, 5.0 * strain, rtol=1e-12, atol=1e-15)
    assert curve.zeroed


def test_published_unit_values():
    """Exact by definition: 1 psi, 1 kgf (ISO 80000 conversions)."""
    assert STRESS_UNITS["psi"] == pytest.approx(6.894757293168e-3, rel=1e-12)
    assert STRESS_UNITS["kgf/cm2"] == pytest.approx(0.0980665, rel=1e-12)
    assert FORCE_UNITS["lbf"] == pytest.approx(4.4482216152605, rel=1e-12)


@pytest.mark.parametrize("name", standard_specimens())
def test_every_standard_specimen(tmp_path, name):
    row = standard_specimens()[name]
    (curve,) = read_curves(force_file(written(tmp_path, table()), specimen=name))
    section = row.narrow_width_mm * row.thickness_mm
    np.testing.assert_allclose(curve.nominal_stress_mpa, FORCE_N / section)
    np.testing.assert_allclose(curve.stretch, 1.0 + EXTENSION_MM / row.gauge_length_mm)
    assert row.gauge_length_mm <= row.narrow_length_mm
    assert row.source


def test_measured_sizes_win_over_the_standard_ones(tmp_path):
    file = force_file(
        written(tmp_path, table()), width_mm=4.1, thickness_mm=[2.08, 2.11, 2.1], gauge_length_mm=25
    )
    (curve,) = read_curves(file)
    np.testing.assert_allclose(curve.nominal_stress_mpa, FORCE_N / (4.1 * 2.1))
    np.testing.assert_allclose(curve.stretch, 1.0 + EXTENSION_MM / 25.0)
    (by_section,) = read_curves(force_file(file.path, section_mm2=10.0))
    np.testing.assert_allclose(by_section.nominal_stress_mpa, FORCE_N / 10.0)


def test_several_specimens_in_one_file(tmp_path):
    text = "id;e;s\n" + "\n".join(
        f"{name};{x:.2f};{k * x:.3f}".replace(".", ",")
        for k, name in ((5, "A"), (6, "B 2"))
        for x in (0.0, 0.1, 0.3)
    )
    file = CurveFile(
        path=written(tmp_path, text), strain_column="e", stress_column="s", specimen_column="id"
    )
    curves = read_curves(file)
    assert [curve.specimen for curve in curves] == ["A", "B 2"]
    np.testing.assert_allclose(curves[1].nominal_stress_mpa, [0.0, 0.6, 1.8])


@pytest.mark.parametrize("strain_sign", [1, -1])
@pytest.mark.parametrize("stress_sign", [1, -1])
def test_compression_in_either_sign(tmp_path, strain_sign, stress_sign):
    rows = [(0.0, 0.0), (0.1, 0.9), (0.2, 2.2), (0.4, 6.0)]
    text = "e,s\n" + "\n".join(f"{strain_sign * e},{stress_sign * s}" for e, s in rows)
    file = CurveFile(
        path=written(tmp_path, text), mode="compression", strain_column="e", stress_column="s"
    )
    (curve,) = read_curves(file)
    np.testing.assert_allclose(curve.stretch, [1.0, 0.9, 0.8, 0.6])
    np.testing.assert_allclose(curve.nominal_stress_mpa, [0.0, -0.9, -2.2, -6.0])


def test_time_that_steps_back_is_no_matter(tmp_path):
    text = "t,extension,force\n0,0,0\n2,1,4\n1,2,7.5\n3,4,13\n"
    assert len(read_curves(force_file(written(tmp_path, text)))[0].stretch) == 4


MISTAKES = {
    "empty": ("", {}, "the file is empty", ""),
    "only comments": ("# nothing\n\n", {}, "the file is empty", ""),
    "header only": ("extension,force\n", {}, "header but no data", "pull.csv line 1"),
    "missing column": (
        table(header=("extension", "load")),
        {},
        "no column named 'force'",
        "line 1",
    ),
    "doubled column": ("force,extension,force\n0,0,0\n", {}, "more than once", "line 1"),
    "text in numbers": (
        table().replace("13.000", "thirteen"),
        {},
        "not a number",
        "pull.csv line 5, column 'force'",
    ),
    "NaN": (table().replace("13.000", "nan"), {}, "not a number", "line 5"),
    "NaN in the first row": (
        "extension,force\nnan,nan\n1,4\n2,7.5\n4,13\n",
        {},
        "not a number",
        "line 2",
    ),
    "infinity": (table().replace("13.000", "inf"), {}, "not a number", "line 5"),
    "underscore": (table().replace("13.000", "1_3"), {}, "not a number", "line 5"),
    "empty cell": (table().replace("13.000", ""), {}, "empty cell", "line 5"),
    "short line": (table().replace("4.000,13.000", "4.000"), {}, "empty cell", "line 5"),
    "mixed decimal marks": (table(";").replace("13.000", "13,0"), {}, "decimal mark", "'force'"),
    "two samples": ("extension,force\n0,0\n1,4\n", {}, "too few samples", "specimen pull"),
    "zero width": (table(), {"width_mm": 0.0}, "width_mm must be a positive", "pull.csv"),
    "negative thickness": (table(), {"thickness_mm": -2.0}, "thickness_mm must be", ""),
    "zero section": (table(), {"section_mm2": 0.0}, "section_mm2 must be a positive", ""),
    "zero gauge length": (table(), {"gauge_length_mm": 0.0}, "gauge_length_mm must be", ""),
    "NaN width": (table(), {"width_mm": float("nan")}, "width_mm must be a positive", ""),
    "thickness scatter": (table(), {"thickness_mm": [2.0, 2.0, 2.2]}, "differ too much", ""),
    "no thickness": (table(), {"thickness_mm": []}, "no thickness reading", ""),
    "unknown specimen": (table(), {"specimen": "ISO 37 typ 2"}, "not in the table", ""),
    "no section": (table(), {"specimen": None, "gauge_length_mm": 20}, "needs a section", ""),
    "no gauge length": (table(), {"specimen": None, "section_mm2": 8}, "needs a gauge length", ""),
    "both stress columns": (table(), {"stress_column": "force"}, "either stress_column or", ""),
    "no strain column": (table(), {"extension_column": None}, "either strain_column or", ""),
    "unknown force unit": (table(), {"force_unit": "n"}, "unknown force_unit", ""),
    "unknown mode": (table(), {"mode": "shear"}, "unknown test mode", ""),
    "unknown delimiter": (table(), {"delimiter": "pipe"}, "unknown delimiter", ""),
    "kN declared": (table(), {"force_unit": "kN"}, "are the units right", ""),
    "mN declared": (table(), {"force_unit": "mN"}, "are the units right", ""),
    "metres declared": (table(), {"extension_unit": "m"}, "no printable elastomer stretches", ""),
    "pressed": ("extension,force\n0,0\n-1,-4\n-2,-9\n", {"mode": "planar"}, "not pulled", ""),
    "crushed": ("extension,force\n0,0\n-10,-4\n-20,-9\n", {}, "would be gone", ""),
    "at rest": ("extension,force\n0,0\n0,4\n0,9\n", {}, "never stretched", ""),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_mistakes_are_named(tmp_path, mistake):
    text, changes, message, where = MISTAKES[mistake]
    with pytest.raises(CurveError) as caught:
        read_curves(force_file(written(tmp_path, text), **changes))
    assert message in caught.value.message
    assert where in caught.value.where
    assert caught.value.where


def test_not_utf8(tmp_path):
    path = written(tmp_path, table(before="Prüfung\n"), encoding="latin-1")
    with pytest.raises(CurveError, match="not UTF-8") as caught:
        read_curves(force_file(path))
    assert caught.value.where == "pull.csv line 1"
    assert caught.value.found == "byte 0xfc"


def test_missing_file(tmp_path):
    with pytest.raises(CurveError, match="cannot read this file"):
        read_curves(force_file(tmp_path / "nowhere.csv"))


def test_a_folder_in_place_of_a_file(tmp_path):
    with pytest.raises(CurveError, match="cannot read this file"):
        read_curves(force_file(tmp_path))


def test_percent_taken_for_fraction_is_asked_about(tmp_path):
    text = "e,s\n0,0\n10,0.9\n40,3\n100,6\n"
    file = CurveFile(path=written(tmp_path, text), strain_column="e", stress_column="s")
    with pytest.raises(CurveError, match="is the strain unit right") as caught:
        read_curves(file)
    assert "percent" in caught.value.remedy


@pytest.mark.parametrize("factor", [1e3, 1e-3])
def test_modulus_a_thousand_times_off_is_asked_about_until_confirmed(tmp_path, factor):
    path = written(tmp_path, table())
    section = 8.0 / factor
    with pytest.raises(CurveError, match="not that of an elastomer") as caught:
        read_curves(force_file(path, section_mm2=section))
    assert "unusual_modulus_confirmed" in caught.value.remedy
    assert "0.05 to 500 MPa" in caught.value.allowed
    file = force_file(path, section_mm2=section, unusual_modulus_confirmed=True)
    assert read_curves(file)[0].nominal_stress_mpa[-1] == pytest.approx(22.0 / section)


@given(st.binary(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_bytes_give_curves_or_a_curve_error(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("bytes") / "pull.csv"
    path.write_bytes(b"extension,force\n" + data)
    try:
        (curve,) = read_curves(force_file(path))
    except CurveError:
        return
    assert np.all(np.isfinite(curve.stretch))
    assert np.all(np.isfinite(curve.nominal_stress_mpa))
