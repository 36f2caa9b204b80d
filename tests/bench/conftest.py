"""Benchmarks: each prints its figure beside a floor measured in the same run.

A verdict hangs on ratios and sizes only; seconds are printed for people, and depend on the machine.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.conftest import *  # noqa: F403  (the same server and browser)

_FIGURES = pytest.StashKey[list[str]]()
Report = Callable[[str], None]


@pytest.fixture
def report(request: pytest.FixtureRequest) -> Report:
    """Prints a line at the end of the run."""
    return request.config.stash.setdefault(_FIGURES, []).append


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    figures = config.stash.get(_FIGURES, [])
    if figures:
        terminalreporter.section("benchmarks")
    for line in figures:
        terminalreporter.line(line)
