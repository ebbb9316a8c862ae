"""How tests are run everywhere: laws without a clock, and what belongs together in one process.

A deadline for each example of a law would be missed wherever another program has the processor just
then, and so would the time in which examples must be found.

Two processes share the tests (pytest-xdist).  Which of them gets a test is decided by its place: a
module is never divided, so that what it prepares is prepared once, nor are the tests on real parts.
(The group of a marker does not reach the scheduler with every version of pytest: 9.2 with xdist 3.8.)
"""

import pytest
from hypothesis import HealthCheck, settings
from xdist.remote import Producer
from xdist.scheduler import LoadScopeScheduling

# They wait in real time: a browser beside a sound server makes honest claps late.
REAL = "tests/real/"

settings.register_profile(
    "patient", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("patient")


class ByPlace(LoadScopeScheduling):  # type: ignore[misc]  # (it ships no types)
    """Hands out module after module, and all tests on real parts to one process."""

    def _split_scope(self, nodeid: str) -> str:
        """Return what ``nodeid`` is handed out with."""
        return REAL if nodeid.startswith(REAL) else nodeid.partition("::")[0]


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> LoadScopeScheduling:
    """Hand out the tests by their place."""
    return ByPlace(config, log)
