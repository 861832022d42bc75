"""Page and file are one: what is written, what an editor writes, and undoing either."""

from __future__ import annotations

import pytest

from fiddlehead.errors import InputError, ProjectFileError
from fiddlehead.project.edit import Change
from fiddlehead.web.workbench import Workbench
from tests.web.served import Served

PITCH = Change(("finger", "pitch_mm"), 9.0)


def test_a_change_is_one_line_of_the_file(workbench: Workbench) -> None:
    desk = workbench.desk
    before = desk.path.read_text()
    desk.write([PITCH], desk.view().etag)
    after = desk.path.read_text()
    assert after == before.replace("pitch_mm = 8.0", "pitch_mm = 9.0")
    assert desk.view().entries["finger"]["pitch_mm"] == 9.0


def test_an_edit_on_disk_appears_and_can_be_undone(workbench: Workbench) -> None:
    desk = workbench.desk
    first = desk.text()
    desk.path.write_text(first.replace("width_mm = 12.0", "width_mm = 13.0"))
    assert desk.view().entries["finger"]["width_mm"] == 13.0
    assert desk.undoable == (True, False)
    desk.undo()
    assert desk.path.read_text() == first
    desk.redo()
    assert "width_mm = 13.0" in desk.path.read_text()
    with pytest.raises(InputError, match="nothing to redo"):
        desk.redo()


def test_a_stale_page_does_not_overwrite(workbench: Workbench) -> None:
    desk = workbench.desk
    etag = desk.view().etag
    desk.path.write_text(desk.text() + "# a word from an editor\n")
    with pytest.raises(ProjectFileError, match="changed meanwhile"):
        desk.write([PITCH], etag)
    assert "a word from an editor" in desk.path.read_text()


def test_a_mistake_is_not_written(workbench: Workbench) -> None:
    desk = workbench.desk
    before = desk.path.read_text()
    for change in (
        Change(("finger", "pitch_mm"), -1.0),
        Change(("finger", "pitch_mm"), "wide"),
        Change(("finger", "wall_thickness_mm"), 6.0),
        Change(("finger", "colour"), "green"),
        Change(("wing",), {"span_mm": 1.0}),
    ):
        with pytest.raises(ProjectFileError):
            desk.write([change], desk.view().etag)
    assert desk.path.read_text() == before
    assert desk.undoable == (False, False)


def test_an_old_mistake_does_not_lock_the_page(workbench: Workbench) -> None:
    desk = workbench.desk
    desk.path.write_text(desk.text().replace("width_mm = 12.0", "width_mm = -12.0"))
    desk.write([PITCH], desk.view().etag)
    desk.write([Change(("finger", "width_mm"), 12.0)], desk.view().etag)
    assert desk.view().found.usable


def test_typing_is_checked_without_writing(site: Served) -> None:
    before = site.workbench.desk.path.read_text()
    one = {"path": ["finger", "wall_thickness_mm"], "value": 0.3}
    told = site.post("/api/try", {"changes": [one]}).json
    assert any(f["field"] == "finger.wall_thickness_mm" for f in told["findings"])
    wrong = site.post("/api/try", {"changes": [{**one, "value": -1}]}).json
    assert "section" not in wrong
    assert [f["allowed"] for f in wrong["findings"] if f["kind"] == "mistake"]
    assert site.workbench.desk.path.read_text() == before


def test_the_drawing_follows_a_change(site: Served) -> None:
    """Length by hand: root 5, two lands and flanks at 90 degrees, tip 4: pitch + 8 - valley gap."""
    lengths = []
    for pitch in (8.0, 9.0):
        one = {"path": ["finger", "pitch_mm"], "value": pitch}
        told = site.post("/api/try", {"changes": [one]}).json
        outer = told["section"]["outer"]
        lengths.append(told["measures"]["length_mm"])
        assert max(x for x, _ in outer) == pytest.approx(lengths[-1])
    assert lengths[1] - lengths[0] == pytest.approx(2.0)


def test_forms_tell_unit_range_default_and_reason(site: Served) -> None:
    forms = site.get("/api/boot").json["forms"]
    wall = next(e for e in forms["finger"]["entries"] if e["name"] == "wall_thickness_mm")
    assert wall["label"] == "Wall thickness"
    assert wall["unit"] == "mm"
    assert wall["allowed"] == "above 0 to 20 mm"
    assert wall["default"] == 1.2
    assert wall["standing"] == "common practice, no source"
    assert all(e["says"] for form in forms.values() for e in form["entries"])


def test_a_file_that_cannot_be_read_is_told_not_hidden(site: Served) -> None:
    site.workbench.desk.path.write_text("[finger\n")
    told = site.get("/api/project").json
    assert told["error"]["where"] == "fiddlehead.toml line 1"
    assert site.get("/api/state").json["exists"]


def test_a_project_is_begun_once(site: Served) -> None:
    assert site.post("/api/begin", {"way": "new"}).status == 422
    site.workbench.desk.path.unlink()
    assert site.get("/api/project").json == {"exists": False}
    assert site.post("/api/begin", {"way": "sideways"}).status == 422
    assert site.post("/api/begin", {"way": "new"}).json["usable"]
