"""How laws are tried everywhere: by what comes out, not by how long it took.

A deadline for each example would be missed wherever another program has the processor just then, and
so would the time in which examples must be found.
"""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "patient", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("patient")
