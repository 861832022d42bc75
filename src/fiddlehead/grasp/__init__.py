"""Grasps: two to six fingers and a free object.

Comes in: fingers on their base, an object of the library, a pressure, and what the robot will do.
Goes out: held or lost with the reason, margins against slip, damage, reach and sideways give,
payload and pull-off force, the object's motion. This room refuses to know how a finger is printed,
how its air gets there, and what a picture looks like.
"""
