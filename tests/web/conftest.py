"""The house by the harbour behind a server, and its owner, signed in."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.pages_grower import Grower
from tests.web.visitors import client_of, give_password, sign_in


@pytest.fixture(scope="session")
def _house_once(quay_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the house with a password, to copy from."""
    folder = tmp_path_factory.mktemp("house") / "home"
    shutil.copytree(quay_once, folder)
    give_password(folder)
    return folder


@pytest.fixture
def house(_house_once: Path, tmp_path: Path) -> Path:
    """Return a copy of the house's folder."""
    folder = tmp_path / "house"
    shutil.copytree(_house_once, folder)
    return folder


@pytest.fixture
def grower(house: Path) -> Iterator[Grower]:
    """Return the owner, signed in."""
    with client_of(house) as client:
        sign_in(client)
        yield Grower(client, house)


@pytest.fixture(scope="session")
def reader(_house_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Grower]:
    """Return the owner, signed in once, for tests that only read pages: each page is asked for once."""
    folder = tmp_path_factory.mktemp("read") / "house"
    shutil.copytree(_house_once, folder)
    with client_of(folder) as client:
        sign_in(client)
        yield Grower(client, folder)


@pytest.fixture
def folder(quay_once: Path, tmp_path: Path) -> Path:
    """Return a copy of the house's folder, without a password."""
    copy = tmp_path / "open"
    shutil.copytree(quay_once, copy)
    return copy


@pytest.fixture
def locked(house: Path) -> Path:
    """Return a copy of the house's folder, with a password."""
    return house


@pytest.fixture
def owner(grower: Grower) -> TestClient:
    """Return the owner's client, signed in to `locked`."""
    return grower.client
