"""Mesh: from the finger's profile to 20-node bricks.

Comes in: a finger's parameters or the layout of its profile, and how finely to divide it. Goes
out: nodes, bricks, face sets and element quality; and the same mesh as a template whose nodes
move smoothly with the parameters. This room refuses to know materials, loads and solvers.
"""
