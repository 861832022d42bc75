"""Air: how it flows into a finger, stays there, and leaves.

Comes in: arrays of gauge pressure and cavity volume, catalogue values of valves and tubes, measured
pressure decay. Goes out: fill and vent times, free air per cycle, pump and reservoir sizes, leak
rates, stored energy, the cautions. This room refuses to know fingers, solvers and files.

It computes in kPa, cm³ and s, which fit together without factors: 1 kPa · 1 cm³ = 1 mJ. Pressures
are gauge unless the name says ``absolute``. Air is an ideal gas at one temperature.
"""
