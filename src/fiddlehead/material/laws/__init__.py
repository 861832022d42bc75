"""Hyperelastic laws: one file each, energies only.

Comes in: invariants or stretches. Goes out: energy density in MPa. ``LAWS`` lists every law by
its name in files. Knows nothing of data, fitting, meshes or fingers.

Importing this package switches JAX to double precision: the balance of a near-incompressible
body does not survive single precision.
"""

import jax

jax.config.update("jax_enable_x64", True)

from fiddlehead.material.laws.arruda_boyce import ArrudaBoyce as ArrudaBoyce  # noqa: E402
from fiddlehead.material.laws.base import LAWS as LAWS  # noqa: E402
from fiddlehead.material.laws.base import Energy as Energy  # noqa: E402
from fiddlehead.material.laws.base import InvariantEnergy as InvariantEnergy  # noqa: E402
from fiddlehead.material.laws.base import StretchEnergy as StretchEnergy  # noqa: E402
from fiddlehead.material.laws.base import law_from_constants as law_from_constants  # noqa: E402
from fiddlehead.material.laws.gent import Gent as Gent  # noqa: E402
from fiddlehead.material.laws.mooney_rivlin import MooneyRivlin2 as MooneyRivlin2  # noqa: E402
from fiddlehead.material.laws.mooney_rivlin import MooneyRivlin3 as MooneyRivlin3  # noqa: E402
from fiddlehead.material.laws.mooney_rivlin import MooneyRivlin5 as MooneyRivlin5  # noqa: E402
from fiddlehead.material.laws.neo_hookean import NeoHookean as NeoHookean  # noqa: E402
from fiddlehead.material.laws.ogden import Ogden1 as Ogden1  # noqa: E402
from fiddlehead.material.laws.ogden import Ogden2 as Ogden2  # noqa: E402
from fiddlehead.material.laws.ogden import Ogden3 as Ogden3  # noqa: E402
from fiddlehead.material.laws.yeoh import Yeoh as Yeoh  # noqa: E402
