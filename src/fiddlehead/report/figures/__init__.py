"""Pictures, in two steps each: a frozen record with the numbers, then a drawing of it.

Comes in: results of trials, finger parameters, curves of a material. Goes out: PNG and SVG, the
same bytes for the same record. Refuses to know: how results were computed, and where they lie.
``style`` holds the one look they share.
"""
