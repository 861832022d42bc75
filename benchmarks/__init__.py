"""Benchmarks: how fast, how it grows, how soon it starts; each one command, kept as CSV.

Run from the root of the repository, for example ``python -m benchmarks.growth``. Nothing here is
part of the package, and the package needs nothing of it.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does; before numpy loads
