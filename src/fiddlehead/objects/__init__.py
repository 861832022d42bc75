"""Objects: what the gripper will hold, as signed distances.

Comes in: a kind of shape with its sizes, a turned profile, or a watertight STL; mass, friction
and limits from a library a user edits. Goes out: signed distance and outward normal at any points,
in JAX, batched and differentiable, and the object's record with the standing of every number. This
room refuses to know fingers, contact and forces.
"""
