"""Bench: what the printed finger did, beside what was predicted.

Comes in: records of pressure, force, angle and temperature in anyone's columns and units; photos
and videos; saved trials. Goes out: cleaned records, angles with their uncertainty, reduced
curves, leak rates, verdicts, calibrated unknowns, blank forms. Refuses to know: project files and
pictures; only ``calibrate`` runs a trial.
"""
