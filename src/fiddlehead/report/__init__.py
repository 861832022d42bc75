"""Report: what was found, as pictures, tables, mesh series and records.

Comes in: saved results, the project, the material card. Goes out: files in a results folder that
people, spreadsheets and mesh viewers open, and that load again without solving. Refuses to know:
solvers, and where a command line wants its words.
"""
