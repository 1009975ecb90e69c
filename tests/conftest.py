"""What all tests share: models imported before any frozen clock, hypothesis without deadlines, temporary homes."""

from __future__ import annotations

import contextlib
import importlib
import os
import pkgutil
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

import carecal
from tests.app.diary import Diary
from tests.stories.quay import make_quay


def _import_models() -> None:
    """Import every module that names pydantic.

    pydantic keeps the date class of the moment its models are made, so none may be made under a frozen clock. A module
    that cannot be imported is not reported here: `test_project` tells of it.
    """
    for module in pkgutil.walk_packages(carecal.__path__, "carecal.", onerror=lambda _: None):
        spec = module.module_finder.find_spec(module.name, None)
        if (
            spec is None
            or spec.origin is None
            or "pydantic" not in Path(spec.origin).read_text(encoding="utf-8")
        ):
            continue
        with contextlib.suppress(Exception):
            importlib.import_module(module.name)


_import_models()

settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")


@pytest.fixture(scope="session", autouse=True)
def _no_real_collection(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep every test away from the collection of whoever runs it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CARECAL_HOME", str(tmp_path_factory.mktemp("nobody") / "home"))
        patch.delenv(
            "COLUMNS", raising=False
        )  # tables are folded to it; those who run tests side by side set it
        yield


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder that does not exist yet, named by CARECAL_HOME, for one collection."""
    folder = tmp_path / "home"
    monkeypatch.setenv("CARECAL_HOME", str(folder))
    return folder


@pytest.fixture(scope="session")
def quay_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the house by the harbour as it was made, to copy from; nobody writes in it."""
    folder = tmp_path_factory.mktemp("quay") / "home"
    make_quay(folder)
    return folder


@pytest.fixture
def quay_copy(quay_once: Path, tmp_path: Path) -> Path:
    """Return a copy of the house by the harbour, on a care day, without a password."""
    return Path(shutil.copytree(quay_once, tmp_path / "quay"))


@pytest.fixture
def diary(tmp_path: Path) -> Iterator[Diary]:
    """Return an empty diary without preferred weekdays, so that a care day is the due day."""
    made = Diary(tmp_path)
    yield made
    made.close()
