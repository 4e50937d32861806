"""A pytest plugin: where every second program is installed, a skipped test is a failed one."""

from __future__ import annotations

import os
from collections.abc import Generator

import pytest

#: What is read where it lies beside the project is no program that could be installed.
BESIDE = "does not lie beside the project"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skip into a failure while TENTHWRIGHT_NO_SKIPS is set; an expected failure stays what it is."""
    report = yield
    if os.environ.get("TENTHWRIGHT_NO_SKIPS") and report.skipped and not hasattr(report, "wasxfail"):
        why = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if BESIDE not in why:
            report.outcome = "failed"
            report.longrepr = f"{item.nodeid} was skipped, which is not allowed here: {why}"
    return report
