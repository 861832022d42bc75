"""Command line: the face people and scripts type at.

Comes in: words typed in a terminal. Goes out: plain lines, one JSON document when asked for, and
an exit code. One file per verb; each calls the public functions of the rooms below. Refuses to
know: engineering of any kind. The only place that prints or exits.
"""
