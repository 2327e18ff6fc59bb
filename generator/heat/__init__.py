"""How a body heats, cools, freezes and thaws: properties from composition, conduction, freezing.

Everything here is in SI units and degrees Celsius, in floats: W/(m K), kg/m³, J/(kg K), m, s. What
comes out is a prediction: a band with what it rests on. It is never a limit and never makes
anything pass.
"""

import os

# Before numpy is imported: its products here are small, and threads cost ten times what they gain.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
