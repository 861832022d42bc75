"""Lines of entries in TOML texts, odd layouts included."""

from __future__ import annotations

import tomllib

from fiddlehead.project.locate import line_of, lines_of

TEXT = '''# a comment = with an equals sign
title = "x"

[finger]
pitch_mm = 10.0   # [not a header]
"height_mm" = 12
note = """
[mesh]
fake = 1
"""
sizes = [
  1.0,  # pitch_mm = 3
  2.0,
]
after = true
[tests.bend]
a.b = 1

[[material.tests]]
file = "a=[b].csv"
[[material.tests]]
file = 'c.csv'
columns = { x = 1, y = [1,
 2] }
last = 1
'''


def test_lines_of_every_entry() -> None:
    tomllib.loads(TEXT)
    lines = lines_of(TEXT)
    assert lines[("title",)] == 2
    assert lines[("finger",)] == 4
    assert lines[("finger", "pitch_mm")] == 5
    assert lines[("finger", "height_mm")] == 6
    assert lines[("finger", "sizes")] == 11
    assert lines[("finger", "after")] == 15
    assert lines[("tests", "bend")] == 16
    assert lines[("tests", "bend", "a", "b")] == 17
    assert lines[("material", "tests", 0, "file")] == 20
    assert lines[("material", "tests", 1)] == 21
    assert lines[("material", "tests", 1, "file")] == 22
    assert lines[("material", "tests", 1, "last")] == 25
    assert ("mesh",) not in lines
    assert ("finger", "fake") not in lines


def test_nearest_table_answers_for_what_is_not_written() -> None:
    lines = lines_of(TEXT)
    assert line_of(lines, ("material", "tests", 1, "columns", "y")) == 23
    assert line_of(lines, ("material", "tests", 0, "mode")) == 19
    assert line_of(lines, ("print", "line_width_mm")) is None
