"""Results as files for other programs, and as records that load again.

Comes in: results of trials. Goes out: CSV tables with units in the header, mesh series in open
VTK files, and records (``arrays.npz`` with ``record.json``) that load again without solving.
Refuses to know: pictures, and which verb asked.
"""
