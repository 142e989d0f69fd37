"""Random tests draw the same examples every time; the long tests draw new ones."""

import os

import pytest
from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("new", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("SLOWFIRE_RANDOM", "same"))


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item, call):
    """With SLOWFIRE_TEST_ALL=1 a skipped test fails: nothing may be left out unseen."""
    outcome = yield
    report = outcome.get_result()
    wanted = os.environ.get("SLOWFIRE_TEST_ALL") == "1"
    if wanted and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was skipped, but SLOWFIRE_TEST_ALL=1 allows no skips."
