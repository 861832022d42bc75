"""Mechanics: arrays in, equilibrium paths out.

Comes in: nodes, 20-node bricks, supports, a law, live pressure and other loads. Goes out: balanced
displacements at every requested load for a whole batch of designs, each with its own outcome.
Written for slender bodies, whose tangent is block tridiagonal. Never hears of fingers.
"""
