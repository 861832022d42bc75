"""Fabricate: from a finger's profile to files a printer makes, and the reasons to trust them.

Comes in: finger parameters, how the root is mounted and fed, how it will be printed. Goes out:
solids (finger, base, plug), their meshes, STL, 3MF and STEP files, findings layer by layer, print
time and filament, the slicing sheet. This room refuses to know materials' laws, meshes for
computing, pictures and command lines.
"""
