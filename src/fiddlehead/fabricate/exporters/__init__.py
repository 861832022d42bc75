"""Files for printers and drawing programs: STL and 3MF from triangles, STEP from the solid.

Each takes named parts and writes one file, whole or not at all.
"""
