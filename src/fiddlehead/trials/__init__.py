"""Trials: one finger in a simulated rig.

Comes in: fingers, a law with its bulk modulus, pressures. Goes out: frozen records of what a test
bench would measure (bending angles, blocked force, strains, volumes), every one complete or
marked partial with the reason. Knows no files, units of the face or pictures.
"""
