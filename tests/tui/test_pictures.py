"""Every screen looks as it was accepted by a person: one picture for each screen and size.

After a wanted change: ``pytest tests/tui/test_pictures.py --snapshot-update``, then look at each picture that changed.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

import pytest
import textual._wait
from pictures import SCENES, SIZES, app_of, make_registers, steps_of, still

Compare = Callable[..., bool]

# Finer steps than the 20 ms in which textual looks for a process at rest.
_STEP_SECONDS = 0.005


@pytest.fixture(scope="module")
def registers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The registers shown, made once."""
    folder = tmp_path_factory.mktemp("pictures")
    make_registers(folder)
    return folder


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", SCENES)
def test_picture(name: str, size: str, registers: Path, tmp_path: Path, snap_compare: Compare) -> None:
    """The screen is drawn as in the picture kept, to the last cell and colour."""
    scene = SCENES[name]
    app = app_of(scene, registers, tmp_path)
    wait = textual._wait
    steps = patch.multiple(wait, SLEEP_GRANULARITY=_STEP_SECONDS, SLEEP_IDLE=_STEP_SECONDS / 4)
    try:
        with steps, still(tmp_path):
            assert snap_compare(app, terminal_size=SIZES[size], run_before=steps_of(scene))
    finally:
        app.gateway.close()
