"""One finger, solved by several libraries: each module is written as that library's users would.

Every module has ``NAME``, ``PACKAGES``, ``METHOD`` and ``solve(problem)``, which yields the tip's
displacements at one pressure after the other, so that a slow library can be stopped in between.
"""
