"""Finger: from parameters to shape.

Comes in: the sizes of a bellows finger and its pad (``FingerParameters``) and of the print
(``PrintSettings``). Goes out: contradictions and warnings in plain words, the profile as named
regions, drawing outlines, exact volumes and mass, node coordinates as a smooth function of the
sizes. This room refuses to know elements, materials, pressure and file formats.
"""
