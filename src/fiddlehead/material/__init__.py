"""Material: from test curves to a hyperelastic law that can be trusted over the use range.

Comes in: test files, hardness, or constants typed by hand. Goes out: a ``MaterialCard`` with a
law, its valid range and where every number came from. Refuses to know: fingers, meshes, solvers,
the project file.
"""
