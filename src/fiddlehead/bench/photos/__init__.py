"""Photos and video of a marked finger to bending angles with their uncertainty.

Comes in: photos as a telephone or camera saves them, where the marks were drawn, a printed board
with fiducials for scale and tilt. Goes out: readings with angle, tip and what is doubtful.
Refuses to know: pressures beyond their names and tables, and what the angles should be.
"""
