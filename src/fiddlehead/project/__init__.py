"""Project: the one file a user edits, ``fiddlehead.toml``.

Comes in: the file. Goes out: a checked ``Project`` with the parts other rooms take, or every
mistake at once with line, range and mend. Owns defaults and where they come from. Refuses to
know: how anything is computed or drawn.
"""
