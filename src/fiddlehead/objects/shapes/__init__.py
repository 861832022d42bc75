"""Shapes by name: a new one is a file here with a class, its sizes and its distance.

Comes in: sizes in mm. Goes out: a frozen shape, a JAX pytree, whose ``distance`` holds for any
batch of points. It refuses to know where the shape stands and what it is made of.
"""
