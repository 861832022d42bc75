"""What every test shares: a compilation cache, pictures that need no screen, an import order."""

from __future__ import annotations

import os
from pathlib import Path

CACHE = Path(__file__).resolve().parent.parent / ".fiddlehead-cache"

# Set before JAX is imported, in the environment so that subprocesses of tests inherit it.
# Compiled programs are kept between runs; delete the folder at any time.
os.environ.setdefault("JAX_COMPILATION_CACHE_DIR", str(CACHE / "jax"))
os.environ.setdefault("JAX_PERSISTENT_CACHE_MIN_COMPILE_TIME_SECS", "0.2")
# Programs are compiled for one small run each: compiling them well takes longer than running them.
# Measured on tests/trials/test_bend.py from an empty cache: 47 s instead of 75 s.
QUICKLY_COMPILED = "--xla_cpu_use_fusion_emitters=false --xla_backend_optimization_level=1"
os.environ.setdefault("XLA_FLAGS", QUICKLY_COMPILED)
# Dense blocks are small: threads of the linear algebra library only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("MPLBACKEND", "Agg")
os.environ.setdefault("MPLCONFIGDIR", str(CACHE / "matplotlib"))

# The solid-modelling kernel and the finite-element judge each bring a release of the same geometry
# library; loaded the other way round, the interpreter crashes when it ends.
import OCP  # noqa: E402, F401
